"""What goes on the one page about a comparison that is handed over?"""

from __future__ import annotations

import textwrap
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any, Final

from enginesim.report import comparison_table
from enginesim.report.comparison_figure import LOOKS, draw_comparison
from enginesim.report.drawing import GREY, literal, sheet, svg
from enginesim.report.reason_figure import draw_reasons
from enginesim.report.typesetting import PrintedPage, chart_width
from enginesim.report.units import scale

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.figure import Figure
    from matplotlib.transforms import Bbox

    from enginesim.performance.attribution import Attribution
    from enginesim.report.comparison_notes import Words
    from enginesim.report.units import System
    from enginesim.study.comparison import Comparison

_SMALLER: Final = 0.76  # a chart on the page over the same chart by itself
_MOST_ROWS: Final = 14  # changes in columns; more are running text
_MOST_CHANGES: Final = 40  # more are two engines, not a swap
_LONGEST: Final = 120  # letters of a value that differs

# Letters [pt], heights of the charts [in]: what is said must find room. The most pleasant is first.
_SETTINGS: Final = tuple(
    {"letters": 8.0 - 0.28 * i, "curves": 3.4 - 0.17 * i, "bars": 2.1 - 0.09 * i} for i in range(6)
)  # fmt: skip
# Inches on the page: a name at the end of a line, and what is above and below the two axes.
_NAME, _AROUND = 0.105, 0.75
_NAMES: Final = 9.0  # size of the names of the causes in a chart by itself [pt]
_MAIN: Final = 0.68  # height of the upper axes over that of both

_BELOW: Final = (
    "Engine comparison. Predicted, not calibrated: the absolute figures rest on no measurement."
)
_CAUTION: Final = (
    "A prediction does not replace checking: measure clearances by hand, listen for knock on the"
    " engine. Local codes and licensed practice take precedence over this sheet."
)
# Tables of the case by what their assumed values are worth to the torque:
# friction, evaporation, collector, long runners and wall temperatures come first.
_WORTH: Final = (
    "friction", "fuel", "exhaust", "intake", "cam", "combustion", "cylinder_walls", "mixture",
    "spark", "throttle", "head",
)  # fmt: skip


def comparison_page(
    comparison: Comparison,
    causes: Sequence[Attribution],
    words: Words,
    system: System,
) -> PrintedPage:
    """
    One page: charts, figures, reasons, what was assumed, and where it all comes from.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.
    causes : sequence of Attribution
        Causes of the last side's difference, one for each speed.
    words : Words
        What is said.
    system : {"us", "si"}
        Units, and letter paper or A4.

    Returns
    -------
    PrintedPage
        One sheet of paper; more where the smallest letters do not make room for all that is said.
    """
    data = _data(comparison, words, system)
    setting = PrintedPage("comparison_page", data, {}, system).told("setting")
    charts = {
        "curves": svg(curves_chart(comparison, setting["curves"], system)),
        "bars": svg(bars_chart(causes, setting["bars_width"], setting["bars"], system)),
    }
    return PrintedPage("comparison_page", {**data, "setting": setting}, charts, system)


def _data(comparison: Comparison, words: Words, system: System) -> dict[str, Any]:
    sides = comparison.sides
    colors = [LOOKS[i % len(LOOKS)][0] for i in range(len(sides))]
    figures = comparison_table.summary(comparison, system)
    rows = [row for row in figures.rows if any(cell not in ("-", "none") for cell in row[1:])]
    heads = ("", *(side.letter for side in sides))
    with_band = sorted(
        (item for item in words.assumed if item[2]),
        key=lambda item: _order(item[0].partition(".")[0]),
    )
    first, last = sides[0].letter, sides[-1].letter
    return {
        "title": words.title,
        "below": _BELOW,
        "is_pair": len(sides) == 2,
        "sides": [
            {"text": text, "color": color} for text, color in zip(words.sides, colors, strict=False)
        ],
        "colors": ["#000000", *colors],
        "verdicts": words.verdicts,
        "figures": asdict(replace(figures, labels=heads, rows=tuple(rows))),
        "bars_title": f"Why {last} and {first} differ",
        "reasons_title": "Why, where each differs most" if len(words.reasons) > 1 else "Why",
        "reasons": words.reasons,
        **_changes(words.changes, colors),
        "certainty": (*words.certainty, *words.warnings),
        "foot": (";  ".join(words.conditions), _CAUTION),
        "assumed": [f"{path}  {value} +- {band}" for path, value, band in with_band],
        "n_assumed": len(words.assumed),
        "first": first,
        "settings": [
            {**one, "curves": max(one["curves"], _lowest(len(sides)))} for one in _SETTINGS
        ],
    }


