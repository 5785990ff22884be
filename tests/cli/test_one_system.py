"""A room told in US units: no kg, °C or L in the terminal nor on a page; its summary.json and CSV tables stay in SI."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from one_system import foreign

from growsim.cli import main
from growsim.units import System

TINY = Path(__file__).parents[2] / "scenarios" / "tiny" / "room.toml"
QUICK = ["--replications", "2", "--days", "35", "--workers", "1", "--out", "out"]
RECORD = ("kg ______",)  # a line to write the record into, which is kept in kg


@pytest.fixture(autouse=True)
def room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The tiny room in US units, in a folder of its own."""
    monkeypatch.chdir(tmp_path)
    text = TINY.read_text(encoding="utf-8")
    file = tmp_path / "room.toml"
    file.write_text(text.replace("[room]\n", '[room]\nunits = "us"\nregion = "US"\n', 1), encoding="utf-8")
    return file


@pytest.mark.parametrize(
    "command",
    [
        ["rehearse", *QUICK],
        ["outage", *QUICK],
        ["sow", "--replications", "10", "--days", "70", "--workers", "1", "--out", "out"],
        ["sheet", "--workers", "1", "--out", "out"],
        ["funder", "--replications", "2", "--workers", "1", "--out", "out"],
        ["check"],
    ],
    ids=lambda command: command[0],
)
def test_every_page_is_told_in_the_rooms_units(
    command: list[str], room: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Terminal, report, sheets to print."""
    assert main([command[0], str(room), *command[1:]]) == 0

    said = capsys.readouterr().out
    assert foreign(f"<p>{said.replace(chr(10), '</p><p>')}</p>", "us") == []
    pages = sorted(Path("out").glob("*.html"))
    assert bool(pages) == (command[0] != "check")
    for page in pages:
        assert foreign(page.read_text(encoding="utf-8"), "us", but_for=RECORD) == []


@pytest.mark.parametrize("system", ["metric", "us"])
def test_summary_and_tables_stay_in_si(
    system: System, room: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Measures, labels, units and CSV tables are the same in either system; the terminal tells the room's."""
    monkeypatch.setenv("COLUMNS", "80")
    here = room.read_text(encoding="utf-8")
    room.write_text(here.replace('units = "us"', f'units = "{system}"'), encoding="utf-8")
    assert main(["rehearse", str(room), *QUICK]) == 0
    us = json.loads(Path("out", "summary.json").read_text(encoding="utf-8"))

    assert us["measures"]["kg_packed_per_week"]["unit"] == "kg/week"
    assert us["measures"]["cost_per_kg"]["label"] == "Cost per kilogram handed out"
    assert "kg_packed" in Path("out", "weeks.csv").read_text(encoding="utf-8").partition("\n")[0]
    packed = f"{us['measures']['kg_packed_per_week']['mean'] / (0.45359237 if system == 'us' else 1.0):.1f}"
    unit = "lb" if system == "us" else "kg"
    assert f"Greens packed a week, {unit}\n  on average (range): {packed}\n" in capsys.readouterr().out


def test_dates_follow_the_region(room: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Month first in the US, day first elsewhere; the cold chain by the FDA there only."""
    assert main(["sheet", str(room), "--week", "2031-02-10", "--workers", "1", "--out", "us"]) == 0
    room.write_text(room.read_text(encoding="utf-8").replace('region = "US"', 'region = "Norway"'), encoding="utf-8")
    assert main(["sheet", str(room), "--week", "2031-02-10", "--workers", "1", "--out", "no"]) == 0
    there, here = (Path(out, "report.html").read_text(encoding="utf-8") for out in ("us", "no"))

    assert "Monday, February 10" in there and "41 °F or below for cut leafy greens (FDA Food Code 3-501.16)" in there
    assert "Monday 10 February" in here and "39.2 °F or below for perishable food (Mattilsynet, 2020)" in here
    assert "FDA" not in here and "OSHA" not in here
