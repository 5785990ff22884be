"""A new room in seven short steps: few fields, each marked until touched, and a room at the end that can be rehearsed.

What is asked in which order is the project's own matter; there is no publication to hold it against. That the room made
is one `check` and `rehearse` take is held against those commands.
"""

from __future__ import annotations

import datetime as dt
import re
import shutil
import tomllib
from collections.abc import Iterator
from html import unescape
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from page_visit import Visitor, forms_of, visit

from growsim.cli import main
from growsim.scenario.begin import begun_by_steps
from growsim.scenario.load import load_scenario
from growsim.scenario.origin import figures_of
from growsim.web.pages import environment
from growsim.web.walk.answers import edits_to, with_answers
from growsim.web.walk.reading import fits, place_of, read, whose
from growsim.web.walk.steps import MOST_FIELDS, STEPS, Field, Step

ROOT = Path(__file__).parents[2]
CASES = [(step, field) for step in STEPS for field in step.inputs() if field.row is None or field.row < 2]


@pytest.fixture
def visitor(tmp_path: Path) -> Iterator[Visitor]:
    """A visitor to a folder with a new room of the US in it, called Garage."""
    with visit(tmp_path) as coming:
        coming.post("/new", {"name": "Garage", "region": "US"})
        yield coming


def at(step: str) -> str:
    """The address of a step."""
    return f"/rooms/garage/steps/{step}"


def go(visitor: Visitor, step: str, do: str = "next", **changed: str | list[str]) -> Any:
    """Fill in a step and press a button; __ stands for a dash."""
    given = {name.replace("__", "-"): value for name, value in changed.items()}
    return visitor.post(at(step), [*visitor.form(at(step)).filled(given), ("do", do)])


def file_of(visitor: Visitor) -> Path:
    """The room file."""
    folder: Path = visitor.app.state.folder.path
    return folder / "garage" / "room.toml"


def written(visitor: Visitor) -> dict[str, Any]:
    """The room file's tables as they stand in it."""
    return tomllib.loads(file_of(visitor).read_text(encoding="utf-8"))


def words_of(page: str) -> str:
    """What a person reads on a page."""
    seen = re.sub(r"<(script|style|head)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", seen)).split())


def fill_in(visitor: Visitor) -> None:
    """A garage with four racks, two shifts of volunteers, and a school that wants 5 kg on Fridays."""
    go(visitor, "place", floor="20 x 15", weather="Seattle", heating="electric heater", air="68", right="yes")
    go(visitor, "racks", racks="4")
    go(visitor, "crops", crops=["butterhead lettuce", "basil"])
    go(visitor, "shifts", shifts__0__weekday="tue", shifts__0__start="18:30", shifts__1__weekday="fri",
       shifts__1__start="9")  # fmt: skip
    go(
        visitor, "promises", promises__0__who="Elm Street school", promises__0__crop="any", promises__0__kg="5 kg",
        promises__0__weekday="fri",
    )  # fmt: skip
    go(visitor, "closed", closed="Dec 24 to Jan 2\n4 July", electricity="$0.18", right="yes")


def test_there_are_seven_steps_with_few_fields(visitor: Visitor) -> None:
    """Counted on the pages themselves, with as many shifts and promises as they take; those in sight are 27."""
    asked: list[str] = []
    for step in STEPS:
        page = visitor.get(at(step.name)).text
        form = next((form for form in forms_of(page) if form.action == at(step.name)), None)
        fields = re.findall(r'<(?:input|select|textarea)\b[^>]*?\bname="([^"]+)"', page) if form else []
        asked += dict.fromkeys(n for n in fields if n not in ("fingerprint", "right") and not n.startswith("was:"))

    assert len(STEPS) == 7
    assert len(asked) == len(set(asked)) <= MOST_FIELDS == 36
    assert sum(1 for name in asked if not name.startswith(("shifts-2", "promises-1"))) == 27
    assert set(asked) == {field.name for step in STEPS for field in step.inputs()}


