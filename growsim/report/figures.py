"""How figures look and how they are saved: plain, safe for color-blind eyes, readable without color, same bytes.

Colors: Okabe & Ito, "Color Universal Design" (2008; from memory). Every color comes with a hatch or a line style, and
things are labeled where they stand. Text in an SVG stays text, so that it can be read aloud, searched and recolored.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from growsim import units

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from growsim.report.summaries import Month

INK = "#1b1b1b"
QUIET = "#6b6b6b"
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
WIDTH_INCHES = 7.2

# Colors that a page replaces in the dark; the style sheet has the same names.
RECOLORED = {
    INK: "--ink",
    PAPER: "--paper",
    GRID: "--grid",
    QUIET: "--quiet",
    BLUE: "--blue",
    VERMILION: "--vermilion",
    BAND: "--shade",
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
    "legend.fontsize": 9.5,
    "figure.facecolor": PAPER,
    "axes.facecolor": PAPER,
    "savefig.facecolor": PAPER,
    "svg.fonttype": "none",
    "svg.hashsalt": "growsim",
    "path.simplify": False,
    "text.parse_math": False,  # a name with dollar signs is a name
}


def drawing(height: float, rows: int = 1, columns: int = 1, **ratios: Any) -> tuple[Figure, Any]:
    """A figure `height` inches high with its axes, in the house style. No window, no global state."""
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with mpl.rc_context(_STYLE):
        figure = Figure(figsize=(WIDTH_INCHES, height), layout="constrained")
        FigureCanvasAgg(figure)
        axes = figure.subplots(rows, columns, gridspec_kw=ratios or None)
    return figure, axes


def styled() -> Any:
    """The house style as a context; texts and hatches made inside it follow it."""
    import matplotlib as mpl

    return mpl.rc_context(_STYLE)


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
    """The months there is room to write on: whole ones, and not more than 14 or so."""
    step = max(1, -(-len(months) // 14))
    wide = [month for month in months if len(month.weeks) >= 3 or len(months) < 3]
    return (wide or list(months))[::step]


def legend_above(axes: Axes, columns: int = 4) -> None:
    """What the marks mean, in a row between title and drawing."""
    axes.legend(
        loc="lower left",
        bbox_to_anchor=(-0.01, 0.99),
        ncols=columns,
        borderaxespad=0.2,
        columnspacing=1.3,
        handlelength=2.2,
    )


def beside(axes: Axes, x: float, y: float, text: str, color: str = INK) -> None:
    """Text just right of a point (a leading blank would be lost in an SVG)."""
    axes.annotate(
        text, (x, y), (4, 0), textcoords="offset points", va="center", color=color, fontsize=10, annotation_clip=False
    )


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
    """Write folder/name.svg and .png without dates; give the SVG's text."""
    import matplotlib as mpl

    folder.mkdir(exist_ok=True)
    with mpl.rc_context(_STYLE):
        layout = figure.get_layout_engine()
        if layout is not None:  # found once for both files: it takes longer than the drawing
            layout.execute(figure)
            figure.set_layout_engine(None)
        svg = folder / f"{name}.svg"
        figure.savefig(svg, metadata={"Date": None, "Creator": None})
        figure.savefig(folder / f"{name}.png", dpi=160, metadata={"Software": None})
    return svg.read_text(encoding="utf-8")


def for_page(svg: str, name: str, described: str) -> str:
    """The SVG made fit to stand inside a page: names of its own, colors that follow light and dark, a description.

    described: what a reader who cannot see the figure is told; escaped here.
    """
    from html import escape

    body = svg[svg.index("<svg") :]
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.DOTALL)
    body = re.sub(r'\bid="([^"]+)"', rf'id="{name}-\1"', body)
    body = re.sub(r'(xlink:href="#|url\(#)', rf"\1{name}-", body)
    for color, variable in RECOLORED.items():
        body = body.replace(color, f"var({variable}, {color})")
    head_end = body.index(">")
    head = re.sub(r'\s(width|height)="[^"]*"', "", body[:head_end])
    head = re.sub(r'\sxmlns(:\w+)?="[^"]*"', "", head)
    return f'{head} role="img" aria-label="{escape(described)}"{body[head_end:]}'.replace("xlink:href", "href")
