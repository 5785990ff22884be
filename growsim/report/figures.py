"""How figures look and how they are saved: plain, safe for color-blind eyes, readable without color, same bytes.

Colors: Okabe & Ito, "Color Universal Design" (2008; from memory). Every color comes with a hatch or a line style, and
things are labeled where they stand. Text in an SVG stays text, so that it can be read aloud, searched and recolored.
Each figure is drawn twice by the same function: for paper and wide windows, and, `narrowly`, for a phone.
"""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from growsim import units

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.axis import Axis
    from matplotlib.figure import Figure

    from growsim.report.summaries import Month

INK = "#1b1b1b"
QUIET = "#5c5c5c"
GRID = "#d9d9d9"
PAPER = "#ffffff"
ORANGE, SKY, GREEN, YELLOW, BLUE, VERMILION, PURPLE = (
    "#e69f00",
    "#56b4e9",
    "#009e73",
    "#f0e442",
    "#0072b2",
    "#d55e00",
    "#cc79a7",
)
BAND = "#a9d4ee"
ON_DARK, ON_PALE = "#fffffe", "#1b1b1c"  # text on a colored field: never recolored, hence a shade of their own
PACKED = {"compress_level": 1}  # of a PNG: a third of the time of the usual 6
WIDE_INCHES, NARROW_INCHES = 7.2, 4.1
POINTS, LEGEND_POINTS = 72.0, 9.5
NARROW = "-narrow"  # ends the name of the same figure drawn for a phone
_inches: ContextVar[float] = ContextVar("width of figures, inches", default=WIDE_INCHES)

# Colors that a page replaces in the dark: their name in the style sheet of a report, and what they are then.
RECOLORED = {
    INK: ("--ink", "#e9e9e6"),
    PAPER: ("--paper", "#1a1c1d"),
    GRID: ("--grid", "#3c4043"),
    QUIET: ("--quiet", "#b3b3ae"),
    BLUE: ("--blue", "#6db9ea"),
    VERMILION: ("--vermilion", "#ff9a52"),
    BAND: ("--shade", "#1f4a63"),
}

_STYLE: Any = {
    "font.family": ["DejaVu Sans"],
    "font.size": 10,
    "axes.titlesize": 11,
    "axes.titlelocation": "left",
    "figure.titlesize": 11,
    "axes.labelsize": 10,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.axisbelow": True,
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "xtick.labelsize": 9.5,
    "ytick.labelsize": 9.5,
    "grid.color": GRID,
    "grid.linewidth": 0.7,
    "hatch.linewidth": 0.7,
    "hatch.color": INK,
    "legend.frameon": False,
    "legend.fontsize": LEGEND_POINTS,
    "figure.facecolor": PAPER,
    "axes.facecolor": PAPER,
    "savefig.facecolor": PAPER,
    "svg.fonttype": "none",
    "svg.hashsalt": "growsim",
    "path.simplify": False,
    "text.parse_math": False,  # a name with dollar signs is a name
}


@contextmanager
def narrowly() -> Iterator[None]:
    """Figures drawn inside it are for a phone: 358 px of a window 390 px wide, their least text 11 px high."""
    before = _inches.set(NARROW_INCHES)
    try:
        yield
    finally:
        _inches.reset(before)


def is_narrow() -> bool:
    """Whether it is drawn for a phone."""
    return _inches.get() < WIDE_INCHES


def drawing(height: float, rows: int = 1, columns: int = 1, **ratios: Any) -> tuple[Figure, Any]:
    """A figure `height` inches high with its axes, in the house style; on a phone, panels stand one below the other.
    No window, no global state."""
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    if is_narrow():
        # titles and legends take more lines there
        rows, columns, height = rows * columns, 1, 0.4 + height * (0.1 + 0.9 * columns)
    with mpl.rc_context(_STYLE):
        figure = Figure(figsize=(_inches.get(), height), layout="constrained")
        FigureCanvasAgg(figure)
        axes = figure.subplots(rows, columns, gridspec_kw=ratios or None)
    return figure, axes


def styled() -> Any:
    """The house style as a context; texts and hatches made inside it follow it."""
    import matplotlib as mpl

    return mpl.rc_context(_STYLE)


def wrapped(names: Sequence[str], wide: int = 26, narrow: int = 16) -> list[str]:
    """Names broken into lines of at most so many letters, a word longer than that too."""
    letters = narrow if is_narrow() else wide
    return ["\n".join(textwrap.wrap(name, letters)) or name for name in names]


def row_inches(names: Sequence[str], least: float) -> float:
    """How high a row is, for names in lines to stand beside each other."""
    return max([least, *(0.17 * (name.count("\n") + 1) + 0.12 for name in names)])


