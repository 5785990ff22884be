"""A simulated year, written down on the page shift by shift as its people would: ticks, numbers and choices, no more.

What they have to say is read out of the log book (`said_in`); the page says what it asks (`asked_by`); a window of a
browser is filled in and sent (`write_down`).
"""

from __future__ import annotations

import datetime as dt
import html
import re
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from playwright.sync_api import Page

from growsim.ledger.book import Book
from growsim.ledger.events import (
    Germinated,
    HandedOut,
    Harvested,
    Lost,
    Noticed,
    Repaired,
    ShiftHeld,
    Sown,
    TaskDone,
    TaskDue,
    Transplanted,
    WentDown,
)
from growsim.scenario.scenario import Scenario
from tests.kept_records import WHY

_TAG = re.compile(r"<(input|select|option|/select)\b([^>]*)>")
_SET = re.compile(r'([\w-]+)(?:="([^"]*)")?')
MOST_SENT = 12  # times one shift's form is sent, for all that is not on its list
OF_PLANTS = ("sow", "transplant", "harvest")


@dataclass
class Said:
    """What there is to say of a shift. items: key of the form's item -> its boxes, for all that is ticked when done.
    up: the same for seedlings counted. failed: what failed, with its moments; mended: what works again."""

    date: dt.date
    shift: str
    signed_up: int
    came: int
    items: dict[str, dict[str, str]] = field(default_factory=dict)
    up: dict[str, str] = field(default_factory=dict)
    failed: list[dict[str, str]] = field(default_factory=list)
    mended: dict[str, str] = field(default_factory=dict)


def said_in(book: Book, scenario: Scenario) -> list[Said]:
    """What the people of each shift have to say, in order; what came about between two shifts is said at the next."""
    start = dt.datetime.combine(scenario.room.start_date, dt.time())

    def day(minute: int) -> dt.date:
        return (start + dt.timedelta(minutes=minute)).date()

    shifts = [Said(day(held.minute), held.shift, held.signed_up, held.came)
              for held in book.of(ShiftHeld) if held.minute >= 0]  # fmt: skip
    shifts.sort(key=lambda each: each.date)

    def at(minute: int) -> Said | None:
        return next((each for each in shifts if each.date >= day(minute)), None)

    planting = {one.lot: f"{one.crop} {day(one.minute)}" for one in book.of(Sown)}
    _work(book, planting, at)
    grams: Counter[tuple[int, str]] = Counter()
    for number, each in enumerate(shifts):
        for cut in book.of(Harvested):
            if day(cut.minute) == each.date and cut.lot in planting:
                boxes = each.items.setdefault(f"harvest {planting[cut.lot]}", {})
                boxes["count"] = str(int(boxes.get("count", 0)) + cut.plants)
                grams[number, planting[cut.lot]] += cut.grams
                boxes["kg"] = f"{grams[number, planting[cut.lot]] / 1000:.3f}"
        for move in book.of(Transplanted):
            if day(move.minute) == each.date and move.lot in planting:
                each.items.setdefault(f"transplant {planting[move.lot]}", {})
        given: Counter[str] = Counter()
        for out in book.of(HandedOut):
            if day(out.minute) == each.date and out.partner:
                given[f"to {out.partner} {out.crop}"] += out.grams
        each.items |= {key: {"kg": f"{total / 1000:.3f}"} for key, total in given.items()}
    _up(book, planting, at)
    _lost(book, planting, at)
    _failures(book, start, at)
    return shifts


