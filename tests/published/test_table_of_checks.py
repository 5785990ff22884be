"""The table of published checks: sound as it stands, about code that is used, and written or found stale by rule."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from checks_table import (
    BEGIN,
    CHECKED,
    END,
    GROWSIMS,
    HEAD,
    ROOT,
    Line,
    PublishedChecks,
    block_of,
    checked,
    out_of_date,
    rendered,
    with_block,
)

from growsim.room.model import simulate
from growsim.run.intervals import t_quantile


def made() -> PublishedChecks:
    """A few checks of made-up figures."""
    checks = PublishedChecks("tests/test_a.py", 3)
    checks("days", "a handbook", 7, 7.1, "d", checks=t_quantile, within=0.2)
    checks.differs("days", "a web page", 9, 7.1, "d", checks=t_quantile, by=1, why="counts from the soaking")
    return checks


def page_with(block: str) -> str:
    """A page with such a table."""
    return f"# growsim\n\n{BEGIN}\n{block}\n{END}\n\nAnd so on.\n"


def test_the_table_is_sound(pytestconfig: pytest.Config) -> None:
    """It has its head, and every line six cells: what, source, published, ours, verdict, what was checked."""
    if pytestconfig.getoption("--write-checks"):
        pytest.skip("it is being written")
    head, ruler, *lines = block_of(CHECKED.read_text(encoding="utf-8")).splitlines()

    assert f"{head}\n{ruler}" == HEAD
    assert len(lines) >= 50
    assert {line.count("|") for line in lines} == {7}
    assert len(set(lines)) == len(lines)


def test_a_table_just_written_is_current() -> None:
    """What a run writes, the next run finds in order; the text around it stays."""
    lines = made().lines
    page = with_block(page_with("old"), rendered(lines))

    assert out_of_date(lines, page, complete=True) == []
    assert page.startswith("# growsim\n")
    assert page.endswith("And so on.\n")


def test_a_changed_figure_makes_it_stale() -> None:
    """One figure another: the old line goes, the new one comes."""
    page = page_with(rendered(made().lines))
    other = PublishedChecks("tests/test_a.py", 3)
    other("days", "a handbook", 7, 6.9, "d", checks=t_quantile, within=0.2)

    faults = out_of_date(other.lines, page, complete=True)

    assert [fault[0] for fault in faults] == ["-", "-", "+"]
    assert "6.9 d" in faults[-1]


def test_only_a_whole_run_misses_lines() -> None:
    """A run of some of the tests cannot say that a line has no check any more."""
    page = page_with(rendered(made().lines))

    assert out_of_date(made().lines[:1], page, complete=False) == []
    assert out_of_date(made().lines[:1], page, complete=True) != []


def test_a_page_without_its_marks_is_a_fault() -> None:
    """Nothing is written into, or passed over in, a page that has lost the marks."""
    assert "needs one line" in out_of_date(made().lines, "# growsim\n", complete=False)[0]
    with pytest.raises(ValueError, match="needs one line"):
        with_block("# growsim\n", "table")


def test_lines_come_in_the_order_of_the_tests() -> None:
    """By file, line and case, whatever worker they come from."""
    late, early = Line(("b.py", 9000, 0), ("late",) * 6), Line(("b.py", 8000, 1), ("early",) * 6)

    assert rendered([late, early]).splitlines()[2].startswith("| early")


def test_every_line_says_whose_code_was_checked() -> None:
    """A function of growsim, of the tests, or the room at work; a run of the room says what was run."""
    assert checked(t_quantile, "") == "a formula of growsim: `run.intervals.t_quantile`"
    assert checked(made, "").startswith("a formula of the tests: `")
    assert checked(simulate, "one run without chance") == (
        "the room's processes (`room.model.simulate`), one run without chance"
    )
    with pytest.raises(ValueError, match="how many replications"):
        checked(simulate, "")


Unit = tuple[str, str, set[str]]  # module, name of a function or method ("" for what stands outside), names it uses


def units(package: Path) -> list[Unit]:
    """Every function and method of a package, and what each module does outside of them."""
    return [unit for path in sorted(package.rglob("*.py")) for unit in _units_of(path, package.parent)]


def _units_of(path: Path, root: Path) -> Iterator[Unit]:
    module = ".".join(path.relative_to(root).with_suffix("").parts)
    body = ast.parse(path.read_text(encoding="utf-8")).body
    inside = [item for node in body for item in (node.body if isinstance(node, ast.ClassDef) else [node])]
    for node in inside:
        used = {part.id for part in ast.walk(node) if isinstance(part, ast.Name)}
        used |= {part.attr for part in ast.walk(node) if isinstance(part, ast.Attribute)}
        yield module, node.name if isinstance(node, ast.FunctionDef) else "", used


def is_called_elsewhere(dotted: str, known: list[Unit]) -> bool:
    """Whether another module uses a function, itself or through functions of its own module that use it."""
    module, name = dotted.rsplit(".", 1)
    wanted, looked = [name], set[str]()
    while wanted:
        looked.add(one := wanted.pop())
        for where, unit, used in known:
            if one in used and unit != one:
                if not module.startswith(where):  # a method's module is the class's
                    return True
                wanted += [unit] if unit and unit not in looked else []
    return False


def test_no_line_checks_code_that_nothing_calls(pytestconfig: pytest.Config) -> None:
    """Each formula of growsim in the table is one that growsim works with."""
    if pytestconfig.getoption("--write-checks"):
        pytest.skip("it is being written")
    names = set(re.findall(rf"{GROWSIMS}: `([\w.]+)`", block_of(CHECKED.read_text(encoding="utf-8"))))
    known = units(ROOT / "growsim")

    assert len(names) >= 8
    assert [name for name in sorted(names) if not is_called_elsewhere(f"growsim.{name}", known)] == []


def test_code_that_only_its_own_module_knows_is_found_out(tmp_path: Path) -> None:
    """Two functions that call one another and nobody else, against one that is used at second hand."""
    package = tmp_path / "house"
    package.mkdir()
    (package / "a.py").write_text(
        "def idle(): return busy()\ndef busy(): return idle()\ndef deep(): return 1\ndef door(): return deep()\n",
        "utf-8",
    )
    (package / "b.py").write_text("from house.a import door\nx = door()\n", "utf-8")
    known = units(package)

    assert [is_called_elsewhere(f"house.a.{name}", known) for name in ("idle", "busy", "deep", "door")] == [
        False, False, True, True,
    ]  # fmt: skip


def test_checks_refuse_what_lies_outside() -> None:
    """Each kind of check can fail."""
    table = PublishedChecks("tests/test_a.py", 3)
    near = [1.0, 1.1] * 15

    with pytest.raises(AssertionError, match="published 7"):
        table("days", "a handbook", 7, 7.3, checks=t_quantile, within=0.2)
    with pytest.raises(AssertionError, match="published 1 to 2"):
        table.band("days", "a handbook", 1, 2, 2.1, checks=t_quantile)
    with pytest.raises(AssertionError, match="published 1 to 2"):
        table.band("days", "a handbook", 1, 2, 1.9, checks=t_quantile, outside="no longer")
    with pytest.raises(AssertionError):
        table.table("days", "a handbook", [1, 2], [1, 2.1], checks=t_quantile, within=0.05)
    with pytest.raises(AssertionError, match="too blunt"):
        table.simulated("days", "a handbook", 1.05, near, checks=t_quantile, sharp=0.001)
    with pytest.raises(AssertionError, match="days: 1"):
        table.simulated("days", "a handbook", 1.2, near, checks=t_quantile, sharp=0.1)
    with pytest.raises(AssertionError, match="no longer differs"):
        table.differs("days", "a web page", 9, 8.9, checks=t_quantile, by=1, why="counts from the soaking")
    assert table.lines == []
