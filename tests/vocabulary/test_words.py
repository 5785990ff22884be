"""Words that were decided against (growsim/vocabulary/WORDS.md) stand in no text that a person can see."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
WORDS = (ROOT / "growsim" / "vocabulary" / "WORDS.md").read_text(encoding="utf-8")
SAY_THEM = {"old_words.py", "tasks.py"}  # to tell what they are called now; for streams named before


def refused() -> list[str]:
    """The words of the third column of the first table."""
    rows = re.findall(r"^\|[^|]+\|[^|]+\|([^|]+)\|$", WORDS.partition("## Kept")[0], re.M)[2:]
    words = [re.sub(r"\(.*\)", "", word).strip() for row in rows for word in row.split(",")]
    return [word for word in words if word]


def texts() -> Iterator[tuple[str, str]]:
    """Every string of the package but keys, its templates, and the room files and documents beside it."""
    for path in sorted((ROOT / "growsim").rglob("*.py")):
        if path.name not in SAY_THEM:
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Constant) and isinstance(node.value, str) and " " in node.value:
                    yield f"{path.relative_to(ROOT)}:{node.lineno}", node.value
    others = [
        *(ROOT / "growsim").rglob("*.html"),
        *(ROOT / "growsim").rglob("*.js"),
        *(ROOT / "growsim").rglob("*.toml"),
    ]
    others += [*(ROOT / "scenarios").rglob("*.toml"), *(ROOT / "scenarios").glob("*.md"), ROOT / "README.md"]
    for path in sorted(others):
        yield str(path.relative_to(ROOT)), path.read_text(encoding="utf-8")


@pytest.mark.parametrize("word", refused())
def test_a_word_decided_against_is_seen_nowhere(word: str) -> None:
    """Whole words, however they are written, in one or in many."""
    pattern = re.compile(rf"(?<![\w-]){re.escape(word)}s?(?![\w-])", re.I)

    assert [where for where, text in texts() if pattern.search(text)] == []


def test_the_table_of_words_is_read() -> None:
    """The words are those of the table: the first and the last of it are among them."""
    assert {"tub", "for want of"} <= set(refused())
