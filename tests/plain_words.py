"""What is plain English here: sentences of at most 25 words (Writing for GOV.UK, from memory), and words not to be used
(growsim/vocabulary/WORDS.md). Of a source file: every text but its docstrings. Of a folder: every text of an answer.
"""

from __future__ import annotations

import ast
import html
import json
import re
from collections.abc import Iterator
from pathlib import Path

import growsim

HERE = Path(growsim.__file__).parent
MOST_WORDS = 25
_END = re.compile(r"(?<=[.!?])[\"”)]*\s+(?=[A-Z0-9“\"(`≈–{])")
_RANGE = re.compile(r"\([^()]*\d[^()]* to [^()]*\d[^()]*\)")  # a number's range is read with it
_HOLE = "{}"
_NOT_OURS = re.compile(
    r"<(style|svg)\b.*?</\1>|<dl class=\"facts\">.*?</dl>|<p class=\"(note|under|command|room|foot)\".*?</p>", re.S
)
_BLOCK = re.compile(
    r"<(?:p|li|figcaption|caption|h1|h2|dd|dt|summary)\b[^>]*>(.*?)</(?:p|li|figcaption|caption|h|dd|dt|s)", re.S
)
_CODE = re.compile(r"<code>.*?</code>", re.S)
_TAG = re.compile(r"<b>(Why|What to do|How sure):</b>|<[^>]*>")
_CODE_TYPED = re.compile(r"`[^`]*`")
_WARNING = re.compile(r"[a-z_]+(\.[\w ']+)+: ")  # of the room file: where, what is wrong, what would be right
JARGON = ("replication", "lot", "slot")
FORBIDDEN = {
    "luck, lucky": re.compile(r"\bluck(y|ily)?\b", re.I),
    "hands": re.compile(r"(?<!dry )(?<!clean )(?<!before )(?<!Clean )\bhands\b(?! out| over| go| in )"),
    "reckon": re.compile(r"\breckon(s|ed|ing)?\b", re.I),
    "nought": re.compile(r"\bnought\b", re.I),
    "told from": re.compile(r"\btold from\b", re.I),
    "lived through": re.compile(r"\blive[sd]? through\b", re.I),
    "anew": re.compile(r"\banew\b", re.I),
    "besides": re.compile(r"\bbesides\b", re.I),
    "proven": re.compile(r"\bprove[nd]?\b|\bproof\b", re.I),
    "possible year": re.compile(r"\b(possible|fresh|simulated) (years?|futures?)\b|\bfutures?\b", re.I),
    "dead pump": re.compile(r"\bdead pumps?\b|\bdark lights\b", re.I),
}


def sentences(text: str) -> Iterator[str]:
    """Its sentences. What is to be typed, and the range of a number, count as nothing or one word."""
    plain = re.sub(r"`[^`]*`", "This", text)
    yield from (each.strip() for each in _END.split(_RANGE.sub("", plain)) if each.strip())


def faults_of(text: str) -> list[str]:
    """What is not plain about a text."""
    found = [f"{word!r}: {text}" for word, pattern in FORBIDDEN.items() if pattern.search(text)]
    for each in sentences(text):
        words = [word for word in each.split() if re.search(r"\w|\{", word)]
        if len(words) > MOST_WORDS:
            found.append(f"{len(words)} words: {each}")
    return found


def texts_in(source: str) -> Iterator[tuple[int, str]]:
    """(line, text) of every string of a source file that a person may read; what is put in stands as {}."""
    tree = ast.parse(source)
    inner: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            for each in node.body:
                if isinstance(each, ast.Expr) and isinstance(each.value, ast.Constant):
                    inner.add(id(each.value))
        if isinstance(node, ast.JoinedStr):
            inner |= {id(part) for part in node.values if isinstance(part, ast.Constant)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in inner:
            yield node.lineno, node.value
        if isinstance(node, ast.JoinedStr):
            parts = (part.value if isinstance(part, ast.Constant) else _HOLE for part in node.values)
            yield node.lineno, "".join(str(part) for part in parts)


def texts_of(folder: Path) -> Iterator[str]:
    """Every text of an answer's folder: its sentences, its table, its pages; the planner's own texts left out."""
    summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    yield from (*summary["answer"], summary["table"]["note"])
    yield from (f"{row['label']} {cell['text']}" for row in summary["table"]["rows"] for cell in row["cells"])
    for page in sorted(folder.glob("*.html")):
        for block in _BLOCK.findall(_NOT_OURS.sub("", page.read_text(encoding="utf-8"))):
            text = html.unescape(_TAG.sub("", _CODE.sub("This", block))).strip()
            if not _WARNING.match(text):
                yield text


def of_answer(folder: Path) -> list[str]:
    """What is not plain in an answer, and what of its first page a newcomer has no words for."""
    summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    first = " ".join(_CODE_TYPED.sub("", each) for each in summary["answer"])
    jargon = [f"first page: {word}" for word in JARGON if re.search(rf"\b{word}s?\b", first)]
    return [*jargon, *dict.fromkeys(fault for text in texts_of(folder) for fault in faults_of(text))]
