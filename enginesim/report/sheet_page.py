"""What is on a bench sheet, and how does it lie on one page of paper?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from pathlib import Path

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from enginesim.report.table import Table
    from enginesim.report.typesetting import PrintedPage
    from enginesim.report.units import System

# Letters [pt] and height of the chart [in], the most pleasant first: what is said must find room.
_SETTINGS: Final = tuple(
    {"letters": 9.0 - 0.25 * i, "chart": 3.0 - 0.075 * i} for i in range(9)
)  # fmt: skip
_SMALLER: Final = 0.85  # a chart on the page over the same chart by itself


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


def printed(page: Page, system: System = "us") -> PrintedPage:
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
    PrintedPage
        One sheet of paper; more where the smallest letters do not make room for all that is said.
    """
    from enginesim.report.drawing import svg
    from enginesim.report.typesetting import PrintedPage

    data = {
        "title": page.title,
        "engine": page.engine or "engine without a name",
        "has_chart": page.draw is not None,
        "tables": [asdict(table) for table in page.tables],
        "notes": page.notes,
        "cautions": page.cautions,
        "foot": page.foot,
        "settings": _SETTINGS,
    }
    if page.draw is None:
        return PrintedPage("sheet_page", data, {}, system)
    setting = PrintedPage("sheet_page", data, {}, system).told("setting")
    charts = {"chart": svg(chart(page.draw, setting["chart"], system))}
    return PrintedPage("sheet_page", {**data, "setting": setting}, charts, system)


def chart(draw: Callable[[Axes], None], height: float, system: System) -> Figure:
    """
    Chart of a sheet, as wide as the page has room.

    Parameters
    ----------
    draw : callable
        Draws it on given axes.
    height : float
        Height on the page. [in]
    system : {"us", "si"}
        The paper whose width it takes.

    Returns
    -------
    Figure
        To be made smaller on the page.
    """
    from enginesim.report import drawing
    from enginesim.report.typesetting import chart_width

    wide, tall = chart_width(system) / _SMALLER, height / _SMALLER
    figure = drawing.sheet(wide, tall)
    left, right, below, above = 0.65, 0.15, 0.5, 0.12
    axes = figure.add_axes(
        (left / wide, below / tall, 1 - (left + right) / wide, 1 - (below + above) / tall)
    )
    drawing.tidy(axes)
    with drawing.literal():
        draw(axes)
    return figure


def save_page(page: Page, folder: Path, system: System = "us") -> tuple[Path, Path]:
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
    made = printed(page, system)
    paths = (folder / f"sheet-{page.kind}.pdf", folder / f"sheet-{page.kind}.png")
    for path in paths:
        made.keep(path)
    return paths
