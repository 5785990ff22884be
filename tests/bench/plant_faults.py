"""Plant single faults at random, one after the other, and list those that no test notices.

`python tests/bench/plant_faults.py SEED COUNT [growsim/report ...]`, with Python 3.12 or later; it works on a copy. A
fault turns an operator or a condition around, shifts a number by one, or drops or swaps entries of a call, a list or a
table. Asked are the test files likeliest to notice, FILES of them: those that import the module, or one that does, of
its package and question first. Latest figures: MEASURED.md.
"""

from __future__ import annotations

import ast
import itertools
import random
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
FILES, SECONDS = 6, 240
SLOW = ("browser", "newcomers", "memory", "coverage", "hostile", "bench/", "theory/", "architecture/")
# How a drawing looks is judged by eye, and types are held by mypy.
LEFT_OUT = re.compile(r"size=|width=|height=|pad=|color|alpha|marker|_[xy]lim|\b[vh]a=|ncols|drawing\(|Literal\[")
TURNED = {"<=": "<", "<": "<=", ">=": ">", ">": ">=", "==": "!=", "!=": "==", "not in": "in", "in": "not in",
          "is not": "is", "is": "is not", "+": "-", "-": "+", "*": "/", "/": "*", "and": "or", "or": "and"}  # fmt: skip
Edit = tuple[int, int, str, str]  # begin and end (in bytes), what stands there then, kind of fault


class Finder:
    """Every fault that could be planted in a module."""

    def __init__(self, text: bytes) -> None:
        self.edits: list[Edit] = []
        self._text, self._begins = text, [0, *(found.end() for found in re.finditer(rb"\n", text))]
        self._look(ast.parse(text))

    def _span(self, node: Any) -> tuple[int, int]:
        begin, end = self._begins[node.lineno - 1], self._begins[node.end_lineno - 1]
        return begin + node.col_offset, end + node.end_col_offset

    def _said(self, node: Any) -> str:
        begin, end = self._span(node)
        return self._text[begin:end].decode()

    def _between(self, left: ast.expr, right: ast.expr) -> None:
        begin, end = self._span(left)[1], self._span(right)[0]
        gap = self._text[begin:end].decode()
        if (word := gap.strip(" ()\n")) in TURNED:
            self.edits.append((begin, end, gap.replace(word, TURNED[word]), "operator"))

    def _entries(self, entries: list[ast.expr], kind: str, *, drops: bool = False) -> None:
        for one, two in itertools.pairwise(entries):
            (begin, middle), (after, end) = self._span(one), self._span(two)
            if self._said(one) != self._said(two):
                between = self._text[middle:after].decode()
                self.edits.append((begin, end, f"{self._said(two)}{between}{self._said(one)}", f"swapped {kind}"))
            if drops and len(entries) > 2:
                self.edits.append((begin, after, "", f"dropped {kind}"))

    def _look(self, node: ast.AST) -> None:
        match node:
            case ast.Compare(left=left, comparators=[right]) | ast.BinOp(left=left, right=right):
                self._between(left, right)
            case ast.BoolOp(values=[left, right, *_]):
                self._between(left, right)
            case ast.If(test=test) | ast.IfExp(test=test) if self._said(test) != "TYPE_CHECKING":
                self.edits.append((*self._span(test), f"not ({self._said(test)})", "negated condition"))
            case ast.Constant(value=bool() as value):
                self.edits.append((*self._span(node), str(not value), "yes for no"))
            case ast.Constant(value=int() | float() as value):
                self.edits.append((*self._span(node), repr(value + 1), "number"))
            case ast.List(elts=entries) | ast.Tuple(elts=entries, ctx=ast.Load()):
                self._entries(entries, "entries", drops=True)
            case ast.Call(args=entries, keywords=named):
                self._entries(entries, "arguments")
                self._entries([word.value for word in named], "arguments")
            case ast.Dict(values=values):
                self._entries(values, "values")
        below: list[ast.AST] = list(ast.iter_child_nodes(node))
        if isinstance(node, ast.AnnAssign):
            below = [node.value] if node.value else []
        elif isinstance(node, ast.FunctionDef):
            below = [*node.args.defaults, *(each for each in node.args.kw_defaults if each), *node.body]
        for each in below:
            self._look(each)


def tests_for(module: str, tests: dict[str, str], sources: dict[str, str]) -> list[str]:
    """Test files, the likeliest to notice first."""
    direct = _importing(module)
    users = [name for name, text in sources.items() if direct.search(text)]
    through = re.compile("|".join(_importing(name).pattern for name in users) or r"\Zx")
    _, package, *words = Path(module).with_suffix("").parts

    def distance(name: str) -> float:
        text, stem = tests[name], Path(name).stem
        near = 0 if direct.search(text) else 1 if through.search(text) else 3
        return near - name.startswith(f"tests/{package}/") - 1.5 * any(word.rstrip("s") in stem for word in words)

    near = (name for name in tests if distance(name) < 3 and not any(word in name for word in SLOW))
    return sorted(near, key=lambda name: (distance(name), len(tests[name])))[:FILES]


def _importing(module: str) -> re.Pattern[str]:
    package, _, name = module.removesuffix(".py").removesuffix("/__init__").replace("/", ".").rpartition(".")
    return re.compile(rf"\b{re.escape(package)}\.{name}\b|from {re.escape(package)} import [^\n]*\b{name}\b")


def main(seed: int, count: int, below: list[str]) -> None:
    """Plant, ask, tell."""
    copy = Path(tempfile.mkdtemp(prefix="faults-"))
    for name in subprocess.check_output(["git", "ls-files"], cwd=ROOT, text=True).splitlines():
        (copy / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / name, copy / name)
    sources = {str(path.relative_to(copy)): path.read_text() for path in sorted(copy.glob("growsim/**/*.py"))}
    tests = {str(path.relative_to(copy)): path.read_text() for path in sorted(copy.glob("tests/**/test_*.py"))}
    possible: list[tuple[str, Edit]] = []
    for name, text in sources.items():
        if name.startswith(tuple(below) or "growsim"):
            lines = text.split("\n")
            possible += [(name, edit) for edit in Finder(text.encode()).edits
                         if not LEFT_OUT.search(lines[text.encode()[: edit[0]].count(b"\n")])]  # fmt: skip
    fates = Counter[tuple[str, str]]()
    for name, (begin, end, new, kind) in random.Random(seed).sample(possible, count):
        whole = sources[name].encode()
        (copy / name).write_bytes(whole[:begin] + new.encode() + whole[end:])
        asked = [sys.executable, "-B", "-m", "pytest", "-x", "-p", "no:cacheprovider", "-p", "no:xdist",
                 *tests_for(name, tests, sources)]  # fmt: skip
        try:
            fate = {0: "survived", 5: "survived"}.get(
                subprocess.run(asked, cwd=copy, capture_output=True, timeout=SECONDS, check=False).returncode, "noticed"
            )
        except subprocess.TimeoutExpired:
            fate = "slow"
        (copy / name).write_bytes(whole)
        fates[name.split("/")[1], fate] += 1
        was, now = " ".join(whole[begin:end].decode().split()), " ".join(new.split())
        line = whole[:begin].count(b"\n") + 1
        print(f"{fate}: {name}:{line} {kind}: {was[:80]} -> {now[:80]}", flush=True)
    print(*(f"{package} {fate}: {number}" for (package, fate), number in sorted(fates.items())), sep="\n")
    shutil.rmtree(copy)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3:])
