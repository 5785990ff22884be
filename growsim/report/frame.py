"""The frame of every answer: the head of its summary, the page around its own sections, the folder it is written into.

A question's own folder says only what is its own: sentences, sections, tables, and the keys of its summary.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.ledger.catalogue import CATALOGUE
from growsim.report import cautions, figures, model_text
from growsim.report.front import CSV_COLUMNS, Front
from growsim.report.page import Behind, Bullets, Command, Facts, Page, Picture, Section, Text, render
from growsim.report.provenance import Provenance, sources_given, told_of
from growsim.report.tables import whose_table
from growsim.report.words import not_seen, number, of_the_room, per_period
from growsim.run.writing import output_folder, write_csv, write_text
from growsim.scenario.asked import in_short
from growsim.vocabulary.questions import BY_NAME

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from growsim.report.tables import Table
    from growsim.run.intervals import Estimate
    from growsim.scenario.scenario import Scenario

SUMMARY, PAGE, FIGURES, TABLE = "summary.json", "report.html", "figures", "answer.csv"


@dataclass(frozen=True)
class Answer:
    """What the answer to any question states.

    front: the page of the answer, as the report opens and the terminal prints. said: (head, sentence), instead of it.
    replications: 0 where nothing was rehearsed. days: counted in each; warm_up_days: before them.
    """

    provenance: Provenance
    scenario: Scenario
    seed: int
    replications: int
    days: int
    warm_up_days: int
    said: tuple[tuple[str, str], ...] = ()
    front: Front | None = None

    def summary(self, measures: Mapping[str, Any], **own: Any) -> dict[str, Any]:
        """summary.json as a dict: what every answer states, around what only this one has."""
        said = self.said if self.front is None else self.front.said()
        return {
            "growsim": self.provenance.growsim,
            "command": self.provenance.command,
            "room": self.scenario.room.name,
            "room_sha256": self.provenance.room_sha256,
            "seed": self.seed,
            "replications": self.replications,
            "days": self.days,
            "warm_up_days": self.warm_up_days,
            "repeat_with": self.provenance.repeat_with,
            "answer": [of_the_room(sentence, self.scenario) for _, sentence in said],
            "answer_heads": [head for head, _ in said],
            **({} if self.front is None else {"table": self._table(self.front.table.entry())}),
            "measures": dict(measures),
            **own,
            "python": self.provenance.python,
            "libraries": dict(self.provenance.libraries),
        }

    def _table(self, told: Any) -> Any:
        if isinstance(told, dict):
            return {key: self._table(inner) for key, inner in told.items()}
        if isinstance(told, (list, tuple)):
            return [self._table(inner) for inner in told]
        return of_the_room(told, self.scenario) if isinstance(told, str) else told

    @property
    def notes(self) -> tuple[str, ...]:
        """What the room file says of itself, such as that its data are invented."""
        return tuple(note for note in (self.scenario.about, self.scenario.room.note) if note)

    def page(
        self,
        under_title: str,
        sections: Sequence[Section],
        *,
        title: str = "",
        shows: Picture | None = None,
        facts: Sequence[tuple[str, str]] = (),
        sources: Sequence[str] | None = None,
    ) -> Page:
        """The whole page around its own sections. title: where it is more than the question's. shows: the one picture
        on the page of the answer.

        facts: of its making, besides seed, number and days. sources: of its figures where they are not the room's.
        """
        return Page(
            title=f"{self.scenario.room.name}: {title or BY_NAME[self.provenance.command].title}",
            under_title=under_title,
            notes=self.notes,
            answers=self.said,
            front=self.front,
            shows=shows,
            cautions=(cautions.ALWAYS,),
            sections=(
                *sections,
                self._made_of(facts, list(sources_given(self.scenario)) if sources is None else sources),
            ),
        )

    def _made_of(self, facts: Sequence[tuple[str, str]], sources: Sequence[str]) -> Section:
        run = (
            ("seed", str(self.seed)),
            ("replications", number(self.replications)),
            ("days counted", number(self.days)),
            ("days of warm-up before them", number(self.warm_up_days)),
        )
        listed = self.provenance.figures
        return Section(
            "made-of",
            "Where this report comes from",
            (
                Text(
                    "Every figure about the room comes from the room file and what was given with it. Sources that it "
                    "names are listed here; the others are the planner's own."
                ),
                Bullets(tuple(sources)) if sources else Text("No source is named."),
                *((Text(in_short(listed, self.provenance.asked)), Behind(whose_table(listed))) if listed else ()),
                Text("To make this report again:"),
                Command(self.provenance.repeat_with),
                Facts((*facts, *(run if self.replications else ()), *self.provenance.rows())),
            ),
        )

    def write(
        self,
        out: Path,
        summary: dict[str, Any],
        page: Callable[[Path], Page | str],
        files: Callable[[Path], None],
        *,
        replace: bool,
    ) -> dict[str, Any]:
        """Write report.html, summary.json, figures and what else there is into `out`, all or nothing; give the summary.

        page: draws its figures into a folder and gives the page, or its text. files: writes its own files into a
        folder. Raises OutputError where `out` exists (unless `replace`) or cannot be written.
        """
        of = told_of(self.provenance.command, self.scenario)
        with output_folder(out, replace=replace, of=of) as folder:
            made = page(folder / FIGURES)
            write_text(folder / PAGE, of_the_room(made if isinstance(made, str) else render(made), self.scenario))
            files(folder)
            if self.front is not None:
                write_csv(folder / TABLE, CSV_COLUMNS, self.front.table.csv_rows())
            write_summary(folder, summary)
        return summary


def write_summary(folder: Path, summary: Mapping[str, Any]) -> None:
    """summary.json into a folder."""
    write_text(folder / SUMMARY, summary_text(summary) + "\n")


def summary_text(summary: Mapping[str, Any]) -> str:
    """A summary as JSON. Raises ValueError for NaN and infinity, which JSON has not."""
    return json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False)


def measures_of(estimates: Mapping[str, Estimate], days: int) -> dict[str, Any]:
    """Figures as summary.json states them. mean_low and mean_high are null with one replication; mean_high alone where
    nobody knows it: something that may happen was not seen, and `not_seen` or `without` says so.
    """
    return {key: _measure(found, days) for key, found in estimates.items()}


def _measure(found: Estimate, days: int) -> dict[str, Any]:
    measure = CATALOGUE[found.key]
    return {
        "label": measure.label,
        "unit": per_period(measure.unit, days),
        "mean": found.mean,
        "mean_low": found.mean_low,
        "mean_high": found.mean_high,
        "p10": found.p10,
        "p50": found.p50,
        "p90": found.p90,
        "n": found.n,
        "of": found.of,
        **_open_above(found, days),
    }


def _open_above(found: Estimate, days: int) -> dict[str, str]:
    """Why there is no upper end: of a thing not seen, or of a figure that one not seen would raise."""
    if found.not_seen:
        return {"not_seen": not_seen(found, days)}
    return {"without": CATALOGUE[found.unseen].label.lower()} if found.unseen else {}


def picture(draw: Callable[[], Figure], folder: Path, name: str, caption: str, *behind: Table) -> Picture:
    """A figure saved as SVG and PNG, and made fit for the page. The caption is told to who cannot see it."""
    svg = figures.both_widths(draw, folder, name, caption)
    return Picture(name, caption, svg, tuple(each for each in behind if each.rows))


def model_section(*more: str) -> Section:
    """How the model works, in short. more: what matters to this question."""
    whole = "In full, by the STRESS-DES checklist: growsim/room/MODEL.md in the source."
    return Section(
        "model", "How the model works", (Bullets(model_text.LOGIC), *(Text(each) for each in (*more, whole)))
    )
