"""What an answer says, read from its summary.json: sentences, then figures with their ranges; and of what room."""

from __future__ import annotations

import json
from contextlib import AbstractContextManager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from growsim import units
from growsim.errors import InputError
from growsim.ledger.catalogue import CATALOGUE
from growsim.report.cautions import ALWAYS, beside
from growsim.report.front import AnswerTable
from growsim.report.words import number
from growsim.scenario.load import ROOM_FILE, load_scenario
from growsim.scenario.scenario import Scenario
from growsim.units import shown_in
from growsim.vocabulary.questions import Question
from growsim.vocabulary.regions import BY_NAME as REGIONS
from growsim.web.folder import NotHereError
from growsim.web.forms.other_units import named
from growsim.web.runs import record
from growsim.web.runs.record import first_sentence

HEADLINES = (
    "kg_packed_per_week",
    "kg_handed_out_per_week",
    "kg_to_partners_per_week",
    "orders_filled_fraction",
    "weeks_all_orders_met_fraction",
    "plants_harvested_per_week",
    "crew_hours_worked_per_week",
    "tasks_on_time_fraction",
    "shelf_fill_fraction",
    "cost_per_kg",
    "kwh_per_kg",
    "liters_per_kg",
)


@dataclass(frozen=True)
class Figure:
    """One figure as a line of a table; texts, already rounded."""

    key: str
    label: str
    unit: str
    mean: str
    mean_range: str
    usual_range: str
    of: str


@dataclass(frozen=True)
class Summary:
    """An answer in words and figures. lead: its first sentence. sentences: (head, what else it says under it). table:
    the question's own, of an answer that has a page. measures_of: which room the figures are of, where there are two.
    """

    lead: str
    sentences: tuple[tuple[str, str], ...]
    headlines: tuple[Figure, ...]
    others: tuple[Figure, ...]
    repeat_with: str
    facts: tuple[tuple[str, str], ...]
    raw: dict[str, Any]
    table: AnswerTable | None = None
    measures_of: str = ""


def summary_of(run_folder: Path) -> Summary:
    """The summary of a finished answer. Raises NotHereError where it cannot be read."""
    try:
        raw = json.loads((run_folder / record.ANSWER / "summary.json").read_text(encoding="utf-8"))
        heads, sentences = list(raw.get("answer_heads", ())), [str(sentence) for sentence in raw["answer"]]
        heads += [""] * (len(sentences) - len(heads))
        lead, sentences[0] = first_sentence(sentences[0])
        currency = asked_room(run_folder).currency
        with asked_room(run_folder).told():
            figures = [_figure(key, one, currency) for key, one in raw.get("measures", {}).items()]
        return Summary(
            lead,
            tuple((str(head), sentence) for head, sentence in zip(heads, sentences, strict=False)),
            tuple(sorted((one for one in figures if one.key in HEADLINES), key=lambda one: HEADLINES.index(one.key))),
            tuple(one for one in figures if one.key not in HEADLINES),
            str(raw.get("repeat_with", "")),
            tuple(_facts(raw)),
            raw,
            AnswerTable.of_entry(raw["table"]) if "table" in raw else None,
            f" of {raw['measures_of']}" if raw.get("measures_of") else "",
        )
    except (OSError, ValueError, KeyError, IndexError, TypeError, AttributeError) as broken:
        raise NotHereError("This answer cannot be read any more; ask again.") from broken


def _figure(key: str, one: dict[str, Any], currency: str) -> Figure:
    p10, p90 = one.get("p10"), one.get("p90")
    mean, unit = one.get("mean", one.get("value")), str(one["unit"])
    return Figure(
        key,
        units.worded(str(one["label"])),
        "" if unit == "fraction" else named(units.unit(unit), currency),
        "–" if "not_seen" in one else _shown(key, unit, currency, mean),
        _known(key, unit, currency, one),
        _shown(key, unit, currency, p10, p90) if p10 is not None and p90 is not None else "",
        str(one.get("of", "")),
    )


def _known(key: str, unit: str, currency: str, one: dict[str, Any]) -> str:
    """How well the average is known; "" where nobody knows, as with one rehearsal."""
    low, high = one.get("mean_low"), one.get("mean_high")
    if low is not None and high is not None:
        return _shown(key, unit, currency, low, high)
    if "not_seen" in one:
        return str(one["not_seen"])
    return f"{_shown(key, unit, currency, low)} or more" if low is not None and "without" in one else ""


def _shown(key: str, unit: str, currency: str, *values: Any) -> str:
    """One value, or both ends of a range, in the room's unit: "28.1 to 43.0"."""
    measure = CATALOGUE.get(key.partition(":")[0])
    decimals = measure.decimals if measure is not None else 1
    if measure is not None and measure.unit == "fraction":
        return _one_piece(" to ".join(f"{number(100 * float(value), 1)} %" for value in values))
    decimals += units.as_shown(unit).more
    return _one_piece(" to ".join(number(units.amount(float(value), unit), decimals) for value in values))


def _one_piece(text: str) -> str:
    """The text with spaces that no line is broken at."""
    return text.replace(" ", "\N{NO-BREAK SPACE}")


def _facts(raw: dict[str, Any]) -> list[tuple[str, str]]:
    facts = []
    if "replication" in raw:
        facts.append(("rehearsed year", f"number {raw['replication']}"))
    elif "replications" in raw:
        facts.append(("rehearsed years", f"{raw['replications']:,}"))
    if "days" in raw:
        facts.append(("days counted of each", f"{raw['days']:,}"))
    if "seed" in raw:
        facts.append(("random seed", str(raw["seed"])))
    return facts


@dataclass(frozen=True)
class AskedRoom:
    """The room as it was when it was asked about. scenario: None where it cannot be read any more."""

    scenario: Scenario | None = None

    @property
    def crops(self) -> tuple[str, ...]:
        """In the order of the room file."""
        return tuple(crop.name for crop in self.scenario.crops) if self.scenario else ()

    @property
    def currency(self) -> str:
        """Of its prices."""
        return self.scenario.prices.currency if self.scenario else "money"

    @property
    def region(self) -> str:
        """Where it stands."""
        return self.scenario.room.region if self.scenario else "elsewhere"

    def told(self) -> AbstractContextManager[None]:
        """Within it, amounts are told in its units, as its answer was, whatever the room says today."""
        room = self.scenario.room if self.scenario else None
        return shown_in(room.units, month_first=REGIONS[room.region].month_first) if room else shown_in("metric")

    def cautions(self, question: Question) -> tuple[str, ...]:
        """What stands above the answer to a question: the general caution, then those of the work it is about."""
        if self.scenario is None or not question.dangers:
            return ()
        gas = self.scenario.co2.supply_kg_per_day > 0
        return (ALWAYS, *beside((each for each in question.dangers if gas or each != "carbon dioxide"), self.region))


def room_file_of(run_folder: Path) -> Path:
    """The copy of the room file a question was asked with. Raises NotHereError where it has gone."""
    found = sorted((run_folder / record.ASKED).glob(f"*/{ROOM_FILE}"))
    if not found or found[0].is_symlink() or found[0].parent.is_symlink():
        raise NotHereError("The room this was asked of cannot be found any more.")
    return found[0]


def asked_room(run_folder: Path) -> AskedRoom:
    """The room a question was asked of; an empty one where it cannot be read any more."""
    try:
        return _read(room_file_of(run_folder))
    except InputError:
        return AskedRoom()


@lru_cache(maxsize=64)
def _read(file: Path) -> AskedRoom:
    return AskedRoom(load_scenario(file).scenario)
