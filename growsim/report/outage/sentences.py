"""The sentences an outage study opens with: how long, how much a year, what to buy, what to keep, how sure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from growsim import units
from growsim.report.outage import words
from growsim.report.outage.wall import Urgency, by_urgency
from growsim.report.words import a_period, counted, listed, mass, mass_cell, money, number, percent, rehearsals
from growsim.vocabulary.days import MONTHS
from growsim.vocabulary.machines import BY_KEY

if TYPE_CHECKING:
    from collections.abc import Sequence

    from growsim.study.outage.question import Outages
    from growsim.study.outage.year import MachineRisk, PairWorth, ProtectionWorth

FEW_YEARS = 10  # with fewer years in which a machine failed, little can be said of it


def answer(outages: Outages) -> list[tuple[str, str]]:
    """(head, sentence), in the order of the page."""
    return [
        ("How long have we got", how_long(outages)),
        ("What it costs in a year", a_year(outages)),
        ("What is worth buying", worth_buying(outages)),
        ("What you have", worth_keeping(outages)),
        ("How sure this is", how_sure(outages)),
    ]


def how_long(outages: Outages) -> str:
    """The machines in the order of time left."""
    urgent = list({each.machine: each for each in reversed(by_urgency(outages))}.values())[::-1]  # worst month of each
    deadly = [each for each in urgent if each.first_die is not None]
    harmless = [each for each in urgent if each.first_die is None]
    said = [_time_left(each, first=place == 0) for place, each in enumerate(deadly)]
    text = "; ".join(said) + "." if said else ""
    for row in (BY_KEY[each.machine] for each in harmless):
        text += "" if row.can_kill else f" {words.sentence(row.down)} {row.kills} no plant: {row.instead}."
    others = [f"{BY_KEY[e.machine].down} in {MONTHS[e.month]}" for e in harmless if BY_KEY[e.machine].can_kill]
    if others:
        text += f" {words.sentence(listed(others, 'or'))} kills none within a week."
    return f"{text} These are worst cases: the thirstiest plants, at the worst hour.".strip()


def _time_left(each: Urgency, *, first: bool) -> str:
    name = BY_KEY[each.machine].down
    name = f"{name} in {MONTHS[each.month]}" if each.by_month else name
    where = f" ({each.stage})" if each.stage else ""
    if first:
        return f"{words.sentence(name)} is the most urgent: the first plants{where} die {words.after(each.first_die)}"
    return f"with {name} the first{where} die {words.after(each.first_die)}"


def a_year(outages: Outages) -> str:
    """What machines that can fail cost in a year, the worst first."""
    ranked = sorted(outages.year.machines, key=lambda risk: -risk.lost.kg.mean)
    if not ranked:
        none = "By the room file no machine ever fails and the power never goes out: nothing is lost to outages."
        return none + _dry_without_outage(outages)
    sure = [risk for risk in ranked if risk.lost.kg.low is not None and risk.lost.kg.low > 0]
    worst = ranked[0]
    currency = outages.scenario.prices.currency
    text = (
        f"Most is lost to {BY_KEY[worst.machine].many}: {words.ranged_mass(worst.lost.kg)} of greens and "
        f"{words.money_range(worst.lost.money, currency)} a year, {_how_often(worst)}"
    )
    if worst.lost.kg.mean <= 0:
        text = f"No machine's failing can be shown to cost greens: {_nothing_shown(ranked)}"
    elif not sure:
        text += "; but for all machines the range includes zero, so little can be shown in these years"
    others = [risk for risk in ranked[1:] if risk.lost.kg.mean >= 0.05]
    if others and worst.lost.kg.mean > 0:
        text += f". Then {listed([f'{BY_KEY[r.machine].many} {mass(r.lost.kg.mean)}' for r in others])}"
    greens = outages.estimates["kg_handed_out_per_week"].mean * 52 if outages.estimates else 0.0
    if worst.lost.kg.mean > 0 and greens > 0:
        text += f". The whole year brings {mass_cell(greens, 0)} {units.unit('kg')}"
    return f"{text}.{_dry_without_outage(outages)}"


def _dry_without_outage(outages: Outages) -> str:
    """Plants that die of thirst though every machine runs: a rehearsal counts them as dried, this study nowhere."""
    dried = outages.estimates.get("plants_dried_low_reservoir")
    if dried is None or dried.mean < 1:
        return ""
    plants = f"{counted(dried.mean, 'plant')} {a_period(outages.plan.days)}"
    return (
        f" Besides, {plants} dry out because nobody fills their reservoir in time: that is no outage and not counted "
        "here; "
        "a float valve, or somebody who comes to fill up, keeps them."
    )


def _how_often(risk: MachineRisk) -> str:
    hours = f" of {words.hours_left(risk.hours_down)} on average" if risk.hours_down is not None else ""
    return f"in {number(risk.failures.mean, 1)} outages a year{hours}"


def _nothing_shown(ranked: list[MachineRisk]) -> str:
    return listed([f"{BY_KEY[risk.machine].many} {words.ranged_mass(risk.lost.kg)}" for risk in ranked])


def verdict(each: ProtectionWorth) -> str:
    """ "worth it", "looks worth it", "not worth its price", "cannot be told", "never called on"."""
    kg, net = each.worth.kg, each.net
    if _is_nought(each):
        return "never called on"
    if kg.low is not None and kg.low > 0 and (net is None or net.mean > 0):
        return "worth it" if net is None or (net.low is not None and net.low > 0) else "looks worth it"
    if net is not None and net.high is not None and net.high < 0:
        return "not worth its price"
    if net is not None and net.mean > 0 and kg.mean > 0:
        return "looks worth it"
    return "cannot be told"


def _is_nought(each: ProtectionWorth) -> bool:
    worth = each.worth
    return worth.kg.mean == worth.plants.mean == worth.money.mean == 0.0 and worth.kg.low == worth.kg.high


def worth_buying(outages: Outages) -> str:
    """The verdict sentence on protections that are not there yet."""
    offered = [each for each in outages.year.protections if each.protection.is_added]
    if not offered:
        return "Nothing that could be added would mean anything in this room: nothing fails in it, or all is there."
    good = [each for each in offered if verdict(each) == "worth it"]
    likely = [each for each in offered if verdict(each) == "looks worth it"]
    not_worth = [each for each in offered if verdict(each) == "not worth its price"]
    idle = [each for each in offered if verdict(each) == "never called on"]
    open_ones = [each for each in offered if verdict(each) == "cannot be told"]
    said = [_worth(each, outages, "Worth buying" if _costs(each) else "Worth doing, at no price") for each in good]
    said += [_worth(each, outages, "Likely worth it, but not certain") for each in likely]
    if not said:
        said = [f"Nothing can be shown to be worth buying in {rehearsals(outages.replications, outages.plan.days)}"]
        best = max(offered, key=lambda each: each.worth.kg.mean)
        if best.worth.kg.mean > 0:
            kept = words.ranged_mass(best.worth.kg)
            said[0] += f"; most greens come with {words.protection(best.protection)}: {kept} a year"
    if outages.year.pairs and (good or likely):
        said.append(_best_pair(outages.year.pairs[0], offered, outages.scenario.prices.currency))
    if not_worth:
        said.append(f"Not worth the price here: {listed([words.protection(each.protection) for each in not_worth])}")
    if idle:
        said.append(f"Never called on in these years: {listed([words.protection(each.protection) for each in idle])}")
    if all(each.protection.cost_per_year is None for each in offered):
        said.append("No price is given for any of them: put prices under [[protections]] to see what is left then")
    if open_ones and (good or likely):
        said.append(f"Cannot be told yet: {listed([words.protection(each.protection) for each in open_ones])}")
    return ". ".join(said) + "."


def _costs(each: ProtectionWorth) -> bool:
    return each.protection.cost_per_year is None or each.protection.cost_per_year > 0


def _worth(each: ProtectionWorth, outages: Outages, how: str) -> str:
    currency = outages.scenario.prices.currency
    kept = words.ranged_mass(each.worth.kg)
    text = f"{how}: {words.protection(each.protection)}, which {words.keeps(each.protection)} {kept} a year"
    if each.net is None:
        are = "are" if words.keeps(each.protection) == "keep" else "is"
        return f"{text} and {are} worth up to {words.money_range(each.worth.money, currency)} a year, whatever it costs"
    if not _costs(each):
        return f"{text}, {words.money_range(each.net, currency)}"
    return f"{text}; its price paid, that leaves {words.money_range(each.net, currency)} a year"


def _best_pair(pair: PairWorth, offered: Sequence[ProtectionWorth], currency: str) -> str:
    """Two together: more, as much or less than the sum of each. The best by money, which need not keep most greens, and
    may leave less than one alone."""
    two = f"{words.protection(pair.first)} and {words.protection(pair.second)}"
    one = max((each for each in offered if each.net is not None), key=_left, default=None)
    if pair.net is not None and one is not None and _left(one) >= pair.net.mean:
        return (
            f"No two together leave more money than {words.protection(one.protection)} alone; best are {two}: "
            f"their price paid, {words.money_range(pair.net, currency)} a year, and {words.ranged_mass(pair.worth.kg)}"
        )
    both, alone = pair.worth.kg.mean, pair.kg_alone
    money = (
        f"up to {words.money_range(pair.worth.money, currency)}"
        if pair.net is None
        else f"their price paid, {words.money_range(pair.net, currency)}"
    )
    less = "" if abs(both - alone) < 0.05 * max(abs(alone), 0.1) else f"; the sum of each alone is {mass(alone)}"
    return (
        f"Of any two together, worth most in money are {two}: {money} a year, and "
        f"{words.ranged_mass(pair.worth.kg)}{less}"
    )


def _left(each: ProtectionWorth) -> float:
    """Money a year once the price is paid, on average; nothing where nobody says the price."""
    return each.net.mean if each.net is not None else 0.0


def worth_keeping(outages: Outages) -> str:
    """What the protections in place are worth."""
    there = [each for each in outages.year.protections if not each.protection.is_added]
    if not there:
        return "No protection against outages is in place."
    there.sort(key=lambda each: -each.worth.kg.mean)
    shown = [each for each in there if each.worth.kg.low is not None and each.worth.kg.low > 0]
    rest = [each for each in there if each not in shown]
    said = [
        f"{words.protection(e.protection)} {words.keeps(e.protection)} {words.ranged_mass(e.worth.kg)} a year"
        for e in shown
    ]
    text = f"{listed(said)}: keep {'it' if len(said) == 1 else 'them'}" if said else ""
    text = f"{text[0].upper()}{text[1:]}" if text else "None of the protections in place can be shown to keep greens"
    if rest:
        named = listed([f"{words.protection(e.protection)} ({mass(e.worth.kg.mean)})" for e in rest])
        text += f". Too little to show: {named}"
    return f"{text}."


def how_sure(outages: Outages) -> str:
    """Years, failures in them, and machines too rare to judge."""
    years = rehearsals(outages.replications, outages.plan.days)
    failing = outages.year.machines
    text = f"This rests on {years}, each lived through with and without, under the same luck"
    if failing:
        seen = listed([f"{BY_KEY[risk.machine].many} in {risk.years_with}" for risk in failing])
        text += f". So many of these years, warm-up included, had an outage: {seen}"
    rare = [risk for risk in failing if risk.years_with < FEW_YEARS]
    if rare:
        named = "all of these" if len(rare) == len(failing) else listed([BY_KEY[risk.machine].many for risk in rare])
        text += f". Too rare to say much: {named}; ask for more replications"
    return f"{text}."


def share(fraction: float | None) -> str:
    """A share of plants lost as a percentage; "–" where none stand."""
    return "–" if fraction is None else percent(fraction)


def price(each: ProtectionWorth, currency: str) -> str:
    """Price a year of a protection."""
    cost = each.protection.cost_per_year
    if cost is None:
        return "not given"
    return "none" if cost == 0 else money(cost, currency, 0)


def years_seen(each: ProtectionWorth) -> str:
    """In how many years it could matter at all."""
    worth = each.worth
    return f"{worth.years - worth.years_alike} of {counted(worth.years, 'year')}"
