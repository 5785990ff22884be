"""The table of published checks (tests/published/CHECKED.md): what was checked, against what, what came out.

A test that checks a figure against something outside growsim says so through the fixture `published_check` (see
conftest.py) and names the function or class it checks. Each call asserts, and becomes one line of the table, written by

    python -m pytest tests --write-checks

and every other run compares what it did with what stands there, and fails where they differ.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from growsim.run.intervals import mean_interval

ROOT = Path(__file__).parents[1]
CHECKED = ROOT / "tests" / "published" / "CHECKED.md"
COMMAND = "python -m pytest tests --write-checks"
BEGIN = f"<!-- checks: begin (written by `{COMMAND}`) -->"
END = "<!-- checks: end -->"
HEAD = "| what | source | published | ours | verdict | what was checked |\n| --- | --- | --- | --- | --- | --- |"
LEVEL = 0.99
GROWSIMS = "a formula of growsim"


class Line(NamedTuple):
    """One line of the table. place: file, line and case of the test, for the order of the table."""

    place: tuple[str, int, int]
    cells: tuple[str, str, str, str, str, str]

    def __str__(self) -> str:
        return "| " + " | ".join(cell.replace("|", "/") for cell in self.cells) + " |"


class PublishedChecks:
    """Asserts a figure against a published one and keeps a line for the table. `source` says where it was printed.

    checks: the function or class that gave `ours`. how: for the room's processes, what was run ("one run without
    chance"). given: what of the published figure the room was told beforehand, so that less is proven than it seems.
    """

    def __init__(self, file: str, line: int) -> None:
        self._file, self._line = file, line
        self.lines: list[Line] = []

    def _keep(self, cells: tuple[str, str, str, str, str], checks: Callable[..., Any], how: str, given: str) -> None:
        *before, verdict = cells
        what, source, published, ours = before
        told = f"{verdict}; {given}" if given else verdict
        line = (what, source, published, ours, told, checked(checks, how))
        self.lines.append(Line((self._file, self._line, len(self.lines)), line))

    def __call__(
        self,
        what: str,
        source: str,
        published: float,
        ours: float,
        unit: str = "",
        *,
        checks: Callable[..., Any],
        how: str = "",
        given: str = "",
        within: float = 0.0,
        within_percent: float = 0.0,
    ) -> None:
        """`ours` lies at most `within` (same unit), or that share of `published`, from it; else it must be equal."""
        slack = max(within, abs(published) * within_percent / 100.0)
        assert abs(ours - published) <= slack, f"{what}: {ours:g} {unit}, published {published:g} ({source})"
        verdict = (
            f"within {plain(within_percent)} %" if within_percent else f"within {plain(within)}" if within else "equal"
        )
        cells = (what, source, _with(plain(published), unit), _with(plain(ours), unit), verdict)
        self._keep(cells, checks, how, given)

    def band(
        self,
        what: str,
        source: str,
        low: float,
        high: float,
        ours: float,
        unit: str = "",
        *,
        checks: Callable[..., Any],
        how: str = "",
        given: str = "",
        outside: str = "",
    ) -> None:
        """`ours` lies in the published range; or outside it, and `outside` says why."""
        is_inside = low <= ours <= high
        assert is_inside != bool(outside), f"{what}: {ours:g} {unit}, published {low:g} to {high:g} ({source})"
        verdict = "inside" if is_inside else f"**outside**: {outside}"
        there = _with(f"{plain(low)} to {plain(high)}", unit)
        self._keep((what, source, there, _with(plain(ours), unit), verdict), checks, how, given)

    def table(
        self,
        what: str,
        source: str,
        published: Sequence[float],
        ours: Sequence[float],
        unit: str = "",
        *,
        checks: Callable[..., Any],
        how: str = "",
        given: str = "",
        within: float = 0.0,
    ) -> None:
        """A whole table: every entry at most `within` from the published one; without it they must be equal."""
        gaps = [abs(a - b) for a, b in zip(published, ours, strict=True)]
        assert max(gaps) <= within, f"{what}: {list(ours)} {unit}, published {list(published)} ({source})"
        few = len(published) <= 5
        there = (
            ", ".join(map(plain, published))
            if few
            else f"{len(published)}: {plain(min(published))} to {plain(max(published))}"
        )
        found = ", ".join(map(plain, ours)) if few else f"all {len(published)}"
        verdict = f"within {plain(within)}" if within else "equal"
        cells = (what, source, _with(there, unit), _with(found, unit) if few else found, verdict)
        self._keep(cells, checks, how, given)

    def simulated(
        self,
        what: str,
        source: str,
        published: float,
        values: Sequence[float],
        unit: str = "",
        *,
        checks: Callable[..., Any],
        each: str = "replications",
        given: str = "",
        sharp: float,
    ) -> None:
        """The published value lies inside the 99 % range of the mean of these replications (30 or more; or lots, ...).

        That range must be sharp enough to fail: its half-width at most the share `sharp` of the published value.
        """
        assert len(values) >= 30
        mean, low, high = mean_interval(values, LEVEL)
        assert low is not None
        assert high is not None
        half = (high - low) / 2.0
        assert half <= sharp * published, f"{what}: {mean:g} +- {half:g} is too blunt for {published:g}"
        assert low <= published <= high, f"{what}: {mean:g} +- {half:g} {unit}, published {published:g} ({source})"
        ours = f"{plain(mean)} ± {plain(float(f'{half:.2g}'))}"
        verdict = f"inside the 99 % range, ± {100 * half / published:.1f} %"
        cells = (what, source, _with(plain(published), unit), _with(ours, unit), verdict)
        self._keep(cells, checks, f"{len(values):,} {each}", given)

    def differs(
        self,
        what: str,
        source: str,
        published: float,
        ours: float,
        unit: str = "",
        *,
        checks: Callable[..., Any],
        how: str = "",
        why: str,
        by: float,
    ) -> None:
        """The published figure is not ours, and `why` says which is right: they lie at least `by` apart."""
        assert abs(ours - published) >= by, f"{what}: {ours:g} no longer differs from the published {published:g}"
        cells = (what, source, _with(plain(published), unit), _with(plain(ours), unit), f"**differs**: {why}")
        self._keep(cells, checks, how, "")


def checked(checks: Callable[..., Any], how: str) -> str:
    """The last cell: whose code gave the figure. Raises ValueError where a run of the room is not described."""
    name = f"{checks.__module__}.{checks.__qualname__}"
    if not name.startswith("growsim."):
        return f"a formula of the tests: `{name}`"
    inside = name.removeprefix("growsim.")
    if not inside.startswith("room."):
        return f"{GROWSIMS}: `{inside}`"
    if not how:
        raise ValueError(f"say how {inside} was run: how many replications, or without chance")
    return f"the room's processes (`{inside}`), {how}"


def plain(value: float) -> str:
    """Up to four digits that count, no exponent where one can do without."""
    if value != 0 and not 1e-4 <= abs(value) < 1e7:
        return f"{value:.3g}"
    text = f"{value:,.0f}" if abs(value) >= 1000 else f"{value:.4g}"
    return text.replace("-", "−") if value < 0 else text


def _with(text: str, unit: str) -> str:
    return f"{text} {unit}".strip()


def rendered(lines: Sequence[Line]) -> str:
    """The block between the markers."""
    return "\n".join([HEAD, *(str(line) for line in sorted(lines))])


def block_of(text: str) -> str:
    """What stands between the markers. Raises ValueError where there are none."""
    if text.count(BEGIN) != 1 or text.count(END) != 1:
        raise ValueError(f"{CHECKED.name} needs one line {BEGIN} and one line {END}")
    return text.split(BEGIN)[1].split(END, maxsplit=1)[0].strip("\n")


def with_block(text: str, block: str) -> str:
    """The text with another block between the markers. Raises ValueError as `block_of`."""
    block_of(text)
    before, after = text.split(BEGIN, maxsplit=1)[0], text.split(END)[1]
    return f"{before}{BEGIN}\n{block}\n{END}{after}"


def out_of_date(lines: Sequence[Line], text: str, *, complete: bool) -> list[str]:
    """Lines in which table and tests differ. Only a complete run can tell what stands there and is checked no more."""
    try:
        there = block_of(text).splitlines()
    except ValueError as fault:
        return [str(fault)]
    made = rendered(lines).splitlines()
    missing = [f"+ {line}" for line in made if line not in there]
    if not complete:
        return missing if lines else []
    spare = [f"- {line}" for line in there if line not in made]
    moved = ["  (the order of the lines differs)"] if not missing and not spare and there != made else []
    return spare + missing + moved


def files_that_check() -> set[str]:
    """Test files that use the fixture, as pytest names them."""
    uses = re.compile(r"def test_[^)]*\bpublished_check\b", re.DOTALL)
    tests = ROOT / "tests"
    return {
        path.relative_to(ROOT).as_posix() for path in tests.rglob("test_*.py") if uses.search(path.read_text("utf-8"))
    }
