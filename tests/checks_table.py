"""The table of published checks in README.md: what was checked, against what, what came out. Made by the tests.

A test that checks a figure against something outside growsim says so through the fixture `published_check` (see
conftest.py). Each call asserts, and becomes one line of the table. The block in README.md is written by

    python -m pytest tests --write-checks

and every other run compares what it did with what stands there, and fails where they differ.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from growsim.run.intervals import mean_interval

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
COMMAND = "python -m pytest tests --write-checks"
BEGIN = f"<!-- checks: begin (written by `{COMMAND}`) -->"
END = "<!-- checks: end -->"
HEAD = "| what | source | published | ours | verdict |\n| --- | --- | --- | --- | --- |"
LEVEL = 0.99


class Line(NamedTuple):
    """One line of the table. place: file, line and case of the test, for the order of the table."""

    place: tuple[str, int, int]
    cells: tuple[str, str, str, str, str]

    def __str__(self) -> str:
        return "| " + " | ".join(cell.replace("|", "/") for cell in self.cells) + " |"


class PublishedChecks:
    """Asserts a figure against a published one and keeps a line for the table. `source` says where it was printed."""

    def __init__(self, file: str, line: int) -> None:
        self._file, self._line = file, line
        self.lines: list[Line] = []

    def _keep(self, what: str, source: str, published: str, ours: str, verdict: str) -> None:
        self.lines.append(Line((self._file, self._line, len(self.lines)), (what, source, published, ours, verdict)))

    def __call__(
        self,
        what: str,
        source: str,
        published: float,
        ours: float,
        unit: str = "",
        *,
        within: float = 0.0,
        within_percent: float = 0.0,
    ) -> None:
        """`ours` lies at most `within` (same unit), or that share of `published`, from it; else it must be equal."""
        slack = max(within, abs(published) * within_percent / 100.0)
        assert abs(ours - published) <= slack, f"{what}: {ours:g} {unit}, published {published:g} ({source})"
        verdict = (
            f"within {plain(within_percent)} %" if within_percent else f"within {plain(within)}" if within else "equal"
        )
        self._keep(what, source, _with(plain(published), unit), _with(plain(ours), unit), verdict)

    def band(self, what: str, source: str, low: float, high: float, ours: float, unit: str = "") -> None:
        """`ours` lies in the published range."""
        assert low <= ours <= high, f"{what}: {ours:g} {unit}, published {low:g} to {high:g} ({source})"
        self._keep(what, source, _with(f"{plain(low)} to {plain(high)}", unit), _with(plain(ours), unit), "inside")

    def table(
        self,
        what: str,
        source: str,
        published: Sequence[float],
        ours: Sequence[float],
        unit: str = "",
        *,
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
        self._keep(
            what,
            source,
            _with(there, unit),
            _with(found, unit) if few else found,
            f"within {plain(within)}" if within else "equal",
        )

    def simulated(
        self, what: str, source: str, published: float, values: Sequence[float], unit: str = "", *, sharp: float
    ) -> None:
        """The published value lies inside the 99 % range of the mean of these replications (30 or more).

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
        self._keep(
            what, source, _with(plain(published), unit), _with(ours, unit), f"inside, ± {100 * half / published:.1f} %"
        )

    def differs(
        self, what: str, source: str, published: float, ours: float, unit: str = "", *, why: str, by: float
    ) -> None:
        """The published figure is not ours, and `why` says which is right: they lie at least `by` apart."""
        assert abs(ours - published) >= by, f"{what}: {ours:g} no longer differs from the published {published:g}"
        self._keep(what, source, _with(plain(published), unit), _with(plain(ours), unit), f"**differs**: {why}")


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


def block_of(readme: str) -> str:
    """What stands between the markers. Raises ValueError where there are none."""
    if readme.count(BEGIN) != 1 or readme.count(END) != 1:
        raise ValueError(f"README.md needs one line {BEGIN} and one line {END}")
    return readme.split(BEGIN)[1].split(END, maxsplit=1)[0].strip("\n")


def with_block(readme: str, block: str) -> str:
    """The text with another block between the markers. Raises ValueError as `block_of`."""
    block_of(readme)
    before, after = readme.split(BEGIN, maxsplit=1)[0], readme.split(END)[1]
    return f"{before}{BEGIN}\n{block}\n{END}{after}"


def out_of_date(lines: Sequence[Line], readme: str, *, complete: bool) -> list[str]:
    """Lines in which table and tests differ. Only a complete run can tell what stands there and is checked no more."""
    try:
        there = block_of(readme).splitlines()
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