def test_a_garage_is_described_and_rehearsed(visitor: Visitor, capsys: pytest.CaptureFixture[str]) -> None:
    """The whole walk; then `check` finds nothing wrong, and `rehearse` gives an answer about that school."""
    fill_in(visitor)
    room = load_scenario(file_of(visitor))
    scenario = room.scenario

    assert scenario.room.floor_area_m2 == pytest.approx(300 * 0.3048**2, abs=0.001)
    assert scenario.climate.air_temperature_c == 20
    assert (scenario.room.outdoor_temperature_c[0], scenario.room.outdoor_temperature_c[6]) == (5.0, 20.0)
    assert (scenario.climate.heating_kw, scenario.climate.cooling_kw, scenario.climate.fans_w) == (2, 0, 40)
    assert [rack.name for rack in scenario.racks] == ["rack 1", "rack 2", "rack 3", "rack 4"]
    assert {line.crop for line in scenario.sowing} == {"butterhead", "basil"}
    assert {line.weekday for line in scenario.sowing} <= {"tue", "fri"}
    assert [(each.weekday, each.start_hour, each.people) for each in scenario.crew.shifts] == [
        ("tue", 18.5, 2),
        ("fri", 9, 3),
    ]
    assert scenario.harvest.weekdays == ("tue", "fri")
    assert [(each.name, each.weekday, each.orders[0].kg) for each in scenario.partners] == [
        ("Elm Street school", "fri", 5)
    ]
    assert len(scenario.room.closed_days) == 11
    assert {stage for shelf in scenario.racks[0].shelves for stage in shelf.stages} >= {"seedling", "herb"}

    home = file_of(visitor).parent
    assert main(["check", str(home)]) == 0
    told = capsys.readouterr().out
    assert "outside the rehearsal" not in told and not re.search(r"toml, (?:sowing|crops|harvest)", told)
    out = home / "first"
    few = ["--replications", "2", "--days", "56", "--workers", "1", "--out", str(out)]
    assert main(["rehearse", str(home), *few]) == 0
    assert (out / "report.html").is_file()
    assert "Elm Street school" in (out / "report.html").read_text(encoding="utf-8")


def test_what_was_told_is_yours_and_the_rest_is_marked(visitor: Visitor) -> None:
    """Marked until touched, or said to be right; the room's page counts, and says of no starter that it is complete."""
    first = words_of(visitor.get("/rooms/garage").text)
    assert "0 of 27 are yours" in first
    assert "complete" not in first

    place = visitor.get(at("place")).text
    assert place.count('<span class="mark">invented</span>') == 5
    go(visitor, "place", air="70")
    assert visitor.get(at("place")).text.count('<span class="mark">') == 4
    assert "1 of 27 are yours" in words_of(visitor.get("/rooms/garage").text)
    go(visitor, "place", right="yes")
    assert visitor.get(at("place")).text.count('<span class="mark">') == 0

    fill_in(visitor)
    room = load_scenario(file_of(visitor))
    told = figures_of(room.scenario, room.full, room.usual)
    whose_is = {figure.key: figure.whose for figure in told}
    assert whose_is["room.floor_area_m2"] == "yours"
    assert whose_is["room.people_at_once"] == "usual"
    assert whose_is["crops.basil.typical_mass_g"] == "usual"


def test_a_value_typed_again_as_it_was_is_yours(visitor: Visitor) -> None:
    """The page's script names what was typed in; the value stays to the last digit."""
    before = written(visitor)["room"]["floor_area_m2"]
    form = visitor.form(at("place"))
    sent = visitor.post(at("place"), [*form.fields, ("touched", "floor"), ("touched", "no field"), ("do", "next")])

    assert sent.status_code == 303
    assert written(visitor)["room"]["floor_area_m2"] == before
    assert visitor.get(at("place")).text.count('<span class="mark">') == 4
    assert "1 of 27 are yours" in words_of(visitor.get("/rooms/garage").text)


