"""Numbers that can hardly be meant are asked about once, beside their box; what cannot be is refused in a sentence."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from growsim.report.words import counted, mass, number, percent
from growsim.scenario import on_paper
from growsim.scenario.record.rows import UNLIKELY_TIMES
from growsim.vocabulary.tasks import TASKS
from growsim.web.shift.entries import LOST, OF_PLANTS, Day, Item, in_kg

ASKED_TIMES = 2.0  # of what was expected, up or down; our choice: kilograms for pounds are 2.2
NOTHING = "none"  # what is kept of a number that is not given
PH_READ = (4.0, 9.0)  # meters read no other of a nutrient solution; common practice, no source


def weigh(items: Iterable[Item], day: Day) -> None:
    """Say beside each box what is wrong with its number, or ask."""
    for item in items:
        if item.kind == "came" and not item.value("came") and item.value("signed_up") not in ("", f"{item.units:g}"):
            item.boxes[0].wrong = "Tap how many came, too."
        if item.kind in ("else", "lost") and any(box.value for box in item.boxes if box.kind == "number"):
            item.boxes[0].wrong = "Choose what this number is of."
        if item.kind == "failed" and item.value("what") and not (item.value("noticed") or item.value("down")):
            item.boxes[1].wrong = "Say when it was noticed, as far as is known."
        if item.tick and not item.ticked:
            continue
        for name, says, is_sure in _doubts(item, day):
            box = item.box(name)
            if box is not None and is_sure:
                box.wrong = says
            elif box is not None and box.kept != (box.value or NOTHING):
                box.asks = says


def _doubts(item: Item, day: Day) -> Iterator[tuple[str, str, bool]]:
    """Box, sentence, and whether it cannot be."""
    if item.kind == "reading":
        yield from _reading(item, day)
    if item.kind == "delivery" and (kg := _kg(item)) is not None and kg >= ASKED_TIMES * item.units > 0:
        yield "kg", _beside(kg, item.units, "was ordered"), False
    if item.kind != "task":
        return
    count = _amount(item, "count")
    if count is not None and item.units and item.task in TASKS and count >= ASKED_TIMES * item.units:
        units = TASKS[item.task].units
        yield (
            "count",
            f"{number(count)} is {_times(count / item.units)} times the {number(item.units)} {units} of the sheet.",
            False,
        )
    if item.task in (*OF_PLANTS, LOST):
        yield from _plants(item, day, count)
    kg = _kg(item) if item.task == "harvest" else None
    if item.task == "harvest" and not item.value("kg") and item.box("kg") is not None and not item.is_written:
        yield "kg", "Nobody weighed it?", False
    expected = _expected_kg(item, day, count) if kg is not None else 0.0
    if kg is not None and expected and not expected / ASKED_TIMES < kg < expected * ASKED_TIMES:
        yield "kg", _beside(kg, expected, "was expected"), max(kg / expected, expected / max(kg, 1e-9)) > UNLIKELY_TIMES
    minutes = _amount(item, "minutes")
    if minutes is not None and day.sheet is not None and minutes > 60.0 * day.sheet.shift.hours:
        yield "minutes", "That is longer than the shift.", False


def _plants(item: Item, day: Day, count: float | None) -> Iterator[tuple[str, str, bool]]:
    """More plants than stand there, or most of them lost."""
    own = [each for each in day.standing.batches if (each.crop, str(each.sown)) == (item.crop, item.sown)]
    there = sum(each.plants for each in own) or item.units
    lost = _amount(item, "lost") or 0.0
    if not there:
        return
    is_sure = bool(own) and not any(each.unsure for each in own)
    if lost > there:
        stand = "stand there" if is_sure else "are expected there"
        yield "lost", f"{counted(lost, 'plant')} lost, and {number(there)} {stand}.", is_sure
    elif lost > there / ASKED_TIMES:
        yield "lost", f"{number(lost)} of {counted(there, 'plant')} lost.", False
    elif is_sure and item.task in OF_PLANTS and (count or 0.0) + lost > there:
        done = "harvested" if item.task == "harvest" else "moved"
        yield (
            "count",
            f"{number(count or 0.0)} {done} and {number(lost)} lost, and {number(there)} stand there.",
            True,
        )


def _reading(item: Item, day: Day) -> Iterator[tuple[str, str, bool]]:
    of = next(each for each in day.room.scenario.reservoirs if each.name == item.of)
    for name in ("strength_before_ms_cm", "strength_after_ms_cm"):
        read, most = _amount(item, name), of.highest_ec_ms_cm
        if read is not None and read > ASKED_TIMES * most:
            yield name, f"{read:g} mS/cm is far above {most:g}, where growth begins to suffer.", False
    ph = _amount(item, "ph")
    if ph is not None and not PH_READ[0] <= ph <= PH_READ[1]:
        yield "ph", f"A pH of {ph:g} is far from what plants grow in.", False


def _expected_kg(item: Item, day: Day, count: float | None) -> float:
    """What so many plants weigh by the sheet, or else by the room file."""
    plants = count if count is not None else item.units
    if item.grams and item.units:
        return item.grams / 1000.0 * plants / item.units
    return on_paper.crops_by_name(day.room.scenario)[item.crop].typical_mass_g.expected() / 1000.0 * plants


def _beside(kg: float, expected: float, what: str) -> str:
    """How an amount lies beside another."""
    times = kg / expected
    much = f"{_times(times)} times" if times > 1 else f"{percent(times)} of"
    return f"{mass(kg)} is {much} what {what}, {mass(expected)}.".replace(".0 ", " ")


def _times(times: float) -> str:
    return f"{float(f'{times:.2g}'):g}"


def _kg(item: Item) -> float | None:
    return _as_number(in_kg(item.value("kg")))


def _amount(item: Item, name: str) -> float | None:
    return _as_number(item.value(name))


def _as_number(text: str) -> float | None:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return None
