"""`growsim compare` at the command line: the answer, the report, the command that gives it again."""

from __future__ import annotations

import json
import shlex
from pathlib import Path

import pytest

from growsim.cli import main
from growsim.scenario.change import changed_room, load_change
from growsim.scenario.load import load_scenario

ROOMS = Path(__file__).parents[2] / "scenarios"
TINY = ROOMS / "tiny"
SHIPPED = sorted((ROOMS / "millrace" / "changes").glob("*.toml"))
QUICK = ["--days", "14", "--replications", "3", "--workers", "1"]


@pytest.fixture
def colder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A small CHANGE file, in the folder one works in."""
    monkeypatch.chdir(tmp_path)
    file = Path("colder.toml")
    file.write_text(
        '[change]\nname = "a colder room"\nprice = 10\n[climate]\nair_temperature_c = 20\n', encoding="utf-8"
    )
    return file


def test_the_answer_opens_with_the_verdict(colder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """On the terminal as in the report; the report lies where it should."""
    assert main(["compare", str(TINY), str(colder), *QUICK]) == 0
    out, err = capsys.readouterr()

    assert out.startswith("A colder room: ")
    assert "Making it costs USD 10.00" in " ".join(out.split())
    assert "with the change" in out and "Orders filled" in out
    assert str(Path("reports", "tiny-compare", "report.html")) in out
    assert out.endswith(f"  growsim keep {TINY} {colder}\n")
    assert err == ""
    assert Path("reports/tiny-compare/summary.json").is_file()


def test_json_and_the_command_that_repeats_it(colder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """--json prints summary.json and nothing else; the command line in it gives the same numbers again."""
    assert main(["compare", str(TINY), str(colder), *QUICK, "--no-why", "--json"]) == 0
    first = json.loads(capsys.readouterr().out)
    again = shlex.split(first["repeat_with"])[1:]

    assert "--no-why" in again and "--seed" in again
    assert main([*again, "--workers", "2", "--out", "again", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == first
    assert json.loads(Path("again/summary.json").read_text(encoding="utf-8")) == first


def test_an_earlier_report_is_not_written_over(colder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Said before the work begins."""
    Path("out").mkdir()
    Path("out/notes.txt").write_text("mine", encoding="utf-8")

    assert main(["compare", str(TINY), str(colder), "--out", "out"]) == 2
    assert capsys.readouterr().err == "out: exists already; give another folder with --out, or say --replace.\n"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--replications", "1"], "'1' is not possible; give a whole number from 2 to 1000000"),
        (["--precision", "0"], "'0' is not possible; give a percentage above 0, such as 2"),
        (["--days", "6"], "days: 6 is too short to compare weeks; give 7 or more."),
        (["--start", "shelves"], "invalid choice: 'shelves'"),
    ],
)
def test_what_cannot_be_is_refused(
    colder: Path, capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    """One sentence, exit code 2."""
    assert main(["compare", str(TINY), str(colder), *words]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert said in line


@pytest.mark.parametrize("file", SHIPPED, ids=[file.stem for file in SHIPPED])
def test_every_shipped_change_can_be_made(file: Path) -> None:
    """It is sound, opens with a remark that says what it is, has a name and a price, and says that it is invented."""
    change = load_change(file)
    changed_room(load_scenario(ROOMS / "millrace"), change)

    assert file.read_text(encoding="utf-8").startswith("# ")
    assert change.about.name
    assert change.about.price is not None
    assert "invented" in change.about.source


def test_at_least_ten_changes_are_shipped() -> None:
    """A rack, a crop, spacing, seeds, days, light and people."""
    assert len(SHIPPED) >= 10
    assert len({load_change(file).title for file in SHIPPED}) == len(SHIPPED)