def month_axis(axes: Axes, months: Sequence[Month], weeks: int, *, named: bool = True) -> None:
    """Months named along the foot, a tick where each begins; the axis counts weeks from 0."""
    axes.set_xlim(-0.5, weeks - 0.5)
    starts = [month.weeks[0] - 0.5 for month in months]
    axes.set_xticks(starts, labels=[""] * len(starts))
    axes.tick_params(axis="x", which="minor", length=0)
    if not named:
        return
    shown = months_to_name(months)
    middles = [(month.weeks[0] + month.weeks[-1]) / 2 for month in shown]
    years = {month.label[-4:]: month for month in reversed(shown)}
    names = [month.short + (f"\n{month.label[-4:]}" if years[month.label[-4:]] is month else "") for month in shown]
    axes.set_xticks(middles, labels=names, minor=True)


def months_to_name(months: Sequence[Month]) -> list[Month]:
    """The months there is room to write on: whole ones, and not more than 14 or so; on a phone half of that."""
    step = max(1, -(-len(months) // (7 if is_narrow() else 14)))
    wide = [month for month in months if len(month.weeks) >= 3 or len(months) < 3]
    return (wide or list(months))[::step]


def legend_below(figure: Figure, columns: int, *, handles: Sequence[Any] | None = None, **looks: Any) -> None:
    """What the marks of all panels mean, each once, below the drawing; in at most so many columns."""
    if handles is None:
        every = [pair for axes in figure.axes for pair in zip(*axes.get_legend_handles_labels(), strict=True)]
        handles = [handle for handle, _ in {label: (handle, label) for handle, label in reversed(every)}.values()][::-1]
    labels = [str(handle.get_label()) for handle in handles]
    looks = {"handlelength": 2.6, **looks}
    wide = POINTS * _inches.get()
    columns = next((n for n in range(columns, 1, -1) if _legend_points(labels, n, looks["handlelength"]) < wide), 1)
    figure.legend(handles, labels, loc="outside lower left", ncols=columns, **looks)


def _legend_points(labels: Sequence[str], columns: int, handle: float) -> float:
    """About how wide a legend is: a letter is 0.6 of its height at most on average, between columns lie two."""
    import numpy as np

    longest = [max(map(len, column)) for column in np.array_split(labels, columns) if len(column)]
    return LEGEND_POINTS * math.fsum(0.6 * letters + handle + 0.8 + 2.0 for letters in longest)


def beside(axes: Axes, x: float, y: float, text: str, color: str = INK) -> None:
    """Text just right of a point (a leading blank would be lost in an SVG)."""
    axes.annotate(
        text, (x, y), (4, 0), textcoords="offset points", va="center", color=color, fontsize=10, annotation_clip=False,
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6},
    )  # fmt: skip


def in_masses(axes: Axes, along: Literal["x", "y"], per: str = "", marks: int | Literal["auto"] = "auto") -> str:
    """An axis whose data are kilograms, marked in the reader's unit. Gives its label: "kg a week" for per "a week"."""
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    seen = units.as_shown("kg")
    if seen.factor != 1.0:

        class _Round(MaxNLocator):
            """Marks at round numbers of the reader's unit, not of ours."""

            def tick_values(self, vmin: float, vmax: float) -> Any:
                return [mark / seen.factor for mark in super().tick_values(vmin * seen.factor, vmax * seen.factor)]

        axis = axes.xaxis if along == "x" else axes.yaxis
        axis.set_major_locator(_Round(nbins=marks, steps=[1, 2, 2.5, 5, 10]))
        axis.set_major_formatter(FuncFormatter(lambda kilograms, _: f"{kilograms * seen.factor:,.10g}"))
    return f"{seen.name} {per}".rstrip()


def save(figure: Figure, folder: Path, name: str) -> str:
    """Write folder/name.svg and, but for a phone's, .png without dates; give the SVG's text as drawn. The file itself
    follows light and dark where it is shown by a browser."""
    import matplotlib as mpl

    folder.mkdir(exist_ok=True)
    with mpl.rc_context(_STYLE):
        _arrange(figure)
        svg = folder / f"{name}.svg"
        figure.savefig(svg, metadata={"Date": None, "Creator": None})
        if not name.endswith(NARROW):
            figure.savefig(folder / f"{name}.png", dpi=160, metadata={"Software": None}, pil_kwargs=PACKED)
    drawn = svg.read_text(encoding="utf-8")
    svg.write_text(drawn.replace("<defs>", f"{_in_the_dark()}<defs>", 1), encoding="utf-8")
    return drawn


def _in_the_dark() -> str:
    """A style sheet for the file alone; programs that know none show its own colors."""
    rules = [f'[style*="{what}: {now}"]{{{what}:{then}!important}}'
             for now, (_, then) in RECOLORED.items() for what in ("fill", "stroke")]  # fmt: skip
    return (
        "<style>text{font-family:'DejaVu Sans',Helvetica,Arial,sans-serif!important}"
        f"@media (prefers-color-scheme:dark){{{''.join(rules)}}}</style>"
    )


def _arrange(figure: Figure) -> None:
    """Find the layout, once for every file since it takes longer than the drawing; break what is too long for the
    sheet into lines, and leave out marks at the foot that would touch."""
    layout = figure.get_layout_engine()
    if layout is None:
        return
    for _ in range(3):  # what is broken or left out moves the rest
        layout.execute(figure)
        if not any([_broken(figure), *(_thinned(axes.xaxis) for axes in figure.axes)]):
            break
    figure.set_layout_engine(None)


def _broken(figure: Figure) -> bool:
    """Break titles and labels of axes that run off the sheet into lines. Gives whether there was one."""
    from matplotlib.text import Annotation, Text

    wide, high = figure.bbox.size
    texts: list[tuple[Text, float]] = [(each, high) for each in figure.texts]
    for axes in figure.axes:
        texts += [(each, high) for each in axes.get_children() if isinstance(each, Text)]
        texts += [(axes.xaxis.label, high), (axes.yaxis.label, 1.05 * axes.bbox.height)]
    found = False
    for text, height in texts:
        if isinstance(text, Annotation) or not text.get_text():
            continue
        box = text.get_window_extent()
        upright = text.get_rotation() == 90
        middle = (box.x0 + box.x1) / 2
        across = (
            2 * min(middle, wide - middle) if text.get_horizontalalignment() == "center" else wide - max(0.0, box.x0)
        )
        room, taken = (height, box.height) if upright else (across, box.width)
        if taken > height if upright else (box.x0 < 0 or box.x1 > wide):
            letters = max(8, int(0.94 * len(text.get_text()) * room / taken))
            text.set_text("\n".join(textwrap.wrap(text.get_text(), letters)))
            found = True
    return found


def _thinned(axis: Axis) -> bool:
    """Take every second mark off an axis as long as names of two would touch. Gives whether one was taken."""
    from matplotlib.ticker import MaxNLocator

    found = False
    for is_minor in (False, True):
        for _ in range(6):
            labels = [label for label in axis.get_ticklabels(minor=is_minor) if label.get_visible()]
            boxes = [label.get_window_extent().padded(1.5) for label in labels if label.get_text()]
            if not any(one.overlaps(other) for one, other in pairwise(boxes)):
                break
            locator = axis.get_minor_locator() if is_minor else axis.get_major_locator()
            if isinstance(locator, MaxNLocator):
                locator.set_params(nbins=max(1, len(boxes) // 2))
            else:
                places, names = axis.get_ticklocs(minor=is_minor), [label.get_text() for label in labels]
                axis.set_ticks(list(places)[::2], labels=names[::2], minor=is_minor)
            found = True
    return found


def both_widths(draw: Callable[[], Figure], folder: Path, name: str, described: str) -> str:
    """Draw a figure and save it, wide and for a phone; give both for a page, of which a style sheet shows one."""
    save(draw(), folder, name)
    with narrowly():
        save(draw(), folder, name + NARROW)
    return saved(folder, name, described)


def saved(folder: Path, name: str, described: str) -> str:
    """A figure that was saved in both widths, for a page."""
    files = ((kind, name + end) for kind, end in (("wide", ""), ("narrow", NARROW)))
    return "".join(
        f'<div class="{kind}">{for_page((folder / f"{file}.svg").read_text(encoding="utf-8"), file, described)}</div>'
        for kind, file in files
    )


def for_page(svg: str, name: str, described: str) -> str:
    """The SVG made fit to stand inside a page: names of its own, colors that follow light and dark, a description.

    described: what a reader who cannot see the figure is told; escaped here.
    """
    from html import escape

    body = re.sub(r"<metadata>.*?</metadata>|<style>.*?</style>", "", svg[svg.index("<svg") :], flags=re.DOTALL)
    body = re.sub(r'\bid="([^"]+)"', rf'id="{name}-\1"', body)
    body = re.sub(r'(xlink:href="#|url\(#)', rf"\1{name}-", body)
    for color, (variable, _) in RECOLORED.items():
        body = body.replace(color, f"var({variable}, {color})")
    head_end = body.index(">")
    head = re.sub(r'\s(width|height)="[^"]*"', "", body[:head_end])
    head = re.sub(r'\sxmlns(:\w+)?="[^"]*"', "", head)
    return f'{head} role="img" aria-label="{escape(described)}"{body[head_end:]}'.replace("xlink:href", "href")
