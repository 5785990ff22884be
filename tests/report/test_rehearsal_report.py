"""The report of a rehearsal: what it leaves behind, its contract, and that it stands on its own."""

from __future__ import annotations

import csv
import dataclasses
import json
import re
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from types import ModuleType
from typing import Any

import jsonschema
import pytest
from one_system import foreign
from plain_words import of_answer

from growsim.errors import OutputError
from growsim.ledger.catalogue import CATALOGUE
from growsim.report.provenance import Provenance
from growsim.report.rehearse.answer import write_rehearsal

NUMBER_OR_NONE = {"type": ["number", "null"]}
CONTRACT = {
    "type": "object",
    "required": [
        "growsim",
        "command",
        "room",
        "room_sha256",
        "seed",
        "replications",
        "days",
        "warm_up_days",
        "repeat_with",
        "answer",
        "measures",
    ],
    "properties": {
        "growsim": {"type": "string"},
        "command": {"const": "rehearse"},
        "room": {"type": "string"},
        "room_sha256": {"type": "string", "pattern": "^[0-9a-f]{64}$"},
        "seed": {"type": "integer"},
        "replications": {"type": "integer", "minimum": 1},
        "days": {"type": "integer", "minimum": 1},
        "warm_up_days": {"type": "integer", "minimum": 0},
        "repeat_with": {"type": "string", "pattern": "^growsim rehearse "},
        "answer": {"type": "array", "minItems": 2, "maxItems": 5, "items": {"type": "string"}},
        "measures": {
            "type": "object",
            "propertyNames": {"enum": list(CATALOGUE)},
            "additionalProperties": {
                "type": "object",
                "required": ["label", "unit", "mean", "mean_low", "mean_high", "p10", "p50", "p90", "n"],
                "properties": {
                    "label": {"type": "string"},
                    "unit": {"type": "string"},
                    "mean": {"type": "number"},
                    "mean_low": NUMBER_OR_NONE,
                    "mean_high": NUMBER_OR_NONE,
                    "p10": {"type": "number"},
                    "p50": {"type": "number"},
                    "p90": {"type": "number"},
                    "n": {"type": "integer"},
                },
            },
        },
    },
}
Write = Callable[[Any], tuple[str, dict[str, Any]]]


class Reader(HTMLParser):
    """Collects tags with their attributes, and the text between them."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep the tag."""
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        """Keep the text."""
        self.text += data


def read(page: str) -> Reader:
    """The page, parsed."""
    reader = Reader()
    reader.feed(page)
    return reader


