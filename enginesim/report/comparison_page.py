"""What goes on the one page about a comparison that is handed over?"""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Final

from enginesim.report import comparison_table
from enginesim.report.comparison_figure import LOOKS, draw_comparison
from enginesim.report.drawing import GREY, sheet
from enginesim.report.reason_figure import draw_reasons

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from enginesim.performance.attribution import Attribution
    from enginesim.report.comparison_notes import Words
    from enginesim.report.units import System
    from enginesim.study.comparison import Comparison

_WIDTH, _HEIGHT = 8.27, 11.69  # A4 [in]
_LEFT, _RIGHT = 0.55, 7.8
_MIDDLE = 3.75
_SMALLER = 0.76  # letters in the charts: the page is narrower than a chart of its own
_MOST_CHANGES = 14
_EM = 0.53  # mean width of a letter of the typeface over its size


class _Page:
    """A sheet that is filled from the top."""

    def __init__(self) -> None:
        self.figure = sheet(_WIDTH, _HEIGHT)
        self.y = 0.32  # from the top [in]

    def write(
        self, text: str, size: float, *, colour: str = "#000000", bold: bool = False,
        left: float = _LEFT, right: float = _RIGHT, hang: str = "",
    ) -> None:  # fmt: skip
        """Text from margin to margin, broken into lines."""
        columns = int((right - left) * 72 / (_EM * size))
        for line in textwrap.wrap(text, columns, subsequent_indent=hang):
            self.figure.text(
                left / _WIDTH, 1 - self.y / _HEIGHT, line, size=size, color=colour, va="top",
                weight="bold" if bold else "normal",
            )  # fmt: skip
            self.y += size * 1.36 / 72
        self.y += size * 0.1 / 72

    def heading(self, text: str) -> None:
        """A line that begins a part."""
        self.y += 0.06
        self.write(text, 8.5, bold=True)

    def axes(self, tall: float, left: float = _LEFT + 0.2, right: float = _RIGHT - 0.25) -> Axes:
        """Axes over the width, as tall as told."""
        box = (left / _WIDTH, 1 - (self.y + tall) / _HEIGHT, (right - left) / _WIDTH,
               tall / _HEIGHT)  # fmt: skip
        self.y += tall
        return self.figure.add_axes(box)

    def columns(
        self, rows: Sequence[Sequence[str]], places: Sequence[float], size: float,
        colours: Sequence[str] = (),
    ) -> None:  # fmt: skip
        """Rows of texts at given distances from the left margin."""
        for row in rows:
            for k, (text, place) in enumerate(zip(row, places, strict=False)):
                self.figure.text(
                    (_LEFT + place) / _WIDTH, 1 - self.y / _HEIGHT, text, size=size, va="top",
                    color=colours[k] if colours else "#000000",
                )  # fmt: skip
            self.y += size * 1.36 / 72

    @property
    def room(self) -> float:
        """Height that is left above the lower margin [in]."""
        return _HEIGHT - 0.3 - self.y


