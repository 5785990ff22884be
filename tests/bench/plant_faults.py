"""Plant single faults at random, one after the other, and list those that no test notices.

`python tests/bench/plant_faults.py SEED COUNT [growsim/report ...]`, with Python 3.12 or later; it works on a copy. A
fault turns an operator or a condition around, shifts a number by one, or drops or swaps entries of a call, a list or a
table. First every test file is run once, alone, and the lines that it runs are noted (a red file is left out). Asked
are then FILES of those that run the line, those first that run little else than its module. Latest figures:
MEASURED.md.
"""

from __future__ import annotations

import ast
import itertools
import json
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
FILES, SECONDS = 6, 240
# A plugin of pytest: which lines of growsim were run. Each is told once, which costs next to nothing.
WATCH = """
import atexit, json, os, sys
from collections import defaultdict
seen, here = defaultdict(set), os.getcwd() + os.sep
def line(code, number):
    if code.co_filename.startswith(here + "growsim"):
        seen[code.co_filename.removeprefix(here)].add(number)
    return sys.monitoring.DISABLE
sys.monitoring.use_tool_id(3, "lines")
sys.monitoring.register_callback(3, sys.monitoring.events.LINE, line)
sys.monitoring.set_events(3, sys.monitoring.events.LINE)
atexit.register(lambda: open(os.environ["LINES_SEEN"], "w").write(json.dumps({k: sorted(v) for k, v in seen.items()})))
"""
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


def lines_run(copy: Path, tests: list[str]) -> dict[str, dict[str, set[int]]]:
    """The lines of each module that each test file runs, found by running each file alone."""
    (copy / "lines_seen.py").write_text(WATCH)

    def one(name: str) -> dict[str, set[int]]:
        seen = copy / (name.replace("/", "_") + ".lines")
        green = _green(copy, ["-p", "lines_seen", name], 3 * SECONDS, LINES_SEEN=str(seen))
        return {module: set(lines) for module, lines in json.loads(seen.read_text()).items()} if green else {}

    with ThreadPoolExecutor(os.cpu_count()) as pool:
        return dict(zip(tests, pool.map(one, tests), strict=True))


def _green(copy: Path, words: list[str], seconds: int, **environment: str) -> bool | None:
    """Whether all is green; None if it takes too long."""
    asked = [sys.executable, "-B", "-m", "pytest", "-x", "-p", "no:cacheprovider", "-p", "no:xdist", *words]
    try:
        with_growsim = {**os.environ, "PYTHONPATH": str(copy), **environment}
        told = subprocess.run(asked, cwd=copy, capture_output=True, timeout=seconds, check=False, env=with_growsim)
    except subprocess.TimeoutExpired:
        return None
    return told.returncode == 0


def tests_for(module: str, lines: range, ran: dict[str, dict[str, set[int]]]) -> list[str]:
    """Test files that run these lines; those that run little else than the module first."""
    share = {
        name: len(modules[module]) / sum(map(len, modules.values()))
        for name, modules in ran.items()
        if not modules.get(module, set()).isdisjoint(lines)
    }
    return sorted(share, key=lambda name: (-share[name], name))[:FILES]


def main(seed: int, count: int, below: list[str]) -> None:
    """Plant, ask, tell."""
    copy = Path(tempfile.mkdtemp(prefix="faults-"))
    for name in subprocess.check_output(["git", "ls-files"], cwd=ROOT, text=True).splitlines():
        (copy / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / name, copy / name)
    sources = {str(path.relative_to(copy)): path.read_text() for path in sorted(copy.glob("growsim/**/*.py"))}
    tests = [str(path.relative_to(copy)) for path in sorted(copy.glob("tests/**/test_*.py"))]
    ran = lines_run(copy, [name for name in tests if not any(word in name for word in SLOW)])
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
        lines = range(whole[:begin].count(b"\n") + 1, whole[:end].count(b"\n") + 2)
        chosen = tests_for(name, lines, ran)
        fate = (
            {True: "survived", False: "noticed", None: "slow"}[_green(copy, chosen, SECONDS)] if chosen else "not run"
        )
        (copy / name).write_bytes(whole)
        fates[name.split("/")[1], fate] += 1
        was, now = " ".join(whole[begin:end].decode().split()), " ".join(new.split())
        print(f"{fate}: {name}:{lines[0]} {kind}: {was[:80]} -> {now[:80]}  (asked {', '.join(chosen)})", flush=True)
    print(*(f"{package} {fate}: {number}" for (package, fate), number in sorted(fates.items())), sep="\n")
    shutil.rmtree(copy)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3:])