def rows(path: Path) -> list[dict[str, str]]:
    """A CSV file as read back."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_summary_keeps_its_contract(summary: dict[str, Any]) -> None:
    """Keys and types that scripts rely on."""
    jsonschema.validate(summary, CONTRACT)


def test_the_summary_written_is_the_summary_given(rehearsed: Any, origin: Provenance, tmp_path: Path) -> None:
    """What --json prints is what the file says."""
    given = write_rehearsal(rehearsed, tmp_path / "out", provenance=origin)

    assert json.loads((tmp_path / "out" / "summary.json").read_text(encoding="utf-8")) == given


def test_the_same_rehearsal_gives_the_same_bytes(
    rehearsed: Any, origin: Provenance, report_folder: Path, tmp_path: Path
) -> None:
    """Every file of the report, byte for byte; how long it took does not matter."""
    slower = dataclasses.replace(rehearsed, seconds=1234.5)
    write_rehearsal(slower, tmp_path / "again", provenance=origin)
    files = sorted(path.relative_to(report_folder) for path in report_folder.rglob("*") if path.is_file())

    assert [
        name for name in files if (report_folder / name).read_bytes() != (tmp_path / "again" / name).read_bytes()
    ] == []
    assert len(files) == 32  # each of the seven figures in two widths


def test_the_page_opens_with_the_answer(page: str, summary: dict[str, Any]) -> None:
    """Its sentences stand before the first section, in order, with the table and one picture, drawn in two widths."""
    first = page[: page.index("<section")]
    text = read(first).text
    assert first.count("<svg") == 2 and first.index("<table") < first.index("<svg")
    places = [text.index(part) for part in summary["answer"]]

    assert places == sorted(places)


def test_the_page_fetches_nothing(page: str) -> None:
    """No address but those inside the page; no script; nothing that a browser would load."""
    tags = read(page).tags
    fetched = [
        (tag, key, value)
        for tag, given in tags
        for key, value in given.items()
        if key in ("src", "href", "xlink:href", "srcset", "data", "action", "poster")
        and not (value or "").startswith("#")
    ]

    assert fetched == []
    assert re.findall(r"https?:|@import|url\((?!#)", page) == []
    assert {tag for tag, _ in tags} & {"script", "link", "iframe", "img", "object", "embed"} == set()


def test_hostile_names_are_shown_and_not_run(made_up: ModuleType, write: Write) -> None:
    """A room whose every name is markup: the page shows it as text."""
    evil = "<script>alert(1)</script>"
    room = made_up.tiny_room()
    room = room.model_copy(
        update={
            "about": evil,
            "room": room.room.model_copy(update={"name": evil, "note": '"><img src=x onerror=alert(1)>'}),
            "partners": tuple(partner.model_copy(update={"name": evil}) for partner in room.partners),
            "racks": tuple(rack.model_copy(update={"name": evil}) for rack in room.racks),
        }
    )
    page, _ = write(made_up.rehearsal(room, replications=2, days=91))
    tags = {tag for tag, _ in read(page).tags}

    assert "script" not in tags
    assert "img" not in tags
    assert evil in read(page).text


def test_cautions_stand_where_the_work_can_hurt(page: str) -> None:
    """Each caution is in the part of the page about that work."""
    parts = dict(re.findall(r'<section id="([^"]+)">(.*?)</section>', page, flags=re.DOTALL))

    assert "Electricity beside water" in parts["machines"]
    assert "acid into water" in parts["machines"]
    assert "Lifting" in parts["shelves"]
    assert "as cold as the food authority asks" in parts["output"]
    assert "licensed professional" in page[: page.index("<section")]


def test_the_page_is_told_in_one_system(page: str) -> None:
    """No lb on a page in kg, the drawings read too."""
    assert foreign(page) == []
    assert ", kg<" in page


def test_the_report_says_how_to_make_it_again(page: str, origin: Provenance) -> None:
    """Command, seed, version and room fingerprint."""
    text = read(page).text

    assert all(part in text for part in (origin.repeat_with, origin.room_sha256, origin.growsim, origin.python))


def test_weeks_csv_has_a_row_for_each_week_of_each_rehearsal(report_folder: Path, rehearsed: Any) -> None:
    """Tidy, and adding up to the measure."""
    found = rows(report_folder / "weeks.csv")
    first = [float(row["kg_packed"]) for row in found if row["replication"] == "0"]

    assert len(found) == 12 * 52
    assert found[0]["week_from"] == "2031-01-06"
    assert sum(first) / 52 == pytest.approx(rehearsed.outcomes[0].measures["kg_packed_per_week"], rel=1e-5)


def test_the_csv_tables_hold_what_the_outcomes_hold(report_folder: Path, rehearsed: Any) -> None:
    """Measures, fates, accounts and outages: one row each."""
    assert {row["measure"] for row in rows(report_folder / "measures.csv")} == set(rehearsed.estimates)
    assert len(rows(report_folder / "outages.csv")) == sum(len(o.counted_outages) for o in rehearsed.outcomes)
    assert len(rows(report_folder / "accounts.csv")) == sum(len(o.accounts) for o in rehearsed.outcomes)
    seeds = sum(int(row["plants"]) for row in rows(report_folder / "fates.csv"))
    assert seeds == sum(o.measures["seeds_sown"] for o in rehearsed.outcomes)


def test_an_existing_folder_is_not_overwritten(rehearsed: Any, origin: Provenance, tmp_path: Path) -> None:
    """Unless asked, and then only a report of ours."""
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("keep me", encoding="utf-8")

    with pytest.raises(OutputError, match="exists already"):
        write_rehearsal(rehearsed, tmp_path / "mine", provenance=origin)
    with pytest.raises(OutputError, match="not a report of ours"):
        write_rehearsal(rehearsed, tmp_path / "mine", provenance=origin, replace=True)
    assert [path.name for path in tmp_path.iterdir()] == ["mine"]


def test_one_rehearsal_is_reported_without_ranges_of_the_average(made_up: ModuleType, write: Write) -> None:
    """A single replication: the summary has null there, the page says why."""
    page, summary = write(made_up.rehearsal(replications=1, days=182))

    jsonschema.validate(summary, CONTRACT)
    assert summary["measures"]["kg_packed_per_week"]["mean_low"] is None
    assert "too few for ranges: ask for 5 or more" in page


def test_less_than_a_week_has_no_figures_by_the_week(made_up: ModuleType, write: Write) -> None:
    """Five days: nothing to draw, and the page says so."""
    page, summary = write(made_up.rehearsal(replications=3, days=5))

    jsonschema.validate(summary, CONTRACT)
    assert "No whole week was rehearsed" in page


def test_a_room_in_which_nothing_happens_can_be_reported(made_up: ModuleType, write: Write) -> None:
    """No partners, no crew, no sowings, no machines that fail, not a gram."""
    room = made_up.tiny_room()
    room = room.model_copy(
        update={"partners": (), "sowing": (), "crew": room.crew.model_copy(update={"shifts": ()}), "racks": ()}
    )
    page, summary = write(made_up.empty_rehearsal(room, replications=2, days=28))

    jsonschema.validate(summary, CONTRACT)
    assert summary["answer"][0].startswith("Nothing is packed")
    assert "No machine was down in any rehearsal." in page
    assert "No partner has a standing order" in page


def test_a_figure_that_is_not_a_number_is_never_written(rehearsed: Any, origin: Provenance, tmp_path: Path) -> None:
    """JSON has no infinity: a fault upstream stops the report instead of spoiling it, and leaves nothing behind."""
    spoiled = dict(rehearsed.estimates)
    spoiled["kwh_per_kg"] = dataclasses.replace(spoiled["kwh_per_kg"], mean=float("inf"))

    with pytest.raises(ValueError, match="JSON"):
        write_rehearsal(dataclasses.replace(rehearsed, estimates=spoiled), tmp_path / "out", provenance=origin)
    assert list(tmp_path.iterdir()) == []


def test_every_sentence_is_plain(report_folder: Path) -> None:
    """At most 25 words, no forbidden word, no jargon on the first page."""
    assert of_answer(report_folder) == []
