"""What only heats is called a heater, wherever an answer is read. Our own matter, without a publication."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from growsim.report.frame import Answer
from growsim.report.page import Command, Section, Text
from growsim.report.provenance import Provenance
from growsim.report.words import of_the_room
from growsim.scenario.load import load_scenario
from growsim.scenario.scenario import Scenario

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny").scenario
SAID = 'Heat pump first: the heat pump, "HEAT PUMP FAILED". Type `growsim outage ROOM --machine "heat pump"`.'
MEANT = 'Heater first: the heater, "HEATER FAILED". Type `growsim outage ROOM --machine "heat pump"`.'


def room(cooling_kw: float, heating_kw: float = 2.0) -> Scenario:
    """The tiny room with so much of both."""
    climate = TINY.climate.model_copy(update={"cooling_kw": cooling_kw, "heating_kw": heating_kw})
    return TINY.model_copy(update={"climate": climate})


@pytest.mark.parametrize(("cooling_kw", "heating_kw", "said"), [(0, 2, MEANT), (2, 2, SAID), (0, 0, SAID)])
def test_a_machine_is_called_by_its_kind(cooling_kw: float, heating_kw: float, said: str) -> None:
    """A command is typed with the machine's key, in a text and on a page."""
    assert of_the_room(SAID, room(cooling_kw, heating_kw)) == said
    page = '<p class="heat pump">heat pump</p><pre>heat pump</pre>'
    is_heater = said == MEANT
    assert (of_the_room(page, room(cooling_kw, heating_kw)) != page) is is_heater
    assert of_the_room(page, room(cooling_kw, heating_kw)).count("heat pump") == (2 if is_heater else 3)


def test_every_answer_is_told_so(tmp_path: Path) -> None:
    """Its page and its summary; the command that repeats it stays."""
    origin = Provenance("outage", 'growsim outage tiny --machine "heat pump"', "ab" * 32)
    answer = Answer(origin, room(0), 1, 2, 28, 0, said=(("", "The heat pump fails."),))
    sections = [Section("a", "Heat pump", (Text("The heat pump."), Command(origin.repeat_with)))]
    answer.write(
        tmp_path / "out", answer.summary({}), lambda _: answer.page("", sections), lambda _: None, replace=False
    )

    page = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    summary = json.loads((tmp_path / "out" / "summary.json").read_text(encoding="utf-8"))
    assert "The heater." in page and "The heat pump." not in page
    assert summary["answer"] == ["The heater fails."]
    assert "heat pump" in summary["repeat_with"] and "&#34;heat pump&#34;" in page
