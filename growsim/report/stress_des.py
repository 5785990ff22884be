"""The model described by the STRESS-DES checklist, item by item, for this room and this rehearsal.

Source of the checklist: Monks, Currie, Onggo, Robinson, Kunc & Taylor 2019, "Strengthening the reporting of empirical
simulation studies: Introducing the STRESS guidelines", Journal of Simulation 13(1):55-67. Items named from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from growsim import units
from growsim.ledger.catalogue import CATALOGUE
from growsim.report import model_text
from growsim.report.crop_words import sown_with
from growsim.report.provenance import Provenance, figures_given, sources_given
from growsim.report.words import (
    counted,
    hour_of_day,
    listed,
    mass,
    number,
    percent,
    small_mass_cell,
    temperature,
    volume,
)
from growsim.scenario.crop import Crop
from growsim.scenario.demand import Order, Partner
from growsim.scenario.equipment import Reservoir
from growsim.scenario.names import ANY_CROP
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.days import MONTHS, NAME_OF_WEEKDAY

if TYPE_CHECKING:
    from growsim.run.rehearse import Rehearsal

CITATION = (
    "Monks, T., Currie, C.S.M., Onggo, B.S., Robinson, S., Kunc, M. and Taylor, S.J.E. (2019). Strengthening the "
    "reporting of empirical simulation studies: Introducing the STRESS guidelines. Journal of Simulation 13(1), 55-67."
)


@dataclass(frozen=True)
class Flow:
    """A line of steps, drawn as boxes with arrows. Each step has a name and what belongs to it."""

    name: str
    steps: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Item:
    """One item of the checklist with what there is to say."""

    number: str
    title: str
    says: tuple[str, ...]
    flows: tuple[Flow, ...] = ()


@dataclass(frozen=True)
class Chapter:
    """One of the six sections of the checklist."""

    title: str
    items: tuple[Item, ...]


def describe(rehearsal: Rehearsal, provenance: Provenance) -> tuple[Chapter, ...]:
    """All six sections for this rehearsal."""
    scenario = rehearsal.scenario
    return (
        _objectives(scenario),
        _logic(scenario),
        _data(scenario),
        _experimentation(rehearsal),
        _implementation(rehearsal, provenance),
        Chapter(
            "6. Code access",
            (
                Item(
                    "6.1",
                    "Sharing statement",
                    (
                        f"The model is the Python package growsim, version {provenance.growsim}; its source, its "
                        f"tests and "
                        "this room file are what is needed to make this report again, by the command printed at its "
                        "end.",
                    ),
                ),
            ),
        ),
    )


def _objectives(scenario: Scenario) -> Chapter:
    named = [units.worded(measure.label).lower() for measure in CATALOGUE.values()]
    return Chapter(
        "1. Objectives",
        (
            Item(
                "1.1",
                "Purpose of the model",
                (
                    f"To say what {scenario.room.name} gives week by week under its plan, how sure that is, what "
                    f"holds it "
                    "back and where plants are lost; so that its manager can try a change here before trying it there.",
                ),
            ),
            Item(
                "1.2",
                "Model outputs",
                (
                    f"{len(named)} figures, each computed from the log book of a replication after it has ended, "
                    f"over the "
                    f"counted window: {listed(named)}.",
                    "Output counts what is harvested and handed out in the window; fates count seeds sown in the "
                    "window.",
                    "Range of the average: Student's t at 95% over replications; in a rehearsal, where it pays, what "
                    "figures in doubt and attendance, whose averages are known, did to it by chance is taken out "
                    "(control variates). Range in practice: 10th to 90th "
                    "percentile of the weeks (for weekly figures) or of the replications.",
                ),
            ),
            Item(
                "1.3",
                "Aims of experimentation",
                (
                    "This report rehearses one plan as it stands. Alternatives are rehearsed and compared apart, under "
                    "shared luck.",
                ),
            ),
        ),
    )


def _flow(crop: Crop) -> Flow:
    """A crop's way through the room."""
    stages = [
        (stage.name, f"{number(stage.days, 0 if stage.days == int(stage.days) else 1)} days in a {stage.tray}")
        for stage in crop.stages_in_order()
    ]
    again = f"{crop.harvests} times, {number(crop.regrowth_days)} days apart" if crop.harvests > 1 else "once"
    sown = sown_with(crop)
    kept = f"cold, at most {number(crop.shelf_life_days)} days"
    return Flow(crop.name, (("sow", sown), *stages, ("harvest", again), ("pack", "weighed"), ("hand out", kept)))


