"""The table of checks in README.md: sound as it stands, and the rules by which a run writes it or finds it stale."""

from __future__ import annotations

import pytest
from checks_table import BEGIN, END, HEAD, README, Line, PublishedChecks, block_of, out_of_date, rendered, with_block


def made() -> PublishedChecks:
    """A few checks of made-up figures."""
    checks = PublishedChecks("tests/test_a.py", 3)
    checks("days", "a handbook", 7, 7.1, "d", within=0.2)
    checks.differs("days", "a web page", 9, 7.1, "d", by=1, why="counts from the soaking")
    return checks


def readme_with(block: str) -> str:
    """A README with such a table."""
    return f"# growsim\n\n{BEGIN}\n{block}\n{END}\n\nAnd so on.\n"


def test_the_table_stands_in_readme(pytestconfig: pytest.Config) -> None:
    """It has its head, and every line five cells: what, source, published, ours, verdict."""
    if pytestconfig.getoption("--write-checks"):
        pytest.skip("it is being written")
    head, ruler, *lines = block_of(README.read_text(encoding="utf-8")).splitlines()

    assert f"{head}\n{ruler}" == HEAD
    assert len(lines) >= 50
    assert {line.count("|") for line in lines} == {6}
    assert len(set(lines)) == len(lines)


def test_a_table_just_written_is_current() -> None:
    """What a run writes, the next run finds in order; the text around it stays."""
    lines = made().lines
    readme = with_block(readme_with("old"), rendered(lines))

    assert out_of_date(lines, readme, complete=True) == []
    assert readme.startswith("# growsim\n")
    assert readme.endswith("And so on.\n")


def test_a_changed_figure_makes_it_stale() -> None:
    """One figure another: the old line goes, the new one comes."""
    readme = readme_with(rendered(made().lines))
    other = PublishedChecks("tests/test_a.py", 3)
    other("days", "a handbook", 7, 6.9, "d", within=0.2)

    faults = out_of_date(other.lines, readme, complete=True)

    assert [fault[0] for fault in faults] == ["-", "-", "+"]
    assert "6.9 d" in faults[-1]


def test_only_a_whole_run_misses_lines() -> None:
    """A run of some of the tests cannot say that a line has no check any more."""
    readme = readme_with(rendered(made().lines))

    assert out_of_date(made().lines[:1], readme, complete=False) == []
    assert out_of_date(made().lines[:1], readme, complete=True) != []


def test_a_readme_without_its_marks_is_a_fault() -> None:
    """Nothing is written into, or passed over in, a README that has lost the marks."""
    assert "needs one line" in out_of_date(made().lines, "# growsim\n", complete=False)[0]
    with pytest.raises(ValueError, match="needs one line"):
        with_block("# growsim\n", "table")


def test_lines_come_in_the_order_of_the_tests() -> None:
    """By file, line and case, whatever worker they come from."""
    late, early = Line(("b.py", 9000, 0), ("late",) * 5), Line(("b.py", 8000, 1), ("early",) * 5)

    assert rendered([late, early]).splitlines()[2].startswith("| early")


def test_checks_refuse_what_lies_outside() -> None:
    """Each kind of check can fail."""
    checks = PublishedChecks("tests/test_a.py", 3)
    near = [1.0, 1.1] * 15

    with pytest.raises(AssertionError, match="published 7"):
        checks("days", "a handbook", 7, 7.3, within=0.2)
    with pytest.raises(AssertionError, match="published 1 to 2"):
        checks.band("days", "a handbook", 1, 2, 2.1)
    with pytest.raises(AssertionError):
        checks.table("days", "a handbook", [1, 2], [1, 2.1], within=0.05)
    with pytest.raises(AssertionError, match="too blunt"):
        checks.simulated("days", "a handbook", 1.05, near, sharp=0.001)
    with pytest.raises(AssertionError, match="days: 1"):
        checks.simulated("days", "a handbook", 1.2, near, sharp=0.1)
    with pytest.raises(AssertionError, match="no longer differs"):
        checks.differs("days", "a web page", 9, 8.9, by=1, why="counts from the soaking")
    assert checks.lines == []
