"""What is on a bench sheet, and how does it lie on one page of paper?"""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from enginesim.report.table import plain

if TYPE_CHECKING:
    from pathlib import Path

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from enginesim.report.table import Table
    from enginesim.report.units import System

_PAPER: Final[dict[System, tuple[float, float]]] = {"us": (8.5, 11.0), "si": (8.27, 11.69)}
_MARGIN: Final = 0.6  # [in]
_HEAD: Final = 1.15  # [in]
_CHART: Final = 3.3  # [in]
_LEAST_CHART: Final = 2.7  # [in]
_NO_CHART: Final = 1.5  # less than this is no chart [in]
_LETTER: Final = 9.0  # [pt]
_LEAST_LETTER: Final = 5.0  # [pt]
_LEADING: Final = 1.32
_WIDE: Final = 0.635  # width of a letter of the typewriter face over its size, hinting included
_POINTS: Final = 72.0


@dataclass(frozen=True, slots=True)
class Page:
    """
    One bench sheet, in the units in which it is read.

    Attributes
    ----------
    kind, title, engine : str
        Word of the command, what the sheet is, and for which engine.
    tables : tuple of Table
        Figures.
    notes : tuple of str
        What follows from them, one sentence or two each.
    cautions : tuple of str
        What must be checked by hand.
    foot : tuple of str
        Conditions, small.
    draw : callable or None
        Draws the chart on given axes.
    """

    kind: str
    title: str
    engine: str
    tables: tuple[Table, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    foot: tuple[str, ...] = ()
    draw: Callable[[Axes], None] | None = field(default=None, compare=False)


def lines_of(page: Page, width: int) -> list[str]:
    """
    Everything on a sheet but its chart, as lines of text.

    Parameters
    ----------
    page : Page
        The sheet.
    width : int
        Letters in a line.

    Returns
    -------
    list of str
        Tables, sentences and cautions, blocks parted by empty lines.
    """
    lines: list[str] = []
    for table in page.tables:
        lines += [*plain(table).splitlines(), ""]
    for title, sentences in (("", page.notes), ("Cautions", page.cautions)):
        if title and sentences:
            lines.append(title)
        for sentence in sentences:
            lines += textwrap.wrap(sentence, width, initial_indent="- ", subsequent_indent="  ")
        if sentences:
            lines.append("")
    return lines


def page_figure(page: Page, system: System = "us") -> Figure:
    """
    Sheet on paper: chart above, everything else below.

    Parameters
    ----------
    page : Page
        The sheet.
    system : {"us", "si"}
        Letter paper or A4.

    Returns
    -------
    Figure
        One page; the letters shrink until everything is on it.
    """
    from enginesim.report.drawing import literal

    with literal():
        return _page_figure(page, system)


def _page_figure(page: Page, system: System) -> Figure:
    from enginesim.report import drawing

    width, height = _PAPER[system]
    figure = drawing.sheet(width, height)
    left, top = _MARGIN / width, 1.0 - 0.45 / height
    figure.text(left, top, page.title, size=15, weight="bold", va="top")
    figure.text(left, top - 0.30 / height, page.engine, size=10, color=drawing.GREY, va="top")
    foot = [line for text in page.foot for line in textwrap.wrap(text, 120)]
    bottom = _MARGIN + drawing.foot_height(foot)
    figure.text(left, 0.5 / height, "\n".join(foot), size=8, color=drawing.GREY, va="bottom",
                linespacing=1.4)  # fmt: skip
    room = height - _HEAD - bottom
    letter, chart = _fitted(page, width, room)
    if page.draw is not None and chart > _NO_CHART:
        side, below = 1.15, height - _HEAD - chart + 0.7
        axes = figure.add_axes(
            (side / width, below / height, (width - side - _MARGIN) / width, (chart - 0.8) / height)
        )
        drawing.tidy(axes)
        page.draw(axes)
    text = "\n".join(lines_of(page, _columns(width, letter)))
    figure.text(
        left,
        (height - _HEAD - chart) / height,
        text,
        size=letter,
        family="DejaVu Sans Mono",
        va="top",
        ha="left",
        linespacing=_LEADING,
    )
    return figure


def _columns(width: float, letter: float) -> int:
    return int((width - 2 * _MARGIN) * _POINTS / (_WIDE * letter))


def _fitted(page: Page, width: float, room: float) -> tuple[float, float]:
    """Size of the letters [pt] and height of the chart [in] with which all is on the page."""
    chart = _CHART if page.draw is not None else 0.0
    least = _LEAST_CHART if page.draw is not None else 0.0
    letter, spare = _LETTER, 0.0
    while True:
        lines = lines_of(page, _columns(width, letter))
        spare = room - len(lines) * letter * _LEADING / _POINTS * 1.02
        is_wide = max(map(len, lines), default=0) > _columns(width, letter)
        if (not is_wide and spare >= least) or letter <= _LEAST_LETTER:
            return letter, max(min(chart, spare), 0.0)
        letter -= 0.25


def save_page(page: Page, folder: Path, system: System = "us") -> tuple[Path, ...]:
    """
    Keep a sheet as PDF and as PNG, each whole or not at all.

    Parameters
    ----------
    page : Page
        The sheet.
    folder : Path
        Where to; the files are called ``sheet-KIND``.
    system : {"us", "si"}
        Letter paper or A4.

    Returns
    -------
    tuple of Path
        The two files.

    Raises
    ------
    OSError
        If the folder cannot be written.
    """
    from enginesim.report import drawing

    return drawing.save_page(page_figure(page, system), folder / f"sheet-{page.kind}")