def _work(book: Book, planting: dict[str, str], at: Callable[[int], Said | None]) -> None:
    """Jobs that were finished, with their minutes where the item is one job."""
    units: dict[tuple[str, str, int], list[float]] = defaultdict(list)
    for due in book.of(TaskDue):
        units[due.task, due.about, due.due_minute].append(due.units)
    jobs: dict[tuple[int, str], list[tuple[float, int]]] = defaultdict(list)
    for done in book.of(TaskDone):
        shift = at(done.minute) if done.minute >= 0 else None
        if not done.finished or done.task == "pack" or shift is None:
            continue
        of = planting.get(done.about.rpartition(" #")[0], "") if done.task in (*OF_PLANTS, "thin") else ""
        if not of and done.task in (*OF_PLANTS, "thin"):
            continue
        key = f"{done.task} {done.about if done.task == 'change solution' else of}".strip()
        shift.items.setdefault(key, {})
        jobs[id(shift), key].append((units[done.task, done.about, done.due_minute].pop(0), done.worked_minutes))
        boxes = shift.items[key]
        if done.task not in ("transplant", "harvest"):
            boxes["count"] = f"{sum(count for count, _ in jobs[id(shift), key]):g}"
        if len(jobs[id(shift), key]) == 1 and done.worked_minutes:
            boxes["minutes"] = str(done.worked_minutes)
        else:
            boxes.pop("minutes", None)


def _up(book: Book, planting: dict[str, str], at: Callable[[int], Said | None]) -> None:
    up: Counter[str] = Counter()
    for came in book.of(Germinated):
        if came.lot in planting:
            up[planting[came.lot]] += came.filled_cells
            shift = at(came.minute)
            if shift is not None:
                shift.up[f"up {planting[came.lot]}"] = str(up[planting[came.lot]])


def _lost(book: Book, planting: dict[str, str], at: Callable[[int], Said | None]) -> None:
    """Plants lost, with what happened to most of them: at the harvest or the move of that shift, else by themselves."""
    lost: dict[tuple[int, str], Counter[str]] = defaultdict(Counter)
    for one in book.of(Lost):
        shift = at(one.minute) if one.minute >= 0 else None
        if shift is None or one.cause not in WHY or one.lot not in planting or one.after_harvest:
            continue
        of = planting[one.lot]
        lost[id(shift), of][WHY[one.cause]] += one.plants
        key = next((f"{task} {of}" for task in ("harvest", "transplant") if f"{task} {of}" in shift.items),
                   f"lost {of}")  # fmt: skip
        causes = lost[id(shift), of]
        shift.items.setdefault(key, {}).update(lost=str(causes.total()), why=causes.most_common(1)[0][0])


def _failures(book: Book, start: dt.datetime, at: Callable[[int], Said | None]) -> None:
    down: dict[tuple[str, str], tuple[str, dict[str, str], Said]] = {}

    def moment(minute: int) -> str:
        return (start + dt.timedelta(minutes=minute)).isoformat("T", "minutes")

    began: dict[tuple[str, str], int] = {}
    for record in book.records:
        if isinstance(record, WentDown) and record.minute >= 0:
            began[record.machine, record.where] = record.minute
        elif isinstance(record, Noticed) and (record.machine, record.where) in began:
            which, shift = (record.machine, record.where), at(record.minute)
            if shift is not None:
                boxes = {"what": "|".join(which), "down": moment(began.pop(which)), "noticed": moment(record.minute)}
                shift.failed.append(boxes)
                down[which] = (boxes["down"].replace("T", " "), boxes, shift)
        elif isinstance(record, Repaired) and (record.machine, record.where) in down:
            since, boxes, shift = down.pop((record.machine, record.where))
            later = at(record.minute)
            if later is shift:
                boxes["repaired"] = moment(record.minute)
            elif later is not None:
                later.mended[f"down {record.machine} {record.where} {since}"] = moment(record.minute)


@dataclass(frozen=True)
class Asked:
    """What a form asks: names of its boxes; what they hold, ticks left out; choices by name."""

    names: frozenset[str]
    values: dict[str, str]
    choices: dict[str, tuple[str, ...]]


def asked_by(page: str) -> Asked:
    """Read out of the page."""
    names, values, choices, select = set(), {}, defaultdict(list), ""
    for tag, said in _TAG.findall(page[page.index('class="room-form shift"') :]):
        sets = {name: html.unescape(text) for name, text in _SET.findall(said)}
        name = sets.get("name", "")
        if tag == "select":
            select = name
            names.add(name)
            values[name] = ""
        elif tag == "option":
            choices[select].append(sets.get("value", ""))
            if "selected" in sets:
                values[select] = sets.get("value", "")
        elif tag == "input" and name:
            names.add(name)
            if sets.get("type") not in ("radio", "checkbox") or "checked" in sets:
                values[name] = sets.get("value", "")
    return Asked(frozenset(names), values, {name: tuple(all_) for name, all_ in choices.items()})


