"""What goes on the one page about a comparison that is handed over?"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from enginesim.report import comparison_table
from enginesim.report.comparison_figure import LOOKS, draw_comparison
from enginesim.report.drawing import GREY, literal, sheet
from enginesim.report.reason_figure import draw_reasons

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

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
_MOST_ROWS = 14  # changes in columns; more are running text
_MOST_CHANGES = 40  # more are two engines, not a swap
_LEAST_ASSUMED = 4  # lines of assumed values that are kept
_EM = 0.55  # mean width of a letter of the typeface over its size


@dataclass(frozen=True, slots=True)
class _Density:
    """Heights of the charts [in], and size of the letters over the usual one."""

    main: float
    below: float
    bars: float
    letters: float


# What is said must find room: the charts give way first, then the letters.
_DENSITIES: Final = (
    _Density(2.25, 0.85, 1.45, 1.0),
    _Density(1.9, 0.75, 1.35, 0.98),
    _Density(1.6, 0.65, 1.25, 0.94),
    _Density(1.4, 0.55, 1.15, 0.88),
)


class _Page:
    """A sheet that is filled from the top; charts are only drawn where it is not for measuring."""

    def __init__(self, height: float, density: _Density, *, is_drawn: bool) -> None:
        self.figure = sheet(_WIDTH, height)
        self.height = height
        self.density = density
        self.is_drawn = is_drawn
        self.y = 0.32  # from the top [in]

    def write(
        self, text: str, size: float, *, colour: str = "#000000", bold: bool = False,
        left: float = _LEFT, right: float = _RIGHT, hang: str = "",
    ) -> None:  # fmt: skip
        """Text from margin to margin, broken into lines."""
        size *= self.density.letters
        columns = int((right - left) * 72 / (_EM * size))
        for line in textwrap.wrap(text, columns, subsequent_indent=hang):
            self.figure.text(
                left / _WIDTH, 1 - self.y / self.height, line, size=size, color=colour, va="top",
                weight="bold" if bold else "normal",
            )  # fmt: skip
            self.y += size * 1.36 / 72
        self.y += size * 0.1 / 72

    def heading(self, text: str) -> None:
        """A line that begins a part."""
        self.y += 0.06
        self.write(text, 8.5, bold=True)

    def chart(
        self, tall: float, paint: Callable[[Axes], None],
        left: float = _LEFT + 0.2, right: float = _RIGHT - 0.25,
    ) -> None:  # fmt: skip
        """A chart as tall as told."""
        box = (left / _WIDTH, 1 - (self.y + tall) / self.height, (right - left) / _WIDTH,
               tall / self.height)  # fmt: skip
        self.y += tall
        if self.is_drawn:
            paint(self.figure.add_axes(box))

    def columns(
        self, rows: Sequence[Sequence[str]], places: Sequence[float], size: float,
        colours: Sequence[str] = (),
    ) -> None:  # fmt: skip
        """Rows of texts at given distances from the left margin."""
        size *= self.density.letters
        for row in rows:
            for k, (text, place) in enumerate(zip(row, places, strict=False)):
                self.figure.text(
                    (_LEFT + place) / _WIDTH, 1 - self.y / self.height, text, size=size, va="top",
                    color=colours[k] if colours else "#000000",
                )  # fmt: skip
            self.y += size * 1.36 / 72

    @property
    def room(self) -> float:
        """Height that is left above the lower margin [in]."""
        return self.height - 0.3 - self.y


@literal()
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
        A4, upright; longer only where the smallest letters do not make room for all that is said.
    """
    for density in _DENSITIES:
        page = _Page(_HEIGHT, density, is_drawn=False)
        _fill(page, comparison, causes, words, system)
        if page.room >= 0.0:
            break
    page = _Page(_HEIGHT - min(page.room, 0.0), density, is_drawn=True)
    _fill(page, comparison, causes, words, system)
    for axes in page.figure.axes:
        _shrink(axes)
    return page.figure