@pytest.mark.parametrize(("step", "field"), CASES, ids=[field.name for _, field in CASES])
def test_each_field_is_kept_and_no_other_changes(step: Step, field: Field) -> None:
    """One answer alone: the text reads back as it, as the planner's own; every other field says what it said."""
    text = begun_by_steps("Garage", "")
    before = tomllib.loads(text)
    if field.row is not None and place_of(step, field, before) is None:
        pytest.skip("no such row in the starter")
    value = another(field, read(step, field, before))
    tables = with_answers(step, before, {field.name: value})
    from growsim.scenario.toml.edit import edited

    after = tomllib.loads(edited(text, edits_to(before, tables)))

    assert read(step, field, after) == value
    assert whose(step, field, after) == "yours"
    free = ("promises-",) if field.name == "crops" else ()
    for other_step, other in ((s, f) for s in STEPS for f in s.inputs()):
        if other.name == field.name or other.name.startswith(free):
            continue
        assert read(other_step, other, after) == read(other_step, other, before), other.name


def another(field: Field, value: Any) -> Any:
    """Another value that a field may have."""
    if field.kind == "crops":
        return ["basil", "mint", "spinach"]
    if field.kind == "days":
        return ["2031-12-24 to 2032-01-01"]
    if field.kind == "yes or no":
        return not value
    if field.kind == "day":
        return value + dt.timedelta(days=1)
    if field.kind == "a crop":
        return "any"
    if field.choices:
        return next(choice for choice, _ in field.choices if choice and choice != value)
    return f"{value} too" if field.kind == "text" else value + 1


def test_pages_show_no_path_no_key_and_no_command(visitor: Visitor) -> None:
    """Labels and links only, on every step, on a faulty one too."""
    bad = go(visitor, "place", floor="0")
    assert bad.status_code == 422
    for page in (bad.text, *(visitor.get(at(step.name)).text for step in STEPS)):
        words = words_of(page)
        assert not re.findall(r"\b[a-z]+_[a-z_]+\b|\w+\.toml|\[\[?\w+\]|growsim (?:check|new|rehearse)", words)
        assert str(file_of(visitor).parent.parent) not in words


def test_a_text_that_names_a_command_names_its_question_on_the_page() -> None:
    """Sentences of all floors stand on the page with what the command asks in its place, escaped as they were."""
    page = environment().from_string("{{ one }}|{{ two | said }}")
    shown = page.render(one="Add <one>, or let `growsim sow` find it.", two="`growsim learn ROOM` works it out.")

    assert unescape(shown) == (
        "Add <one>, or let “What do I sow, and when, so that partners get what I promised” find it.|"
        "“What does my own record say about my room” works it out."
    )
    assert "&lt;one&gt;" in shown


def test_what_is_wrong_is_said_beside_its_field_and_nothing_typed_is_lost(visitor: Visitor) -> None:
    """Refused once, with what was typed; saved all the same when asked; the step is named from elsewhere."""
    before = file_of(visitor).read_bytes()
    answer = go(visitor, "place", air="2", floor="twenty")

    assert answer.status_code == 422
    assert file_of(visitor).read_bytes() == before
    form = next(form for form in forms_of(answer.text) if form.action == at("place"))
    assert dict(form.fields)["air"] == "2"
    assert dict(form.fields)["floor"] == "twenty"
    assert 'id="f-air-wrong"' in answer.text
    assert visitor.post(at("place"), [*form.fields, ("do", "anyway")]).status_code == 303
    elsewhere = visitor.get(at("racks")).text
    assert '<a href="/rooms/garage/steps/place">The place</a>' in elsewhere
    assert "Rehearse this room" not in visitor.get(at("answer")).text


@pytest.mark.parametrize(
    ("step", "field", "typed", "said"),
    [
        ("racks", "slots", "0", "Is 0, which is not possible; give a whole number from 1 to 1000 (slots)."),
        ("racks", "shelves", "many", "give a whole number from 0 to 1000"),
        ("shifts", "shifts-1-hours", "99", "Is 99, which is not possible"),
        ("promises", "promises-0-kg", "", "Fill this in."),
        ("place", "floor", "", "Fill this in."),
        ("closed", "closed", "some day", "no date of the calendar"),
    ],
)
def test_one_slip_is_told_once_beside_its_field(visitor: Visitor, step: str, field: str, typed: str, said: str) -> None:
    """Of two racks alike, and of what follows from the slip, nothing is told a second time."""
    answer = go(visitor, step, **{field.replace("-", "__"): typed})

    assert answer.status_code == 422
    page = unescape(answer.text)
    assert page.count(said) == 1
    assert page.count('class="wrong fault"') == 1
    assert f'id="f-{field}-wrong"' in page
    assert "To correct elsewhere" not in page


