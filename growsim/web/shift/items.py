"""What a shift's form asks: who came, each task that is due, what was read and lost, pick-ups, what failed.

Which boxes an item has and what they hold at first follows from what the sheet of that day asks for.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import replace

from growsim.report.week import words as week_words
from growsim.report.words import of_the_room, short_date, upper_first
from growsim.scenario import on_paper
from growsim.scenario.ahead import sowing_days
from growsim.scenario.machines import is_there, names_at
from growsim.scenario.names import ANY_CROP
from growsim.scenario.record.record import FaultRow
from growsim.scenario.record.tables import LOST_TO
from growsim.scenario.scenario import Scenario
from growsim.study.standing import Batch
from growsim.study.week.tasks import Line
from growsim.units import unit
from growsim.vocabulary.losses import TRANSPLANTING
from growsim.vocabulary.machines import BY_KEY, CAN_FAIL, NAMED_PLACES, RESERVOIR
from growsim.vocabulary.tasks import TASKS
from growsim.web.forms.other_units import as_typed
from growsim.web.shift.done import changes_due, is_done
from growsim.web.shift.entries import LOST, OF_PLANTS, Box, Day, Item, as_count, fill_from, moment_down
from growsim.web.shift.store import Written

MOST_FAILED = 6
MOST_CHIPS = 12  # of those who came; above, a number is typed
MORE_THAN_SIGNED_UP = 3
NOT_MODELLED = ("pests or disease",)  # no rehearsal has them; they count as "other" in what is learned
ON_SHELVES = "on the shelves/"
_OF_PLANTING = re.compile(r"(.+) (\d{4}-\d{2}-\d{2})")
_WORDS = {"transplant": "Move", "harvest": "Harvest", LOST: "Lost of"}


def items_of(day: Day, stands: Mapping[tuple[str, str], Written]) -> list[Item]:
    """Everything the form asks, in the order of the shift. stands: what is written down already; it fills the boxes."""
    scenario = day.room.scenario
    items = [*_who_came(day), *_tasks(day)]
    items += _also_written(items, day, stands)
    items += [*_readings(items, day), _lost(items, day), _something_else(items, day)]
    items += [*_seedlings(day, scenario), *_pick_ups(day, scenario), *_failures(day, scenario)]
    fill_from(items, day, stands)
    for item in items:
        item.was_ticked = item.ticked
        for box in item.boxes:
            box.was = box.value
    new = [item for item in items if item.kind == "failed" and not item.is_written]
    return [item for item in items if item not in new[1:]]


def _also_written(items: Sequence[Item], day: Day, stands: Mapping[tuple[str, str], Written]) -> list[Item]:
    """What was written down of this shift and is not on its sheet."""
    known, found = {item.key for item in items}, dict[str, Item]()
    for (table, about), now in stands.items():
        key = about.removeprefix(f"{day.prefix} ")
        if key == about or key in known or table not in ("plantings", "work") or not now.cells:
            continue
        task = next((task for task in (*TASKS, LOST) if key.startswith(task)), None)
        if task is None or key in found:
            continue
        of = _OF_PLANTING.fullmatch(key.removeprefix(task).strip())
        item = task_item(task, of[1] if of else "", of[2] if of else "", day)
        if not of and key != task:
            item.key, item.says = key, f"{upper_first(task)}: {key.removeprefix(task).strip()}"
        count = now.cells.get("plants_harvested") or now.cells.get("cells") or now.cells.get("units", "")
        item.units = float(count) if count else item.units
        found[key] = item
    return list(found.values())


def task_item(task: str, crop: str, sown: str, day: Day) -> Item:
    """Work that no sheet asked for: a task on a planting, or plants that were lost."""
    batch = _batch(day, crop, sown, task)
    stages = _stages(day.room.scenario, crop)
    of = f" {crop}" + (f", sown {short_date(dt.date.fromisoformat(sown))}" if sown and task != "sow" else "")
    said = of if crop else ""
    item = Item(
        " ".join(part for part in (task, crop, sown) if part), "task", f"{upper_first(task)}{said}", [],
        tick=True, task=task, crop=crop, sown=sown,
        moves=min(stages.index(batch.stage), max(0, len(stages) - 2)) if batch is not None else 0,  # the rest of a move
        harvests=batch.harvests if batch is not None else 0, units=batch.plants if batch is not None else 0,
    )  # fmt: skip
    item.boxes = _boxes(task, "")
    return item


def _something_else(items: Sequence[Item], day: Day) -> Item:
    known = {item.key for item in items}
    choices = [("", "nothing")]
    for each in day.standing.batches:
        for task in OF_PLANTS if len(_stages(day.room.scenario, each.crop)) > 1 else ("harvest",):
            words = f"{_WORDS[task]} {each.crop}, sown {short_date(each.sown)}"
            choices.append((f"{task}|{each.crop}|{each.sown}", words))
    choices += [(f"sow|{crop.name}|{day.date}", f"Sow {crop.name}") for crop in day.room.scenario.crops]
    choices += [(f"{task}||", row.doing.capitalize()) for task, row in TASKS.items() if row.row != "sowing"
                and task not in ("sow", *OF_PLANTS)]  # fmt: skip
    boxes = [
        Box("what", "What", "choice", choices=_not_in(known, choices)),
        Box("count", "How many"),
        *(replace(box, more=False) for box in _boxes("harvest", "")[1:]),
    ]
    return Item("else", "else", "Something that is not on this list", boxes)


def _lost(items: Sequence[Item], day: Day) -> Item:
    """Plants of any crop that stands there, by record, count or plan."""
    stand = {(each.crop, each.sown) for each in day.standing.batches}
    if not day.standing.is_all:
        stand |= set(_sown_by_plan(day))
    choices = [("", "none"), *((f"{LOST}|{crop}|{sown}", f"{crop}, sown {short_date(sown)}")
                                       for crop, sown in sorted(stand))]  # fmt: skip
    boxes = [Box("what", "Which plants", "choice", choices=_not_in({item.key for item in items}, choices))]
    return Item("lost", "lost", "Other plants were lost", [*boxes, *_lost_boxes("")])


def _sown_by_plan(day: Day) -> Iterator[tuple[str, dt.date]]:
    """Crop and day of every sowing of the plan that is not too old to stand."""
    scenario = day.room.scenario
    crops, start = on_paper.crops_by_name(scenario), scenario.room.start_date
    today = (day.date - start).days
    for line in scenario.sowing:
        crop = crops[line.crop]
        lives = math.ceil(crop.typical_days + crop.overgrown_after_days + (crop.harvests - 1) * crop.regrowth_days)
        for sown in sowing_days(scenario, line, today - lives, today):
            yield line.crop, start + dt.timedelta(days=sown)


def _not_in(known: Set[str], choices: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    return [(value, words) for value, words in choices if " ".join(filter(None, value.split("|"))) not in known]


def _readings(items: Sequence[Item], day: Day) -> list[Item]:
    """Strength and pH of each reservoir that was filled."""
    names = names_at(day.room.scenario, RESERVOIR)
    filled = names if any(item.task == "top up" for item in items) else [
        name for name in names if f"change solution {name}" in {item.key for item in items}]  # fmt: skip
    boxes = (("strength_before_ms_cm", "mS/cm before"), ("strength_after_ms_cm", "mS/cm after"), ("ph", "pH"))
    return [Item(f"reading {name}", "reading", name, [Box(*box) for box in boxes], of=name) for name in filled]


def chosen(item: Item, day: Day) -> Item | None:
    """What was chosen under "something else", or the plants that were lost; None where nothing was."""
    if item.kind not in ("else", "lost"):
        return None
    task, _, rest = item.value("what").partition("|")
    crop, _, sown = rest.partition("|")
    if task not in (*TASKS, LOST) or (crop and crop not in on_paper.crops_by_name(day.room.scenario)):
        return None
    made = task_item(task, crop, sown, day)
    for box in made.boxes:
        if (sent := item.box(box.name)) is not None:
            box.value, box.kept = sent.value, sent.kept
    made.ticked, made.seen = True, item.seen
    return made


def _batch(day: Day, crop: str, sown: str, task: str = "") -> Batch | None:
    """Of a planting of which some were moved: those to be moved still, or else those that were."""
    stages = _stages(day.room.scenario, crop)
    own = [each for each in day.standing.batches if (each.crop, each.sown.isoformat()) == (crop, sown)]
    own.sort(key=lambda each: stages.index(each.stage), reverse=task != "transplant")
    return own[0] if own else None


def _stages(scenario: Scenario, crop: str) -> list[str]:
    known = on_paper.crops_by_name(scenario).get(crop)
    return [stage.name for stage in known.stages_in_order()] if known is not None else []


def _who_came(day: Day) -> list[Item]:
    if day.sheet is None:
        return []
    signed_up = day.sheet.signed_up
    most = signed_up + MORE_THAN_SIGNED_UP
    chips = [(str(n), str(n)) for n in range(most + 1)] if signed_up <= MOST_CHIPS else []
    says = "How many volunteers came" + (", not counting the lead?" if day.sheet.shift.lead else "?")
    return [Item("came", "came", says, [
        Box("came", "Came", "chips" if chips else "number", choices=chips),
        Box("signed_up", "Signed up", value=str(signed_up), more=True),
    ], units=signed_up)]  # fmt: skip


def _tasks(day: Day) -> list[Item]:
    if day.sheet is None:
        return []
    groups: dict[tuple[str, str, str], list[Line]] = {}
    labels = {f"{ON_SHELVES}{each.label}": each for each in day.standing.batches}
    for line in day.sheet.lines:
        if line.task == "pack":  # what was packed is weighed as it is harvested
            continue
        batch = labels.get(line.lot)
        known = replace(line, sown=batch.sown.isoformat()) if batch is not None else line
        sown = known.sown or (day.date.isoformat() if line.task == "sow" else "")
        of_crop = TASKS[line.task].is_on_a_crop and line.task != "wash"
        where = line.where if line.task == "change solution" else ""
        key = (line.task, line.crop, sown) if of_crop else (line.task, "", where)
        groups.setdefault(key, []).append(known)
    for name in changes_due(day):
        line = Line("change solution", where=name, count=1, unit=TASKS["change solution"].unit)
        groups.setdefault((line.task, "", name), [line])
    made = [(_task(key, lines, day), key[2], all(line.carried_on for line in lines)) for key, lines in groups.items()]
    return [item for item, where, carried_on in made if not is_done(item, day, where=where, carried_on=carried_on)]


def _task(key: tuple[str, str, str], lines: Sequence[Line], day: Day) -> Item:
    task, crop, sown = key
    scenario = day.room.scenario
    whole = replace(lines[0], count=math.fsum(line.count for line in lines), trays=sum(line.trays for line in lines),
                    grams=sum(line.grams for line in lines))  # fmt: skip
    batch, stages = _batch(day, crop, sown, task), _stages(scenario, crop)
    if batch is not None and task in OF_PLANTS:  # no more than stand there
        whole = replace(whole, count=min(whole.count, float(batch.plants)))
    moves = stages.index(batch.stage) if batch is not None else max(0, stages.index(whole.stage) - 1) if (
        task == "transplant" and whole.stage in stages) else 0  # fmt: skip
    says = week_words.what(whole, scenario)
    if task == "transplant" and not whole.stage:  # the sheet does not finish it, so it has no place for it
        says = says.partition(", into")[0]
    item = Item(
        " ".join(part for part in (task, crop, sown) if part), "task", says, [],
        tick=True, task=task, crop=crop, sown=sown if TASKS[task].is_on_a_crop else "", moves=moves,
        harvests=batch.harvests if batch is not None else 0, units=whole.count, grams=whole.grams,
    )  # fmt: skip
    item.boxes = _boxes(task, as_count(whole.count) if task != "pack" else "")
    return item


def _boxes(task: str, count: str) -> list[Box]:
    """The boxes of a task; what is rarely other than on the sheet is folded away."""
    if task == LOST:
        return _lost_boxes("")
    row = TASKS[task]
    boxes = [Box("count", f"How many {row.units}" if row.unit != "kg" else unit("kg"), value=count)]
    if task == "transplant":
        boxes = [Box("count", "How many plants were moved", value=count)]
    if task in OF_PLANTS:
        boxes += _lost_boxes(TRANSPLANTING.record_word if task == "transplant" else "")
    folded = [replace(box, more=True) for box in (
        *boxes, Box("minutes", "Minutes it took"), Box("people", "By how many people"))]  # fmt: skip
    if task != "harvest":
        return folded
    return [boxes[0], Box("kg", f"Weight in {unit('kg')}"), *folded[1:]]


def _lost_boxes(first: str) -> list[Box]:
    words = dict.fromkeys((first, *LOST_TO[:-1], *NOT_MODELLED, LOST_TO[-1]))
    return [Box("lost", "Plants lost"),
            Box("why", "Why lost", "chips", first, [(word, word or "not said") for word in words])]  # fmt: skip


def _seedlings(day: Day, scenario: Scenario) -> list[Item]:
    """Sowings that are up and of which nobody wrote down how many germinated."""
    found = []
    for each in day.standing.batches:
        if each.unsure and not each.harvests and each.stage == _stages(scenario, each.crop)[0]:
            says = f"{each.crop}, sown {short_date(each.sown)}: in how many cells did seed germinate?"
            box = Box("up", f"Cells (about {each.plants} expected)")
            found.append(Item(f"up {each.crop} {each.sown}", "up", says, [box], crop=each.crop, sown=str(each.sown)))
    return found


def _pick_ups(day: Day, scenario: Scenario) -> list[Item]:
    from growsim.vocabulary.days import WEEKDAYS

    found = []
    for partner in scenario.partners:
        if partner.weekday != WEEKDAYS[day.date.weekday()] or not partner.collects(day.date):
            continue
        for order in partner.ordered_in(day.date.month):
            if _is_handed_out(day, partner.name, order.crop):
                continue
            greens = "any greens" if order.crop == ANY_CROP else order.crop
            says = f"{partner.name} collects {as_typed(order.kg, 'kg')} {unit('kg')} of {greens}"
            box = Box("kg", f"Handed out, in {unit('kg')}", value=as_typed(order.kg, "kg"))
            found.append(Item(f"to {partner.name} {order.crop}", "delivery", says, [box], tick=True,
                              crop=order.crop, of=partner.name, units=order.kg))  # fmt: skip
    return found


def _is_handed_out(day: Day, partner: str, crop: str) -> bool:
    """Whether it is written down at another shift of the day."""
    rows = day.records.deliveries if day.records is not None else ()
    return any((row.date, row.partner, row.crop) == (day.date, partner, crop)
               and not row.entry.startswith(f"{day.prefix} ") for row in rows)  # fmt: skip


def _failures(day: Day, scenario: Scenario) -> list[Item]:
    """What is down, to be said to work again; and one that was found today."""
    found = []
    tomorrow = dt.datetime.combine(day.date, dt.time()) + dt.timedelta(days=1)
    for row in day.records.faults if day.records is not None else ():
        if row.repaired is None and row.down < tomorrow and not row.entry.startswith(f"{day.prefix} "):
            found.append(_still_down(row, day, scenario))
    places = [("", "nothing failed")]
    for kind in CAN_FAIL:
        if not is_there(scenario, kind):
            continue
        names = names_at(scenario, kind.place) if kind.place in NAMED_PLACES else [""]
        label = upper_first(of_the_room(kind.label, scenario))
        places += [(f"{kind.key}|{name}", f"{label}: {name}" if name else label) for name in names]
    began, ended, now = _moments(day)
    for number in range(1, MOST_FAILED + 1):
        says = f"Something{' else' if number > 1 else ''} failed"
        found.append(Item(f"failed {number}", "failed", says, [
            Box("what", "What failed", "choice", choices=places),
            Box("noticed", "When it was noticed", "time", quick=(began, ended, *now)),
            Box("down", "When it failed (empty: nobody knows)", "time", quick=(("not known", ""), began, *now)),
            Box("repaired", "When it worked again (empty: not yet)", "time", quick=(("not yet", ""), ended, *now)),
        ]))  # fmt: skip
    return found


def _moments(day: Day) -> tuple[tuple[str, str], tuple[str, str], list[tuple[str, str]]]:
    """Words and moment of the shift's beginning and end, and of now where it is today's."""
    shift = day.sheet.shift if day.sheet is not None else None
    begins, lasts = (shift.start_hour, shift.hours) if shift is not None else (9.0, 0.0)
    at = [dt.datetime.combine(day.date, dt.time()) + dt.timedelta(minutes=round(60 * hour))
          for hour in (begins, begins + lasts)]  # fmt: skip
    began, ended = (each.isoformat(timespec="minutes") for each in at)
    now = [("now", "now")] if day.date == dt.date.today() else []
    return ("shift began", began), ("shift ended", ended), now


def _still_down(row: FaultRow, day: Day, scenario: Scenario) -> Item:
    where = f", {row.where}" if row.where else ""
    down = moment_down(row)
    machine = of_the_room(BY_KEY[row.machine].label, scenario)
    says = f"{machine}{where}: down since {short_date(row.down.date())}; it works again"
    began, ended, now = _moments(day)
    item = Item(f"down {row.machine} {row.where} {down}", "repaired", upper_first(says),
                [Box("repaired", "Since when", "time", ended[1], quick=(began, ended, *now))], tick=True,
                machine=(row.machine, row.where, down))  # fmt: skip
    noticed = row.noticed.isoformat(" ", "minutes") if row.noticed is not None else ""
    item.boxes.append(Box("noticed", "", "hidden", noticed))
    return item