def _fill(
    page: _Page,
    comparison: Comparison,
    causes: Sequence[Attribution],
    words: Words,
    system: System,
) -> None:
    page.write(words.title, 14, bold=True)
    page.write("Comparison of engines. Predicted, not calibrated: no measurement stands behind the"
               " absolute figures.", 8, colour=GREY)  # fmt: skip
    _sides(page, words.sides)
    is_pair = len(comparison.sides) == 2
    for text in words.verdicts:
        page.write(text, 8.5 if is_pair else 7.0, hang="   ")
    page.y += 0.1
    _curves(page, comparison, system)
    if not is_pair:
        _figures(page, comparison, system, _RIGHT)
        page.y += 0.12
    top = page.y
    if is_pair:
        _figures(page, comparison, system, _MIDDLE)
    else:
        _changes(page, words.changes, _MIDDLE)
    under = page.y
    page.y = top + 0.06
    last, first = comparison.sides[-1].letter, comparison.sides[0].letter

    def bars(axes: Axes) -> None:
        draw_reasons(causes, axes, system)
        axes.legend(
            loc="center left", bbox_to_anchor=(1.01, 0.5), frameon=False, fontsize=8.0,
            labelspacing=0.25, reverse=True,
        )  # fmt: skip
        axes.set_title(f"Why {last} and {first} differ", loc="left", size=10, weight="bold")

    page.chart(page.density.bars, bars, left=_MIDDLE + 0.5, right=_RIGHT - 1.3)
    page.y = max(page.y + 0.38, under)
    if not is_pair:
        page.heading("Why, where each differs most" if len(words.reasons) > 1 else "Why")
    for text in words.reasons:
        page.write(text, 7, hang="   ")
    if is_pair:
        _changes(page, words.changes, _RIGHT)
    page.heading("How sure")
    for text in (*words.certainty, *words.warnings):
        page.write(text, 7, hang="   ")
    page.write(";  ".join(words.conditions), 6.5, colour=GREY)
    page.write(_CAUTION, 6.5, colour=GREY)
    _assumed(page, words.assumed)


def _curves(page: _Page, comparison: Comparison, system: System) -> None:
    """Torque and power, and the difference beneath."""
    drawn: list[Axes] = []
    page.chart(page.density.main, drawn.append)
    page.y += 0.24
    page.chart(page.density.below, drawn.append)
    page.y += 0.47
    if drawn:
        main, below = drawn
        has_figures = len(comparison.sides) == 2  # more are told in the table beneath only
        draw_comparison(comparison, main, below, system, has_figures=has_figures)


def _changes(page: _Page, changes: Sequence[Sequence[tuple[str, str, str]]], right: float) -> None:
    """What is different in each engine; all of it, unless they are different engines."""
    shown = [(look[0], rows) for look, rows in zip(LOOKS[1:], changes, strict=False)]
    if len(shown) == 1 and 0 < len(shown[0][1]) <= _MOST_ROWS:
        page.heading("What is different in B")
        short = [[textwrap.shorten(t, 60, placeholder=" ...") for t in row] for row in shown[0][1]]
        page.columns(short, (0.0, 1.75, 4.5), 6.2)
        return
    page.heading("What is different")
    for letter, (colour, rows) in zip("BCDEF", shown, strict=False):
        if len(rows) > _MOST_CHANGES:
            text = f"{letter} differs from A in {len(rows)} fields."
        else:
            cells = [[textwrap.shorten(t, 48, placeholder=" ...") for t in row] for row in rows]
            text = f"{letter}: " + ";  ".join(f"{path} {a} -> {b}" for path, a, b in cells)
        if rows:
            page.write(text, 5.8, colour=colour, right=right, hang="   ")


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
    deep = max(int((page.room - 0.12) / line), _LEAST_ASSUMED)
    n_columns = 3 if len(with_band) <= 3 * deep else 4  # three hold every name in full
    shown = with_band[: deep * n_columns]
    deep = -(-len(shown) // n_columns) if shown else 0
    wide = (_RIGHT - _LEFT) / n_columns
    letters = int(wide * 72 / (1.12 * _EM * size))
    for k, (path, value, band) in enumerate(shown):
        figures = f" {value} +- {band}"
        page.figure.text(
            (_LEFT + wide * (k // deep)) / _WIDTH, 1 - (page.y + line * (k % deep)) / page.height,
            _cut(path, max(letters - len(figures), 8)) + figures, size=size, va="top",
        )  # fmt: skip
    page.y += line * deep + 0.02
    rest = len(assumed) - len(shown)
    page.figure.text(
        _LEFT / _WIDTH, 1 - page.y / page.height,
        f"{rest} more are assumed; `enginesim check` lists all with their sources.",
        size=size, va="top", color=GREY,
    )  # fmt: skip
    page.y += line


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