def test_closings_outside_the_rehearsed_year_are_noted_at_once(visitor: Visitor) -> None:
    """Saved, told with the dates the year has, and told again before the first answer; inside it nothing is said."""
    start = written(visitor)["room"]["start_date"]
    outside, inside = dt.date(start.year - 3, 4, 7), start + dt.timedelta(days=40)
    saved = go(visitor, "closed", closed=f"{inside}\n{outside}")
    page = unescape(visitor.get(saved.headers["location"]).text)

    assert saved.headers["location"] == f"{at('closed')}?saved=noted#noted"
    last = start + dt.timedelta(days=363)
    said = f"April 7, {outside.year}: outside the rehearsal ({long_day(start)} to {long_day(last)}), so without effect"
    assert page.count(said) == 1 and 'id="f-closed-note"' in page
    assert said in unescape(visitor.get(at("answer")).text)
    assert go(visitor, "closed", closed=f"{inside}").headers["location"] == at("answer")
    assert "outside the rehearsal" not in visitor.get(at("answer")).text


def test_what_is_sown_follows_from_what_is_promised(visitor: Visitor) -> None:
    """Pencil: a butterhead of 142 g, 9 of 10 cells with a seedling, 1 to 2 of 100 lost, a tenth to spare. A plan of the
    planner's own stays as it is."""
    go(visitor, "place", air="70")
    go(visitor, "promises", promises__0__who="School", promises__0__crop="butterhead", promises__0__kg="5 kg")
    words = r"11\.0 lb of butterhead is about (\d+) plants of ([\d.]+) oz: sow about (\d+) cells a week"
    said = re.search(words, words_of(visitor.get(at("promises")).text))
    assert said is not None
    plants, ounces, cells = (float(each) for each in said.groups())
    assert plants == pytest.approx(5 / 0.0283495 / ounces, abs=0.7) and 1.1 < cells / plants < 1.4
    assert sown(visitor)["butterhead"] == cells
    page = words_of(visitor.get(at("promises")).text)
    assert re.search(rf"butterhead \w+day {cells:.0f} cells", page)
    assert "A tray is 21 × 11 in: 6 side by side are 64 in of shelf." in words_of(visitor.get(at("racks")).text)
    assert "sowing" not in written(visitor)

    visitor.save("/rooms/garage/form/sowing/0", sowing__0__cells="31")
    go(visitor, "promises", promises__0__kg="6 kg")
    assert sown(visitor)["butterhead"] == 31
    assert [line["cells"] for line in written(visitor)["sowing"]] == [31]


def sown(visitor: Visitor) -> dict[str, int]:
    """Cells of each crop a sowing."""
    return {line.crop: line.cells for line in load_scenario(file_of(visitor)).scenario.sowing}


def test_no_step_scolds_about_what_a_later_one_asks(visitor: Visitor) -> None:
    """Crops and racks chosen, shifts not yet: nothing to correct and nothing noted until the last step."""
    go(visitor, "crops", crops=["pea shoots", "mint"])
    go(visitor, "racks", racks="1", shelves="2")
    for step in STEPS[:-1]:
        page = visitor.get(at(step.name)).text
        assert "To correct elsewhere" not in page and 'class="warn"' not in page, step.name


def long_day(date: dt.date) -> str:
    """As the US writes it."""
    return f"{date:%B} {date.day}, {date.year}"


