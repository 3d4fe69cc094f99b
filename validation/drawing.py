"""How does the chart of a check look, and how is it kept?

The common look of the program's charts, for a page that is read beside a table.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import ArrayLike

from enginesim.report.drawing import (
    BLUE,
    FAINT,
    GREEN,
    GREY,
    ORANGE,
    PURPLE,
    SKY,
    VERMILLION,
    sheet,
    tidy,
)
from enginesim.report.files import write

#: Colours and marks for sets of points, in this order.
COLOURS: Final = (BLUE, VERMILLION, GREEN, PURPLE, ORANGE, SKY)
MARKS: Final = ("o", "s", "^", "D", "v", "P")

_RESOLUTION: Final = 110


def panels(
    n_rows: int, n_columns: int, *, title: str, width: float = 9.0, height: float = 3.2
) -> tuple[Figure, list[Axes]]:
    """Tidy axes in rows, read from left to right; `height` of each row and whole `width` [in]."""
    figure = sheet(width, height * n_rows + 0.5)
    figure.set_layout_engine("constrained")
    figure.suptitle(title, x=0.02, ha="left", fontsize=12, fontweight="bold")
    axes = list(np.atleast_1d(figure.subplots(n_rows, n_columns)).ravel())
    for each in axes:
        tidy(each)
    return figure, axes


def label(axes: Axes, x: str, y: str, title: str = "") -> None:
    """Names of both axes, with their units, and what is shown."""
    axes.set_xlabel(x)
    axes.set_ylabel(y)
    if title:
        axes.set_title(title, loc="left", fontsize=10)


def band(axes: Axes, low: float, high: float, text: str = "") -> None:
    """Shade the range of `y` that is expected."""
    axes.axhspan(low, high, color=FAINT, alpha=0.6, zorder=0, label=text or None)


def legend(axes: Axes, **place: Any) -> None:
    """Legend without a frame."""
    axes.legend(frameon=False, fontsize=8, **place)


def orders(
    axes: Axes, cells: Sequence[float], errors: ArrayLike, text: str, k: int, order: float
) -> None:
    """Error against number of cells, both logarithmic, with the observed order in the legend."""
    axes.loglog(
        cells, errors, f"{MARKS[k % 6]}-", color=COLOURS[k % 6], ms=5, lw=1.3,
        label=f"{text}: order {order:.2f}",
    )  # fmt: skip
    axes.set_xticks(list(cells), [f"{n:g}" for n in cells])
    axes.tick_params(axis="x", which="minor", bottom=False, labelbottom=False)


def save(figure: Figure, path: Path) -> None:
    """Write the chart, whole or not at all."""
    out = io.BytesIO()
    with mpl.rc_context({"font.family": "DejaVu Sans"}):
        figure.savefig(out, format="png", dpi=_RESOLUTION, metadata={"Software": None})
    write(path, out.getvalue())


__all__ = [
    "BLUE",
    "COLOURS",
    "FAINT",
    "GREEN",
    "GREY",
    "MARKS",
    "ORANGE",
    "PURPLE",
    "SKY",
    "VERMILLION",
    "band",
    "label",
    "legend",
    "orders",
    "panels",
    "save",
]