def comparison_page(
    comparison: Comparison,
    causes: Sequence[Attribution],
    words: Words,
    system: System,
) -> Figure:
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
        Units.

    Returns
    -------
    Figure
        A4, upright.
    """
    page = _Page()
    page.write(words.title, 14, bold=True)
    page.write("Comparison of engines. Predicted, not calibrated: no measurement stands behind the"
               " absolute figures.", 8, colour=GREY)  # fmt: skip
    _sides(page, words.sides)
    for text in words.verdicts:
        page.write(text, 8.5)
    page.y += 0.1
    main = page.axes(2.25)
    page.y += 0.24
    below = page.axes(0.85)
    draw_comparison(comparison, main, below, system)
    page.y += 0.47
    last = comparison.sides[-1].letter
    pair = f"{last} and {comparison.sides[0].letter}"
    is_pair = len(comparison.sides) == 2
    if not is_pair:
        _figures(page, comparison, system, _RIGHT)
        page.y += 0.12
    top = page.y
    if is_pair:
        _figures(page, comparison, system, _MIDDLE)
    else:
        page.heading(f"Why {pair} differ")
        for text in words.reasons:
            page.write(text, 7, right=_MIDDLE - 0.25, hang="   ")
    under = page.y
    page.y = top + 0.06
    bars = page.axes(1.45, left=_MIDDLE + 0.5, right=_RIGHT - 1.3)
    draw_reasons(causes, bars, system)
    bars.set_title(f"Why {pair} differ", loc="left", size=10, weight="bold")
    for axes in page.figure.axes:
        _shrink(axes)
    page.y = max(page.y + 0.38, under)
    if is_pair:
        for text in words.reasons:
            page.write(text, 7, hang="   ")
    if is_pair and words.changes and len(words.changes) <= _MOST_CHANGES:
        page.heading(f"What is different in {last}")
        rows = [
            [textwrap.shorten(text, 60, placeholder=" ...") for text in row]
            for row in words.changes
        ]
        page.columns(rows, (0.0, 1.75, 4.5), 6.2)
    page.heading("How sure")
    for text in (*words.certainty, *words.warnings):
        page.write(text, 7, hang="   ")
    page.write(";  ".join(words.conditions), 6.5, colour=GREY)
    page.write(_CAUTION, 6.5, colour=GREY)
    _assumed(page, words.assumed)
    return page.figure


_CAUTION: Final = (
    "A prediction is not permission: clearances are measured by hand, knock is found on the engine,"
    " local law and licensed practice stand above this sheet."
)


def _sides(page: _Page, sides: Sequence[str]) -> None:
    """What each engine is: side by side where that fits, else below each other."""
    wide = (_RIGHT - _LEFT) / len(sides)
    if max(map(len, sides)) > wide * 72 / (_EM * 8.5):
        for text, look in zip(sides, LOOKS, strict=False):
            page.write(text, 8.5, colour=look[0], bold=True)
        return
    places = [i * wide for i in range(len(sides))]
    page.columns([sides], places, 8.5, [look[0] for look in LOOKS[: len(sides)]])


def _shrink(axes: Axes) -> None:
    """Smaller letters for charts that were made for a sheet of their own."""
    from matplotlib.text import Text

    for text in axes.findobj(Text):
        if isinstance(text, Text):
            text.set_fontsize(float(text.get_fontsize()) * _SMALLER)


def _figures(page: _Page, comparison: Comparison, system: System, right: float) -> None:
    table = comparison_table.summary(comparison, system)
    page.heading(table.title)
    n = len(comparison.sides)
    wide = (right - _LEFT - 1.6) / n
    size = 6.8
    places = [0.0, *(1.6 + i * wide for i in range(n))]
    colours = ["#000000", *(look[0] for look in LOOKS[:n])]
    heads = ["", *(side.letter for side in comparison.sides)]
    rows = [row for row in table.rows if any(cell not in ("-", "none") for cell in row[1:])]
    page.columns([heads, *rows], places, size, colours)


def _assumed(page: _Page, assumed: Sequence[tuple[str, str, str]]) -> None:
    """As many of the assumed values with a band as there is room for, in columns."""
    size = 5.0
    line = size * 1.3 / 72
    with_band = sorted(
        (item for item in assumed if item[2]),
        key=lambda item: _order(item[0].partition(".")[0]),
    )
    page.heading("Assumed in A, with one standard deviation")
    deep = max(int((page.room - 0.12) / line), 1)
    n_columns = 3 if len(with_band) <= 3 * deep else 4  # three hold every name in full
    shown = with_band[: deep * n_columns]
    deep = -(-len(shown) // n_columns) if shown else 0
    wide = (_RIGHT - _LEFT) / n_columns
    letters = int(wide * 72 / (1.12 * _EM * size))
    for k, (path, value, band) in enumerate(shown):
        figures = f" {value} +- {band}"
        page.figure.text(
            (_LEFT + wide * (k // deep)) / _WIDTH, 1 - (page.y + line * (k % deep)) / _HEIGHT,
            _cut(path, max(letters - len(figures), 8)) + figures, size=size, va="top",
        )  # fmt: skip
    page.y += line * deep + 0.02
    rest = len(assumed) - len(shown)
    page.figure.text(
        _LEFT / _WIDTH, 1 - page.y / _HEIGHT,
        f"{rest} more are assumed; `enginesim check` lists all with their sources.",
        size=size, va="top", color=GREY,
    )  # fmt: skip


def _cut(path: str, letters: int) -> str:
    return path if len(path) <= letters else f"{path[: letters - 2]}.."


# Tables of the case by what their assumed values are worth to the torque:
# friction, evaporation, collector, long runners and wall temperatures come first.
_WORTH: Final = (
    "friction", "fuel", "exhaust", "intake", "cam", "combustion", "cylinder_walls", "mixture",
    "spark", "throttle", "head",
)  # fmt: skip


def _order(table: str) -> int:
    return _WORTH.index(table) if table in _WORTH else len(_WORTH)
