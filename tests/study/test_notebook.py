"""The public face for a notebook: check, rehearse, compare."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path
from types import ModuleType

import pandas as pd
import pytest

import growsim
from growsim.cli import main
from growsim.errors import InputError, OutputError, RoomFileError
from growsim.run.intervals import skewed_interval
from growsim.run.prepare import prepare_room
from growsim.scenario.load import load_scenario
from growsim.scenario.toml.text import toml_text


def test_the_public_names_are_these() -> None:
    """Listed, there, and found by completion; nothing else is promised."""
    assert set(growsim.__all__) >= {"__version__", "check", "compare", "rehearse"}
    assert all(callable(getattr(growsim, name)) for name in growsim.__all__ if name != "__version__")
    assert set(growsim.__all__) <= set(dir(growsim))
    with pytest.raises(AttributeError, match="module 'growsim' has no attribute 'harvest_moon'"):
        growsim.harvest_moon  # noqa: B018


def test_checking_from_python(compared: ModuleType, tmp_path: Path) -> None:
    """The sentences of `growsim check`, and the size as a table; a faulty room raises with every fault."""
    checked = growsim.check(compared.TINY)
    size = checked.to_frame().set_index("figure")["value"]
    faulty = tmp_path / "room.toml"
    faulty.write_text("[room]\nname = 3\n", encoding="utf-8")

    assert checked.sentences[0].endswith("the description is complete and possible.")
    assert (size["racks"], size["slots"]) == (1, 16)
    with pytest.raises(dataclasses.FrozenInstanceError):
        checked.name = "another"  # type: ignore[misc]
    with pytest.raises(RoomFileError) as refused:
        growsim.check(faulty)
    assert len(refused.value.faults) > 1


def test_rehearsing_from_python(compared: ModuleType) -> None:
    """Tables an analyst can go on from: the range of the mean follows from the years themselves."""
    year = growsim.rehearse(compared.TINY, days=28, replications=5, seed=5)
    measures = year.to_frame().set_index("measure")
    weeks = year.to_frame("weeks")
    by_year = weeks[weeks["series"] == "kg_packed"].groupby("replication")["value"].mean()
    mean, low, high = skewed_interval(list(by_year))

    assert tuple(measures.loc["kg_packed_per_week", ["mean", "mean_low", "mean_high"]]) == pytest.approx(
        (mean, low, high)
    )
    assert set(year.to_frame("fates")["replication"]) == set(range(5))
    assert year == growsim.rehearse(str(compared.TINY), days=28, replications=5, seed=5)
    with pytest.raises(ValueError, match="there are measures, weeks and fates"):
        year.to_frame("days")  # type: ignore[arg-type]


def test_comparing_from_python(compared: ModuleType, tmp_path: Path) -> None:
    """A file or its tables: the same change, the same numbers."""
    cooler = tmp_path / "cooler.toml"
    cooler.write_text("[climate]\nair_temperature_c = 19\n", encoding="utf-8")
    tables = {"change": {"name": "cooler"}, "climate": {"air_temperature_c": 19}}
    asked = {"days": 14, "replications": 2, "seed": 5, "why": False}
    from_file = growsim.compare(compared.TINY, cooler, **asked).to_frame()
    from_tables = growsim.compare(compared.TINY, tables, **asked).to_frame()

    assert set(from_file["change"]) == {"cooler"}
    pd.testing.assert_frame_equal(from_file, from_tables)


def test_tables_without_a_name_are_named_by_their_place(compared: ModuleType) -> None:
    """In a fault as in an answer."""
    with pytest.raises(RoomFileError, match=r"change 2, climate\.air_temperature_c: is 99"):
        growsim.compare(
            compared.TINY, {"climate": {"air_temperature_c": 20}}, {"climate": {"air_temperature_c": 99}}, days=14
        )


def test_keeping_a_change_from_python(compared: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The folder that `growsim keep` writes, from a file or its tables; what is made can be asked about at once."""
    monkeypatch.chdir(tmp_path)
    brighter = Path("brighter.toml")
    tables = {"change": {"name": "brighter"}, "lights": [{"name": "lights", "ppfd_umol_m2_s": 260}]}
    brighter.write_text(toml_text(tables), encoding="utf-8")
    room = compared.TINY
    today = prepare_room(load_scenario(room)).curves.growth_rate

    kept = growsim.keep(room, brighter, "from-file")
    again = growsim.keep(str(room), tables, tmp_path / "from-tables")
    assert main(["keep", str(room), "brighter.toml", "--out", "by-command"]) == 0

    made = Path("from-file/room.toml").read_bytes()
    assert made == Path("from-tables/room.toml").read_bytes() == Path("by-command/room.toml").read_bytes()
    assert Path("from-tables/kept-changes/1-brighter.toml").read_bytes() == brighter.read_bytes()
    assert kept.paces == again.paces == pytest.approx(today)
    assert kept.room == load_scenario(kept.folder)
    assert prepare_room(kept.room).curves.growth_rate == pytest.approx(today)
    assert any(said.startswith("Pace: how fast") for said in growsim.check(kept.folder).sentences)
    told = json.loads(Path("from-file/kept.json").read_text("utf-8"))
    by_command = json.loads(Path("by-command/kept.json").read_text("utf-8"))
    assert {key: by_command[key] for key in told if key != "warnings"} == {
        key: each for key, each in told.items() if key != "warnings"
    }


def test_keeping_several_changes_writes_over_nothing(
    compared: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One after the other; a folder in the way is left alone unless it is a kept room that may be replaced."""
    monkeypatch.chdir(tmp_path)
    warm, hands = {"climate": {"air_temperature_c": 22}}, {"room": {"people_at_once": 6}}

    kept = growsim.keep(compared.TINY, [warm, hands], "new")

    scenario = load_scenario(Path("new")).scenario
    assert (scenario.climate.air_temperature_c, scenario.room.people_at_once) == (22, 6)
    assert sorted(path.name for path in Path("new/kept-changes").iterdir()) == ["1-change-1.toml", "2-change-2.toml"]
    assert [change.title for change in kept.changes] == ["change-1", "change-2"]
    with pytest.raises(OutputError, match="new"):
        growsim.keep(compared.TINY, warm, "new")
    growsim.keep(compared.TINY, warm, "new", replace=True)
    assert load_scenario(Path("new")).scenario.room.people_at_once == 4
    with pytest.raises(InputError, match="change: none is given"):
        growsim.keep(compared.TINY, [], "empty")
    with pytest.raises(RoomFileError, match=r"air_temperature_c: is 99"):
        growsim.keep(compared.TINY, {"climate": {"air_temperature_c": 99}}, "hot")
    assert not Path("hot").exists()