@pytest.mark.parametrize(
    ("region", "units", "currency", "price", "city", "holidays"),
    [
        ("Norway", "metric", "NOK", 1.5, "Oslo", {(5, 17), (12, 25)}),
        ("UK", "metric", "GBP", 0.27, "London", {(12, 25), (12, 26)}),
        ("US", "us", "USD", 0.17, "New York", {(7, 4), (12, 25)}),
    ],
)
def test_the_region_brings_units_money_weather_and_holidays(
    region: str, units: str, currency: str, price: float, city: str, holidays: set[tuple[int, int]]
) -> None:
    """All at once (figures from memory)."""
    room = tomllib.loads(begun_by_steps("Garage", region))

    assert (room["room"]["units"], room["room"]["weather"]) == (units, city)
    assert (room["prices"]["currency"], room["prices"]["electricity_per_kwh"]) == (currency, price)
    assert {(day.month, day.day) for day in room["room"]["closed_days"]} == holidays


def test_money_typed_in_another_currency_is_kept(visitor: Visitor) -> None:
    """With the amount."""
    go(visitor, "closed", electricity="0.18 CHF")
    prices = written(visitor)["prices"]

    assert (prices["currency"], prices["electricity_per_kwh"]) == ("CHF", 0.18)


@pytest.mark.parametrize(
    ("languages", "region"),
    [("en-GB,en;q=0.9", "UK"), ("nb-NO", "Norway"), ("de", "EU"), ("en-US,en;q=0.5", "US"), ("fr-CA,fr", "Canada"),
     ("ja", "elsewhere"), ("", "elsewhere")],
)  # fmt: skip
def test_the_region_of_the_browser_stands_first(tmp_path: Path, languages: str, region: str) -> None:
    """Language tags: BCP 47; the header: RFC 9110, 12.5.4."""
    with visit(tmp_path) as visitor:
        page = visitor.ask("GET", "/", headers={"Accept-Language": languages})

    assert f"<option selected>{region}</option>" in page.text


def test_two_windows(visitor: Visitor) -> None:
    """Who comes second sees both versions; what this window did not touch stays as the other has it."""
    form = visitor.form(at("place"))
    go(visitor, "place", air="70", floor="200")
    answer = visitor.post(at("place"), [*form.filled({"air": "72"}), ("do", "next")])

    assert answer.status_code == 409
    assert "Not saved" in answer.text
    again = next(form for form in forms_of(answer.text) if form.action == at("place"))
    assert (dict(again.fields)["air"], dict(again.fields)["floor"]) == ("72", "200")
    assert visitor.post(at("place"), [*again.fields, ("do", "next")]).status_code == 303
    room = written(visitor)
    assert (room["climate"]["air_temperature_c"], room["room"]["floor_area_m2"]) == (22.22, 18.58)


def test_nothing_changed_changes_no_byte_and_the_buttons_lead_on(visitor: Visitor) -> None:
    """Next and Back through all of it."""
    before = file_of(visitor).read_bytes()
    for here, following in pairwise(STEPS):
        assert go(visitor, here.name).headers["location"] == at(following.name)
        if following is not STEPS[-1]:
            assert go(visitor, following.name, "back").headers["location"] == at(here.name)
    assert go(visitor, "place", "back").headers["location"] == "/rooms/garage"
    assert file_of(visitor).read_bytes() == before

    go(visitor, "racks", "back", racks="3")  # back saves too
    assert written(visitor)["racks"][0]["count"] == 3


def test_each_step_draws_what_it_asks_about(visitor: Visitor) -> None:
    """Floor, racks on it, trays on them, the week with shifts and pick-ups; drawn anew while one types."""
    kinds = ("floor", "stand", "s-tray", "shift", "hand-over")
    drawn = {step.name: [visitor.get(at(step.name)).text.count(f'class="{kind}') for kind in kinds] for step in STEPS}
    assert drawn["place"] == [1, 0, 0, 0, 0]
    assert drawn["racks"] == [1, 2, 0, 0, 0]  # on the floor; those alike are drawn once below
    assert "2 × rack 1 to rack 2" in words_of(visitor.get(at("racks")).text)
    assert drawn["crops"][2] > 20 and drawn["crops"][:2] == drawn["crops"][3:] == [0, 0]
    assert drawn["shifts"] == [0, 0, 0, 2, 0]
    assert drawn["promises"] == drawn["closed"] == [0, 0, 0, 2, 1]
    assert drawn["answer"] == [0] * 5

    preview = go(visitor, "racks", "preview", racks="5")
    assert preview.text.count('class="stand"') == 5
    assert written(visitor)["racks"][0]["count"] == 2


