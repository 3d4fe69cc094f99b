"""What does a vehicle do on the road with one engine and with another, as tables and sentences?"""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan
from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.report.table import Table
from enginesim.report.units import SCALES, signed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.report.units import System
    from enginesim.vehicle import Acceleration, GearPull, Vehicle

_TIMES: Final = {
    "to_60_mph": "0-60 mph",
    "to_100_km_h": "0-100 km/h",
    "passing": "50-70 mph, best gear",
    "passing_top": "50-70 mph, top gear",
    "quarter_mile": "quarter mile",
}


@dataclass(frozen=True, slots=True)
class RoadResult:
    """
    One engine in the vehicle.

    Attributes
    ----------
    name : str
        Of the engine.
    run : Acceleration
        Times.
    pulls : tuple of GearPull
        Pull in each gear.
    """

    name: str
    run: Acceleration
    pulls: tuple[GearPull, ...]


def letter(i: int) -> str:
    """
    Letter of an engine.

    Parameters
    ----------
    i : int
        From 0.

    Returns
    -------
    str
        A, B, ...
    """
    return chr(ord("A") + i)


def times(results: Sequence[RoadResult], system: System) -> Table:
    """
    Acceleration times, a column for each engine, and what B gains on A.

    Parameters
    ----------
    results : sequence of RoadResult
        One or more engines.
    system : {"us", "si"}
        Units.

    Returns
    -------
    Table
        A dash where a speed is never reached.
    """
    speed = SCALES[system]["road speed"]
    rows = []
    for field, label in _TIMES.items():
        values = [getattr(result.run, field) for result in results]
        cells = ["-" if isnan(value) else f"{value:.2f}" for value in values]
        rows.append((label, "s", *cells, *_gains(values, 2)))
    ends = [float(speed.of(result.run.quarter_mile_speed)) for result in results]
    cells = ["-" if isnan(value) else f"{value:.1f}" for value in ends]
    rows.append(("speed at its end", speed.symbol, *cells, *_gains(ends, 1)))
    letters = [letter(i) for i in range(len(results))]
    heads = ("", "", *letters, *(f"{other} - A" for other in letters[1:]))
    return Table("On the road", heads, ("",) * len(heads), tuple(rows), is_numeric=False)


def _gains(values: Sequence[float], digits: int) -> list[str]:
    return [signed(value - values[0], digits) for value in values[1:]]


def gears(results: Sequence[RoadResult], vehicle: Vehicle, system: System) -> Table:
    """
    Each gear: its ratio, range of road speed, change up and greatest pull.

    Parameters
    ----------
    results : sequence of RoadResult
        One or more engines.
    vehicle : Vehicle
        The vehicle.
    system : {"us", "si"}
        Units.

    Returns
    -------
    Table
        A row for each gear and engine.
    """
    speed, force = SCALES[system]["road speed"], SCALES[system]["force"]
    rows = []
    for gear, ratio in enumerate(vehicle.gearbox.gears):
        for i, result in enumerate(results):
            pull, shifts = result.pulls[gear], result.run.shift_speeds
            best = int(np.argmax(pull.force))
            rows.append(
                (
                    f"{gear + 1}",
                    letter(i),
                    f"{ratio * vehicle.gearbox.axle:.2f}",
                    f"{shifts[gear]:.0f}" if gear < len(shifts) else "-",
                    f"{speed.text(pull.speed[0], 0)}-{speed.text(pull.speed[-1], 0)}",
                    force.text(float(pull.force[best])),
                    speed.text(float(pull.speed[best]), 0),
                )
            )
    labels = ("gear", "engine", "overall", "change up", "range", "most pull", "at")
    units = ("", "", "", "rpm", speed.symbol, force.symbol, speed.symbol)
    return Table("Gears", labels, units, tuple(rows))


def verdict(results: Sequence[RoadResult]) -> tuple[str, ...]:
    """
    Which engine is quicker, in a sentence for each pair.

    Parameters
    ----------
    results : sequence of RoadResult
        One or more engines; the first is what the others are held against.

    Returns
    -------
    tuple of str
        Empty for one engine alone.
    """
    first = results[0].run
    sentences = []
    for i, result in enumerate(results[1:], 1):
        parts = []
        for field, label in _TIMES.items():
            difference = getattr(result.run, field) - getattr(first, field)
            if not isnan(difference):
                word = "quicker" if difference < 0 else "slower"
                alike = abs(difference) < 0.005
                parts.append(
                    f"{label} alike" if alike else f"{label} {abs(difference):.2f} s {word}"
                )
        sentences.append(f"{letter(i)} against A: " + ", ".join(parts) + ".")
    return tuple(sentences)
