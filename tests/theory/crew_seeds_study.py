"""Does another seed find the same crew? Asks `crew` again and again, each time with luck of its own.

    python tests/theory/crew_seeds_study.py scenarios/millrace 20     some twenty minutes with machine code
    python tests/theory/crew_seeds_study.py scenarios/tiny 20         one minute

Prints every answer, then for each month the fewest and the most people that any seed asks for, all shifts together and
shift by shift, how the proofs ended, and how many years and seconds it took.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from pathlib import Path

import numpy as np

from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.study.crew.answer import CrewStudy
from growsim.study.crew.question import crew
from growsim.vocabulary.days import SHORT_MONTHS

FIRST_SEED = 2032


def asked(folder: Path, seed: int) -> CrewStudy:
    """The question as the command asks it."""
    room = load_scenario(folder)
    usual = room.scenario.rehearsal
    return crew(room, plan=RunPlan(usual.days, usual.warm_up_days), seed=seed)


def people_of(study: CrewStudy) -> np.ndarray:
    """People to sign up, [shift, month]."""
    return np.array([study.people(shift) for shift in range(len(study.scenario.crew.shifts))])


def line_of(study: CrewStudy, seconds: float) -> str:
    """One answer in a line."""
    months = " ".join(str(n) for n in people_of(study).sum(axis=0))
    reached = " ".join(
        f"{key} {study.estimates[key].mean:.3f} (asked {t.asked:.3f})" for key, t in study.targets.items()
    )
    return f"{study.seed}: {months}; {study.end}; {reached}; {study.years} years, {seconds:.0f} s"


def told(found: list[np.ndarray], names: list[str]) -> list[str]:
    """Fewest and most over all seeds, month by month."""
    people = np.array(found)
    rows = [("all shifts", people.sum(axis=1)), *((name, people[:, i]) for i, name in enumerate(names))]
    lines = [f"{'':20s} " + " ".join(f"{month:>6s}" for month in SHORT_MONTHS)]
    for name, series in rows:
        spans = zip(series.min(axis=0), series.max(axis=0), strict=True)
        lines.append(f"{name:20s} " + " ".join(f"{low:3d}-{high:<2d}" for low, high in spans))
    return lines


if __name__ == "__main__":
    room_folder, tries = Path(sys.argv[1]), int(sys.argv[2])
    answers, ends = [], Counter[str]()
    for number in range(tries):
        began = time.process_time()
        answer = asked(room_folder, FIRST_SEED + number)
        print(line_of(answer, time.process_time() - began), flush=True)
        answers.append(people_of(answer))
        ends[answer.end] += 1
        shift_names = [shift.name for shift in answer.scenario.crew.shifts]
    print(*told(answers, shift_names), dict(ends), sep="\n")