def test_a_floor_told_by_its_sides_is_drawn_by_them(visitor: Visitor) -> None:
    """Twice as long as deep; the box shows again what was typed; the area is their product (ft: 0.3048 m, by
    definition)."""
    preview = go(visitor, "place", "preview", floor="20 x 10")
    go(visitor, "place", floor="20 x 10")

    assert written(visitor)["room"]["floor_area_m2"] == "20 x 10 ft"
    assert load_scenario(file_of(visitor)).scenario.room.floor_area_m2 == pytest.approx(200 * 0.3048**2, abs=1e-3)
    form = visitor.form(at("place"))
    assert dict(form.fields)["floor"] == "20 x 10 ft"
    for page in (preview.text, visitor.get(at("place")).text, visitor.get(at("racks")).text):
        found = re.search(r'class="floor"[^>]*width="([\d.]+)" height="([\d.]+)"', page)
        assert found is not None
        assert float(found[1]) == pytest.approx(2 * float(found[2]), abs=0.2)
    place = visitor.get(at("place")).text
    assert "The floor, 20 ft by 10 ft" in words_of(place)
    assert '<span class="unit">sq ft' not in place  # the sides have theirs
    assert "Friday 15:00" in words_of(go(visitor, "promises", "preview", promises__0__weekday="fri").text)


def test_words_of_the_trade_are_explained_where_they_first_stand(visitor: Visitor) -> None:
    """The first step that says the word says what it is."""
    explained = {"slot": "A slot is a place for one tray", "stage": "A crop goes through stages",
                 "cell": "A cell is one hole of a tray"}  # fmt: skip
    pages = [words_of(visitor.get(at(step.name)).text) for step in STEPS]
    for word, said in explained.items():
        first = next(page for page in pages if re.search(rf"\b{word}s?\b", page))
        assert said in first, word


def test_too_many_crops_are_refused_in_a_sentence(visitor: Visitor) -> None:
    """Five, or none."""
    for crops in (["basil", "mint", "chard", "spinach", "pak choi"], []):
        answer = go(visitor, "crops", crops=crops)
        assert answer.status_code == 422
        assert f"{len(crops)} crops are ticked; tick one to 4" in answer.text


def test_a_room_that_says_more_is_left_to_its_full_forms(tmp_path: Path) -> None:
    """The demo room: its steps say so and change nothing; its page says whose its figures are."""
    shutil.copytree(ROOT / "scenarios" / "millrace", tmp_path / "millrace")
    before = (tmp_path / "millrace" / "room.toml").read_bytes()
    tables = tomllib.loads(before.decode())
    with visit(tmp_path) as visitor:
        for step in STEPS:
            page = visitor.get(f"/rooms/millrace/steps/{step.name}")
            assert page.status_code == 200
            assert ("more of this than fits here" in page.text) is not fits(step, tables)
        assert not fits(STEPS[1], tables)
        sent = visitor.post("/rooms/millrace/steps/racks", {"was:racks": "1", "racks": "2"})
        assert sent.status_code == 400
        assert "Of the figures that a first answer asks for" in visitor.get("/rooms/millrace").text
        assert visitor.get("/rooms/millrace/steps/roof").status_code == 404
    assert (tmp_path / "millrace" / "room.toml").read_bytes() == before


def test_a_new_year_begins_on_the_monday_to_come() -> None:
    """Closings as people know them, this December's and next summer's, fall into the year that is rehearsed."""
    begun = tomllib.loads(begun_by_steps("Garage", "US", dt.date(2026, 11, 30)))["room"]
    later = tomllib.loads(begun_by_steps("Garage", "US", dt.date(2026, 12, 29)))["room"]

    assert (begun["start_date"], begun["closed_days"]) == (
        dt.date(2026, 11, 30), [dt.date(2026, 12, 25), dt.date(2027, 7, 4)],
    )  # fmt: skip
    assert (later["start_date"], later["closed_days"]) == (
        dt.date(2027, 1, 4), [dt.date(2027, 7, 4), dt.date(2027, 12, 25)],
    )  # fmt: skip
