"""What does a change of cam move: valve lift over crank angle, engine over engine?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.report.comparison_figure import LOOKS
from enginesim.report.drawing import GREY, foot, foot_height, head, save, sheet, tidy
from enginesim.report.units import SCALES
from enginesim.valvetrain import lift_curves

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matplotlib.axes import Axes

    from enginesim.report.units import System
    from enginesim.study.swap import Entrant

_WIDTH, _HEAD, _TALL = 9.0, 0.85, 2.9
_LEFT, _RIGHT = 0.085, 0.94
_OPEN: Final = 1e-5  # lift from which a valve counts as open [m]
_STROKES: Final = ((90, "expansion"), (270, "exhaust"), (450, "intake"), (630, "compression"))


def differ(entrants: Sequence[Entrant]) -> bool:
    """
    Whether engines have different cams.

    Parameters
    ----------
    entrants : sequence of Entrant
        Engines.

    Returns
    -------
    bool
        True if there is something to be drawn.
    """
    return any(entrant.case.cam != entrants[0].case.cam for entrant in entrants)


def draw_lobes(entrants: Sequence[Entrant], title: str, stem: Path, system: System) -> None:
    """
    Chart of both valves' lift over crank angle for every engine.

    Parameters
    ----------
    entrants : sequence of Entrant
        Engines.
    title : str
        What is compared.
    stem : Path
        File to be written, without its ending.
    system : {"us", "si"}
        Units.
    """
    lines = ["   ".join(f"{entrant.letter}: {entrant.label}" for entrant in entrants)]
    height = _HEAD + _TALL + 0.5 + foot_height(lines)
    figure = sheet(_WIDTH, height)
    head(figure, title, "What is changed: how far the valves are open")
    foot(figure, lines)
    axes = figure.add_axes((_LEFT, 1 - (_HEAD + _TALL) / height, _RIGHT - _LEFT, _TALL / height))
    tidy(axes)
    length = SCALES[system]["length"]
    top = 0.0
    for i, entrant in enumerate(entrants):
        curves = lift_curves(entrant.case)
        colour, dash, _ = LOOKS[i % len(LOOKS)]
        for lift in (curves.exhaust, curves.intake):
            shown = np.where(lift > _OPEN, length.of(lift), np.nan)
            axes.plot(np.degrees(curves.angle), shown, color=colour, linestyle=dash, linewidth=1.8)
            top = max(top, float(np.nanmax(shown)))
    _strokes(axes, top)
    axes.set_ylabel(f"valve lift, {length.symbol}", color=GREY)
    _names(axes, entrants)
    save(figure, stem)


def _strokes(axes: Axes, top: float) -> None:
    axes.set_xlim(90, 660)
    axes.set_xticks(range(90, 661, 30), [f"{a}" if a % 90 == 0 else "" for a in range(90, 661, 30)])
    axes.set_ylim(0, 1.18 * top)
    axes.set_xlabel("crank angle after firing top dead centre, deg", color=GREY)
    for angle, name in ((180, "BDC"), (360, "TDC"), (540, "BDC")):
        axes.axvline(angle, color=GREY, linewidth=0.9, zorder=1.2)
        axes.text(angle, 1.16 * top, f" {name}", size=8.5, color=GREY, va="top")
    for angle, name in _STROKES:
        place = min(max(angle, 125), 605)
        axes.text(
            place, 1.02, f"{name} stroke", size=8.5, color=GREY, ha="center",
            transform=axes.get_xaxis_transform(),
        )  # fmt: skip
    for angle, name in ((255, "exhaust valve"), (465, "intake valve")):
        axes.text(angle, 0.05 * top, name, size=9, ha="center")


def _names(axes: Axes, entrants: Sequence[Entrant]) -> None:
    """The letters, each with a piece of its line, in the free upper right corner."""
    for i, entrant in enumerate(entrants):
        colour, dash, _ = LOOKS[i % len(LOOKS)]
        y = 0.84 - 0.09 * i
        axes.plot([0.90, 0.955], [y, y], color=colour, linestyle=dash, linewidth=1.8,
                  transform=axes.transAxes)  # fmt: skip
        axes.text(0.965, y, entrant.letter, color=colour, weight="bold", size=10, va="center",
                  transform=axes.transAxes)  # fmt: skip
