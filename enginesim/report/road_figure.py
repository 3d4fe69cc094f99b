"""What does a vehicle's pull in each gear look like, and its run from rest?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.report.drawing import (
    BLUE,
    GREEN,
    GREY,
    PURPLE,
    VERMILLION,
    foot,
    foot_height,
    head,
    literal,
    sheet,
)
from enginesim.report.drawing import tidy as tidied
from enginesim.report.road_table import letter
from enginesim.report.units import SCALES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from enginesim.report.road_table import RoadResult
    from enginesim.report.units import System
    from enginesim.vehicle import Vehicle
    from enginesim.vehicle.acceleration import Floats

_LOOKS: Final = ((BLUE, "-"), (VERMILLION, "--"), (GREEN, "-."), (PURPLE, ":"))
_WIDTH, _HEIGHT = 9.0, 8.6


@literal()
def road_figure(
    results: Sequence[RoadResult],
    vehicle: Vehicle,
    resistance: tuple[Floats, Floats],
    lines: Sequence[str],
    system: System,
) -> Figure:
    """
    Pull in each gear against road speed, and road speed against time.

    Parameters
    ----------
    results : sequence of RoadResult
        Up to four engines.
    vehicle : Vehicle
        The vehicle.
    resistance : tuple of ndarray
        Road speeds [m/s] and what holds the vehicle back there [N].
    lines : sequence of str
        Small print.
    system : {"us", "si"}
        Units.

    Returns
    -------
    Figure
        Two charts.
    """
    figure = sheet(_WIDTH, _HEIGHT)
    names = "\n".join(f"{letter(i)}: {result.name}" for i, result in enumerate(results))
    head(figure, vehicle.name or "Vehicle without a name", names)
    foot(figure, lines)
    bottom = foot_height(lines) + 0.55
    free = _HEIGHT - bottom - 0.70 - 0.17 * len(results)
    top = figure.add_axes((0.09, (bottom + 0.55 * free) / _HEIGHT, 0.87, 0.45 * free / _HEIGHT))
    low = figure.add_axes((0.09, bottom / _HEIGHT, 0.87, 0.42 * free / _HEIGHT))
    _pulls(top, results, resistance, system)
    _runs(low, results, system)
    return figure


def _pulls(
    axes: Axes,
    results: Sequence[RoadResult],
    resistance: tuple[Floats, Floats],
    system: System,
) -> None:
    tidied(axes)
    speed, force = SCALES[system]["road speed"], SCALES[system]["force"]
    for i, (result, (colour, dash)) in enumerate(zip(results, _LOOKS, strict=False)):
        for pull in result.pulls:
            x, y = speed.of(pull.speed), force.of(pull.force)
            axes.plot(x, y, color=colour, linestyle=dash, linewidth=1.7)
            if i == 0:
                best = int(np.argmax(y))
                axes.annotate(f"{pull.gear}", (x[best], y[best]), (0, 3), size=9, ha="center",
                              textcoords="offset points", color=GREY)  # fmt: skip
    x, y = speed.of(resistance[0]), force.of(resistance[1])
    axes.plot(x, y, color=GREY, linewidth=1.2, linestyle=":")
    axes.annotate("air, tyres and grade", (x[-1], y[-1]), (-4, 5), textcoords="offset points",
                  size=8, color=GREY, ha="right")  # fmt: skip
    axes.set_xlim(0, float(x[-1]))
    axes.set_ylim(0, None)
    axes.set_xlabel(f"road speed [{speed.symbol}]")
    axes.set_ylabel(f"pull at the tyres [{force.symbol}]")
    axes.set_title("Pull in each gear", loc="left", size=10)


def _runs(axes: Axes, results: Sequence[RoadResult], system: System) -> None:
    tidied(axes)
    speed = SCALES[system]["road speed"]
    for i, (result, (colour, dash)) in enumerate(zip(results, _LOOKS, strict=False)):
        run = result.run
        y = speed.of(run.speed)
        axes.plot(run.time, y, color=colour, linestyle=dash, linewidth=1.7)
        up = 5 if i == 0 else -12
        axes.annotate(letter(i), (run.time[-1], float(y[-1])), (3, up), color=colour, size=10,
                      textcoords="offset points")  # fmt: skip
    mark = 60.0 if system == "us" else 100.0
    axes.axhline(mark, color=GREY, linewidth=0.9)
    axes.text(0.05, mark, f" {mark:.0f} {speed.symbol}", size=8, color=GREY, va="bottom")
    axes.set_xlim(0, None)
    axes.set_ylim(0, None)
    axes.set_xlabel("time from rest [s], to the end of the quarter mile")
    axes.set_ylabel(f"road speed [{speed.symbol}]")
    axes.set_title("Run from rest", loc="left", size=10)