def _changes(
    changes: Sequence[Sequence[tuple[str, str, str]]], colors: Sequence[str]
) -> dict[str, Any]:
    """What is different in each engine; all of it, unless they are different engines."""
    short = [
        [[textwrap.shorten(cell, _LONGEST, placeholder=" ...") for cell in row] for row in rows]
        for rows in changes
    ]
    if len(short) == 1 and 0 < len(short[0]) <= _MOST_ROWS:
        return {"changes_table": short[0], "changes": []}
    texts = []
    for letter, color, rows in zip("BCDEFGH", colors[1:], short, strict=False):
        if len(rows) > _MOST_CHANGES:
            text = f"{letter} differs from A in {len(rows)} fields."
        else:
            text = f"{letter}: " + ";  ".join(f"{path} {a} -> {b}" for path, a, b in rows)
        if rows:
            texts.append({"text": text, "color": color})
    return {"changes_table": [], "changes": texts}


def _lowest(n: int) -> float:
    """Height of the curves in which the names of so many engines stand below each other [in]."""
    return _AROUND + 2 * n * _NAME / _MAIN


@literal()
def curves_chart(comparison: Comparison, height: float, system: System) -> Figure:
    """
    Torque and power, and the difference beneath.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.
    height : float
        Height on the page. [in]
    system : {"us", "si"}
        Units, and the paper whose width it takes.

    Returns
    -------
    Figure
        To be made smaller on the page.
    """
    wide, tall = chart_width(system) / _SMALLER, height / _SMALLER
    figure = sheet(wide, tall)
    left, right, above, under = 0.68, 0.95, 0.1, 0.5
    room = tall - _AROUND / _SMALLER
    main, below = _MAIN * room, (1 - _MAIN) * room
    across = left / wide, 1 - (left + right) / wide
    upper = figure.add_axes((across[0], 1 - (above + main) / tall, across[1], main / tall))
    lower = figure.add_axes((across[0], under / tall, across[1], below / tall))
    # Peaks and averages are in the table beneath.
    draw_comparison(comparison, upper, lower, system, has_figures=False)
    lower.set_ylabel(scale("torque", system).symbol, color=GREY)  # the title has the rest
    return figure


@literal()
def bars_chart(
    causes: Sequence[Attribution], width: float, height: float, system: System
) -> Figure:
    """
    Causes of a difference as bars, their names beside them.

    Parameters
    ----------
    causes : sequence of Attribution
        One for each speed.
    width, height : float
        Size on the page. [in]
    system : {"us", "si"}
        Units.

    Returns
    -------
    Figure
        To be made smaller on the page.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    wide, tall = width / _SMALLER, height / _SMALLER
    figure = sheet(wide, tall)
    left, above, under = 0.62, 0.08, 0.48
    low, high = under / tall, 1 - (above + under) / tall
    axes = figure.add_axes((left / wide, low, 1 - left / wide, high))
    draw_reasons(causes, axes, system)
    painter = FigureCanvasAgg(figure).get_renderer()  # type: ignore[no-untyped-call]

    def names(letters: float) -> Bbox:
        legend = axes.legend(
            loc="center left", bbox_to_anchor=(1.01, 0.5), frameon=False, fontsize=letters,
            labelspacing=0.25, reverse=True,
        )  # fmt: skip
        return legend.get_window_extent(painter)

    box = names(_NAMES)
    room = 2 * (1 - (low + high / 2)) * figure.bbox.height  # the names stand about the middle
    if box.height > room:
        box = names(_NAMES * room / box.height)
    # The bars get what the names of the causes leave.
    right = 1 - (left + 0.1) / wide - box.width / figure.bbox.width
    axes.set_position((left / wide, low, max(right, 0.3), high))
    return figure


def _order(table: str) -> int:
    return _WORTH.index(table) if table in _WORTH else len(_WORTH)