def _floods(reservoir: Reservoir) -> str:
    if reservoir.flows_always:
        return "pumped round all the time"
    return f"a flood of {number(reservoir.flood_minutes, 1)} min every {number(reservoir.flood_every_hours, 1)} h"


def _logic(scenario: Scenario) -> Chapter:
    flows = tuple(_flow(crop) for crop in scenario.crops)
    return Chapter(
        "2. Logic",
        (
            Item("2.1", "Diagram of the base model", (model_text.DIAGRAM,), flows),
            Item("2.2", "Logic of the base model", (*model_text.LOGIC, model_text.ORDER_OF_THE_DAY)),
            Item(
                "2.3", "Logic of scenarios", ("None in this report: the room is rehearsed as its file describes it.",)
            ),
            Item("2.4", "Algorithms", model_text.ALGORITHMS),
            Item("2.5.1", "Entities", (model_text.ENTITIES,)),
            Item("2.5.2", "Activities", (model_text.ACTIVITIES,)),
            Item("2.5.3", "Resources", (model_text.RESOURCES,)),
            Item("2.5.4", "Queues", (model_text.QUEUES,)),
            Item("2.5.5", "Entry and exit points", (model_text.ENTRY_EXIT,)),
        ),
    )


def _data(scenario: Scenario) -> Chapter:
    uncertain = [figure for figure in figures_given(scenario) if not figure.is_fixed]
    sources = list(sources_given(scenario))
    room, climate, crew = scenario.room, scenario.climate, scenario.crew
    slots = sum(group.total_slots for rack in scenario.racks for group in rack.shelves)
    parameters = [
        f"{counted(len(scenario.racks), 'rack')} with {counted(slots, 'slot')}; floor "
        f"{number(units.amount(room.floor_area_m2, 'm²'), 1)} {units.unit('m²')}; "
        f"air {temperature(climate.air_temperature_c)}, relative humidity "
        f"{number(climate.relative_humidity_percent)}%.",
        *(
            f"{_named('Lights', bank.name)}: {number(bank.ppfd_umol_m2_s)} µmol/m²/s for "
            f"{number(bank.hours_per_day, 1)} h a day from {hour_of_day(bank.on_hour)}."
            for bank in scenario.lights
        ),
        *(
            f"{_named('Reservoir', reservoir.name)}: {volume(reservoir.capacity_l)}, {_floods(reservoir)}, "
            f"topped up {reservoir.top_up}."
            for reservoir in scenario.reservoirs
        ),
        *(
            f"{_named('Crop', crop.name)}: {sown_with(crop)}, "
            f"{percent(crop.germination_fraction.expected())} "
            f"germinate, {number(crop.typical_days)} days and "
            f"{small_mass_cell(crop.typical_mass_g.expected())} {units.unit('g')} on its typical day."
            for crop in scenario.crops
        ),
        *(
            f"{_named('Sowing', line.name)}: {counted(line.cells, 'cell')} of {line.crop}, "
            f"{NAME_OF_WEEKDAY[line.weekday]}s, "
            f"every {'week' if line.every_weeks == 1 else f'{line.every_weeks} weeks'}."
            for line in scenario.sowing
        ),
        *(
            f"{_named('Shift', shift.name)}: {NAME_OF_WEEKDAY[shift.weekday]} {hour_of_day(shift.start_hour)}, "
            f"{number(shift.hours, 1)} h, "
            f"{counted(shift.people, 'volunteer')} signed up{', a lead there' if shift.lead else ''}"
            f"{f', only in {months}' if (months := listed([MONTHS[m - 1] for m in sorted(shift.months)])) else ''}."
            for shift in crew.shifts
        ),
        *(
            f"{_named('Partner', partner.name)}: {listed([_order(order) for order in partner.orders])}, "
            f"{NAME_OF_WEEKDAY[partner.weekday]}s{_not_always(partner)}, priority {partner.priority}."
            for partner in scenario.partners
        ),
    ]
    return Chapter(
        "3. Data",
        (
            Item(
                "3.1",
                "Sources of data",
                (
                    scenario.about or "The room file says nothing about itself.",
                    f"Sources named in the room file: {'; '.join(sources)}."
                    if sources
                    else "The room file names no sources.",
                ),
            ),
            Item(
                "3.2",
                "Pre-processing",
                (
                    "Each crop's growing pace is found from its typical days and mass at the room's set-points; "
                    "nothing else "
                    "is fitted.",
                ),
            ),
            Item(
                "3.3",
                "Input parameters",
                (
                    *parameters,
                    f"{counted(len(uncertain), 'figure is', 'figures are')} given in the room file as a range or "
                    "distribution.",
                ),
            ),
            Item("3.4", "Assumptions", model_text.ASSUMPTIONS),
        ),
    )