def answers_to(asked: Asked, said: Said, written: set[str]) -> dict[str, str]:
    """What is filled in of what there is to say, but for what `written` has already; adds to that what it fills in."""
    filled: dict[str, str] = {}

    def put(key: str, boxes: dict[str, str], prefix: str = "") -> None:
        written.add(key)
        filled.update({f"{prefix or key}|{name}": text for name, text in boxes.items()
                       if f"{prefix or key}|{name}" in asked.names})  # fmt: skip

    if "came" not in written:
        signed_up = {} if asked.values.get("came|signed_up") == str(said.signed_up) else {
            "signed_up": str(said.signed_up)
        }  # fmt: skip
        put("came", {"came": str(said.came), **signed_up})
    for key, boxes in said.items.items():
        if f"{key}|tick" in asked.names and key not in written:
            put(key, {"tick": "yes", **boxes})
    for key, since in said.mended.items():
        if f"{key}|tick" in asked.names and key not in written:
            put(key, {"tick": "yes", "repaired": since})
    for key, up in said.up.items():
        if f"{key}|up" in asked.names and key not in written:
            put(key, {"up": up})
    for number, boxes in enumerate(said.failed):
        place = next((name for name in sorted(asked.choices) if name.startswith("failed ")
                      and not asked.values.get(name)), "")  # fmt: skip
        if f"failed {number}" not in written and place:
            put(f"failed {number}", boxes, place.removesuffix("|what"))
            break
    for key, boxes in said.items.items():
        task = next((task for task in (*OF_PLANTS, "lost", "change solution") if key.startswith(f"{task} ")), key)
        crop, _, sown = key.removeprefix(f"{task} ").rpartition(" ") if task in (*OF_PLANTS, "lost") else ("", "", "")
        choice, item = f"{task}|{crop}|{sown}", "lost" if task == "lost" else "else"
        if key not in written and f"{key}|tick" not in asked.names and choice in asked.choices.get(f"{item}|what", ()):
            put(key, {"what": choice, **boxes}, item)
            break
    return filled


def write_down(shifts: Sequence[Said], window: Page, room: str) -> list[str]:
    """Write shifts down one after the other, sending each form as often as it takes; gives what it had no place for.

    Seedlings that a form does not ask for yet are counted at the next shift.
    """
    no_place: list[str] = []
    waiting: dict[str, str] = {}
    for said in shifts:
        said.up = waiting = {**waiting, **said.up}
        written: set[str] = set()
        for _ in range(MOST_SENT):
            window.goto(f"/rooms/{room}/shift?date={said.date}&shift={said.shift}")
            filled = answers_to(asked_by(window.content()), said, written)
            if not filled:
                break
            _send(window, filled)
        waiting = {key: up for key, up in waiting.items() if key not in written}
        whole = {*said.items, *said.mended, *(f"failed {number}" for number in range(len(said.failed)))}
        no_place += [f"{said.date} {key}" for key in sorted(whole - written)]
    return no_place


def _send(window: Page, filled: dict[str, str]) -> None:
    """Tick, type and choose as somebody does, and press the button."""
    for name, text in filled.items():
        box = window.locator(f'[name="{name}"]')
        kind = box.first.get_attribute("type") or ""
        if kind == "radio":
            window.locator(f'[name="{name}"][value="{text}"]').check()
            continue
        while not box.is_visible():
            window.locator("details:not([open])", has=box).first.locator("summary").first.click()
        if kind == "checkbox":
            box.check()
        elif name.endswith("|what"):
            box.select_option(text)
        else:
            box.fill(text)
    window.locator("form.shift .keep button").click()
    if (asked := window.locator('[name*="|keep|"]')).count():  # a bad week is written down as it was
        for each in asked.all():
            each.check()
        window.locator("form.shift .keep button").click()
    assert window.locator('p.good[role="status"]').count() == 1, (window.url, filled, _wrong(window.content()))


def _wrong(page: str) -> list[str]:
    return re.findall(r'class="field-wrong"[^>]*>([^<]*)', page)
