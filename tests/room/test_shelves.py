"""Slots on shelves: a stateful test against a plain list of who holds what, and single cases by hand."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from growsim.ledger.book import Book
from growsim.room.clock import Clock
from growsim.room.shelves import Bay, ShelfBook
from growsim.scenario.bays import Bays
from growsim.scenario.place import Rack, Tray

STAGES = ("seedling", "leaf", "head")
TRAY = Tray(name="tray", places=10, length_cm=50, width_cm=40, plug_volume_ml=30)
LARGE = Tray(name="large", places=10, length_cm=90, width_cm=40, plug_volume_ml=30)
TRAYS = {tray.name: tray for tray in (TRAY, LARGE)}


def bays_of(*racks: Rack, lamps: dict[str, float] | None = None) -> Bays:
    """Bays of racks where every stage stands in trays that fit; lights by name (100 where not said)."""
    light = {rack.lights: 100.0 for rack in racks} | (lamps or {})
    return Bays(racks, light, [(stage, TRAY) for stage in STAGES])


def rack(name: str, *shelves: tuple[int, tuple[str, ...]], long_cm: float = 50) -> Rack:
    """A rack of single shelves: (slots, stages)."""
    return Rack.model_validate(
        {
            "name": name,
            "reservoir": "reservoir",
            "lights": f"over {name}",
            "shelves": [
                {
                    "name": f"shelf {number}",
                    "count": 1,
                    "slots": slots,
                    "slot_length_cm": long_cm,
                    "slot_width_cm": 40,
                    "stages": stages,
                }
                for number, (slots, stages) in enumerate(shelves)
            ],
        }
    )


RACKS = (
    rack("one", (3, ("seedling", "leaf"))),
    rack("two", (4, ("leaf", "head")), (2, ("head",))),
)


class ShelvesAgainstAList(RuleBasedStateMachine):
    """Ask, wait, expire and give back at random; a list of requests and a count of slots say what must be."""

    def __init__(self) -> None:
        super().__init__()
        self.clock, self.book = Clock(0), Book(0)
        self.shelves = ShelfBook(bays_of(*RACKS), TRAYS, self.clock, self.book)
        self.free = {0: 3, 1: 4, 2: 2}
        self.waiting: list[dict[str, Any]] = []
        self.held: list[tuple[Bay, str, int]] = []
        self.grants: list[tuple[int, list[tuple[Bay, int]]]] = []
        self.expected: list[tuple[int, list[tuple[int, int]]]] = []
        self.asked = 0

    def may_hold(self, stage: str) -> list[int]:
        """Bays that permit the stage, by hand. Leaf: one of 6 slots for heads rather than one of 3 for seedlings;
        heads: where leaf may not stand, then one of its 7 slots."""
        return {"seedling": [0], "leaf": [1, 0], "head": [2, 1]}[stage]

    def model_find(self, stage: str, trays: int) -> list[tuple[int, int]]:
        """One bay that takes them all, else what there is, bay by bay."""
        for place in self.may_hold(stage):
            if self.free[place] >= trays:
                return [(place, trays)]
        found = []
        for place in self.may_hold(stage):
            taken = min(self.free[place], trays)
            if taken:
                found.append((place, taken))
                trays -= taken
        return found

    def model_hold(self, request: dict[str, Any], found: list[tuple[int, int]]) -> None:
        """These slots are theirs now."""
        for place, taken in found:
            self.free[place] -= taken
        self.expected.append((request["number"], found))

    def model_serve(self) -> None:
        """Longest waiting first, of equals plants before seed; what gets nothing holds up only its own stage."""
        stuck: set[str] = set()
        while True:
            ready = [request for request in self.waiting if request["stage"] not in stuck]
            heads = {stage: next((r for r in ready if r["stage"] == stage), None) for stage in STAGES}
            candidates = [request for request in heads.values() if request]
            if not candidates:
                return
            first = min(candidates, key=lambda request: (request["minute"], request["seed"], request["stage"]))
            found = self.model_find(first["stage"], first["trays"])
            if found:
                self.waiting.remove(first)
                self.model_hold(first, found)
            else:
                stuck.add(first["stage"])

    @rule(stage=st.sampled_from(STAGES), trays=st.integers(1, 8), patience=st.integers(0, 20), seed=st.booleans())
    def ask(self, stage: str, trays: int, patience: int, *, seed: bool) -> None:
        """Somebody asks."""
        number = self.asked = self.asked + 1
        now = self.clock.now
        request = {
            "number": number, "stage": stage, "trays": trays, "minute": now, "deadline": now + patience, "seed": seed,
        }  # fmt: skip
        if not any(other["stage"] == stage for other in self.waiting) and (found := self.model_find(stage, trays)):
            self.model_hold(request, found)
        else:
            self.waiting.append(request)

        def granted(grant: list[tuple[Bay, int]]) -> None:
            self.grants.append((number, grant))
            self.held += [(bay, stage, taken) for bay, taken in grant]

        self.shelves.ask(stage, "tray", trays, now + patience, granted, is_sowing=seed)

    @rule(which=st.integers(0, 100), share=st.floats(0.2, 1.0))
    def give_back(self, which: int, share: float) -> None:
        """Somebody gives some of their slots back."""
        if not self.held:
            return
        bay, stage, taken = self.held.pop(which % len(self.held))
        back = max(1, int(taken * share))
        if back < taken:
            self.held.append((bay, stage, taken - back))
        self.free[self.shelves.bays.index(bay)] += back
        self.model_serve()
        self.shelves.give_back(bay, stage, back)

    @rule(minutes=st.integers(1, 12))
    def wait(self, minutes: int) -> None:
        """Time passes; who waited in vain until their deadline gets nothing."""
        until = self.clock.now + minutes
        expired = sorted(
            (request for request in self.waiting if request["deadline"] < until),
            key=lambda request: (request["deadline"], request["number"]),
        )
        for request in expired:
            self.waiting.remove(request)
            self.expected.append((request["number"], []))
        self.clock.run(until)

    @invariant()
    def as_the_list_says(self) -> None:
        """Same grants to the same people in the same order; nothing over-full; levels tell it."""
        places = {id(bay): place for place, bay in enumerate(self.shelves.bays)}
        assert [(n, [(places[id(bay)], taken) for bay, taken in grant]) for n, grant in self.grants] == self.expected
        assert [bay.free for bay in self.shelves.bays] == list(self.free.values())
        assert all(0 <= bay.free <= bay.total for bay in self.shelves.bays)
        used: Counter[tuple[str, ...]] = Counter()
        for bay, stage, taken in self.held:
            used["slots", bay.rack, stage] += taken
        for request in self.waiting:
            used["waiting", request["stage"]] += request["trays"]
        levels = {key: level.value for key, level in self.book.levels.items() if level.value}
        assert levels == dict(used)


ShelvesAgainstAList.TestCase.settings = settings(
    derandomize=True, deadline=None, max_examples=60, stateful_step_count=25
)
TestShelvesAgainstAList = ShelvesAgainstAList.TestCase


def book_of(*racks: Rack) -> tuple[ShelfBook, Clock, list[list[tuple[str, int]]]]:
    """A shelf book, its clock, and a list that grants go to."""
    clock = Clock(0)
    return ShelfBook(bays_of(*racks), TRAYS, clock, Book(0)), clock, []


def to(log: list[list[tuple[str, int]]]) -> Any:
    """Write grants to the list."""
    return lambda grant: log.append([(bay.rack, trays) for bay, trays in grant])


def test_one_rack_that_takes_all_is_better_than_two_in_part() -> None:
    """Five trays go to the second rack, which takes them all, though the first has room for three."""
    shelves, _, log = book_of(rack("small", (3, ("leaf",))), rack("large", (6, ("leaf",))))
    shelves.ask("leaf", "tray", 5, 0, to(log))
    shelves.ask("leaf", "tray", 4, 0, to(log))

    assert log == [[("large", 5)], [("small", 3), ("large", 1)]]


def test_the_emptiest_rack_comes_first_then_the_brighter_lamp_then_the_name() -> None:
    """Shelves that do as little harm: of the third, larger rack a smaller share is taken by one tray, so it is next."""
    racks = rack("b", (4, ("leaf",))), rack("a", (4, ("leaf",))), rack("c", (8, ("leaf",)))
    log: list[list[tuple[str, int]]] = []
    shelves = ShelfBook(bays_of(*racks, lamps={"over c": 120.0}), TRAYS, Clock(0), Book(0))
    for _ in range(5):
        shelves.ask("leaf", "tray", 1, 0, to(log))

    assert [where for [(where, _)] in log] == ["c", "a", "b", "c", "c"]  # free shares: 8/8; 4/4; 4/4; 7/8; 6/8 = 3/4


def test_harm_comes_before_emptiness() -> None:
    """One slot of 8 for heads is a smaller share than one of 4 for seedlings, however full the rack is."""
    shelves, _, log = book_of(
        rack("one", (4, ("seedling", "leaf"))), rack("two", (8, ("leaf", "head"))), rack("three", (1, ("leaf",)))
    )
    for trays in (1, 7, 1, 1):
        shelves.ask("leaf", "tray", trays, 0, to(log))

    assert log == [[("three", 1)], [("two", 7)], [("two", 1)], [("one", 1)]]


@pytest.mark.parametrize("sown", ["leaf", "head"])
def test_of_equal_waits_plants_go_before_seed_whatever_the_stages_are_called(sown: str) -> None:
    """One slot comes free; seed and plants asked for it at the same minute, the seed first."""
    shelves, _, log = book_of(rack("only", (1, ("leaf", "head"))))
    other = {"leaf": "head", "head": "leaf"}[sown]
    shelves.ask(sown, "tray", 1, 9, to(log))
    for name, is_sowing in ((sown, True), (other, False)):
        shelves.ask(name, "tray", 1, 9, lambda grant, name=name: log.append([(name, 1)]), is_sowing=is_sowing)
    shelves.give_back(shelves.bays[0], sown, 1)

    assert log[1:] == [[(other, 1)]]


def test_a_spare_rack_is_used_when_no_other_has_room() -> None:
    """However empty it is."""
    full = rack("usual", (2, ("leaf",)))
    shelves, _, log = book_of(rack("at hand", (9, ("leaf",))).model_copy(update={"spare": True}), full)
    for _ in range(3):
        shelves.ask("leaf", "tray", 1, 0, to(log))

    assert log == [[("usual", 1)], [("usual", 1)], [("at hand", 1)]]


def test_a_tray_must_fit_the_slot() -> None:
    """A long tray goes only where slots are long, turned round if need be; where none is, it waits in vain."""
    shelves, clock, log = book_of(rack("short", (3, ("leaf",))), rack("long", (3, ("leaf",)), long_cm=95))
    shelves.ask("leaf", "large", 2, 10, to(log))
    shelves.ask("leaf", "large", 2, 10, to(log))
    shelves.ask("leaf", "large", 2, 10, to(log))
    clock.run(20)

    assert log == [[("long", 2)], [("long", 1)], []]


def test_who_got_part_keeps_their_place() -> None:
    """Asked first, got two of four, asks again for two: served before one who came in between."""
    shelves, clock, log = book_of(rack("one", (2, ("leaf",))))
    bay = shelves.bays[0]
    shelves.ask("leaf", "tray", 4, 99, to(log))
    clock.at(5, 1, lambda _: shelves.ask("leaf", "tray", 1, 99, to(log)))  # type: ignore[arg-type]
    clock.at(6, 1, lambda _: shelves.ask("leaf", "tray", 2, 99, lambda _: log.append([("first", 2)]), since=0))  # type: ignore[arg-type]
    clock.at(7, 1, lambda _: shelves.give_back(bay, "leaf", 2))  # type: ignore[arg-type]
    clock.run(8)

    assert log == [[("one", 2)], [("first", 2)]]


def test_slots_never_held_cannot_be_given_back() -> None:
    """More back than there are slots is our fault, and stops the run; so does taking what is not free."""
    shelves, _, _ = book_of(rack("one", (2, ("leaf",))))
    other, _, _ = book_of(rack("one", (2, ("leaf",))))

    with pytest.raises(RuntimeError, match="more slots given back than there are"):
        shelves.give_back(shelves.bays[0], "leaf", 1)
    with pytest.raises(ValueError, match="3 slots taken where"):
        other.take(other.bays[0], "leaf", 3)