def _named(kind: str, name: str) -> str:
    """ "Reservoir narrow one", and "Reservoir A" for one whose name says what it is."""
    return f"{name[:1].upper()}{name[1:]}" if name.lower().startswith(kind.lower()) else f"{kind} {name}"


def _not_always(partner: Partner) -> str:
    """When a partner does not collect; "" where it always does."""
    months = listed([MONTHS[month - 1] for month in sorted(partner.months)])
    closed = f" but for {counted(len(partner.closed_days), 'closed day')}" if partner.closed_days else ""
    return f"{f' in {months}' if months else ''}{closed}"


def _order(order: Order) -> str:
    return f"{mass(order.kg)} of {'any crop' if order.crop == ANY_CROP else order.crop}"


def _experimentation(rehearsal: Rehearsal) -> Chapter:
    plan, n = rehearsal.plan, len(rehearsal.outcomes)
    starts = {
        "filled": f"The room starts bare and runs {plan.warm_up_days} days before counting begins.",
        "empty": "The room starts bare and is counted from its first day.",
        "shelves": "The room starts with what stands on its shelves on the first day; what the plan would have sown in "
        "the six days before and of which nothing stands is still sown.",
    }
    return Chapter(
        "4. Experimentation",
        (
            Item("4.1", "Initialisation", (starts[plan.start], rehearsal.warm_up.sentence)),
            Item(
                "4.2",
                "Run length",
                (f"{counted(plan.days, 'day')} counted, from {rehearsal.scenario.room.start_date}.",),
            ),
            Item(
                "4.3",
                "Estimation approach",
                (f"{counted(n, 'independent replication')}, seed {rehearsal.seed}.",),
            ),
        ),
    )


def _implementation(rehearsal: Rehearsal, provenance: Provenance) -> Chapter:
    libraries = ", ".join(f"{name} {version}" for name, version in provenance.libraries.items())
    return Chapter(
        "5. Implementation",
        (
            Item("5.1", "Software", (f"Python {provenance.python}; {libraries}.",)),
            Item("5.2", "Random sampling", (model_text.RANDOM_SAMPLING,)),
            Item(
                "5.3",
                "Model execution",
                ("Event by event on a clock of whole minutes. " + model_text.ORDER_OF_THE_DAY,),
            ),
            Item(
                "5.4",
                "System specification",
                (
                    "Any computer that runs Python; one replication uses one processor, many are shared out over "
                    "several. The "
                    "numbers do not depend on the computer or on how many processors are used.",
                ),
            ),
        ),
    )
