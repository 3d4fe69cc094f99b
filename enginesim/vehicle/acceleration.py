"""
How long does the vehicle take: from rest to a speed, from one speed to another, over a distance?

Source: Newton's second law, integrated by SciPy; docs/vehicle.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from enginesim.base.quantity import quantity
from enginesim.base.units import to_si
from enginesim.vehicle.run import Course, drive
from enginesim.vehicle.shifting import shift_speeds
from enginesim.vehicle.traction import Driveline

if TYPE_CHECKING:
    from enginesim.vehicle.tree import Vehicle

Floats = NDArray[np.float64]

SIXTY_MPH = to_si(60.0, "mph")
HUNDRED_KM_H = to_si(100.0, "km/h")
PASSING = (to_si(50.0, "mph"), to_si(70.0, "mph"))
QUARTER_MILE = to_si(0.25, "mi")


@dataclass(frozen=True, kw_only=True, slots=True)
class Acceleration:
    """What a vehicle does on the road, SI; not a number where it is never reached."""

    to_60_mph: float = quantity("s", "0-60 mph", "From rest to 60 miles an hour.")
    to_100_km_h: float = quantity("s", "0-100 km/h", "From rest to 100 kilometres an hour.")
    passing: float = quantity(
        "s", "50-70 mph", "From 50 to 70 miles an hour in the best gear for it, changing up."
    )
    passing_gear: int = quantity("-", "gear at 50 mph", "Gear in which that begins, from 1.")
    passing_top: float = quantity(
        "s", "50-70 mph in top gear", "The same without leaving the highest gear."
    )
    quarter_mile: float = quantity("s", "quarter mile", "Time from rest over 402.3 m.")
    quarter_mile_speed: float = quantity("m/s", "speed there", "At the end of the quarter mile.")
    shift_speeds: tuple[float, ...] = quantity(
        "rpm", "changes up", "Engine speeds in the lower gear.", shape="(change,)"
    )
    time: Floats = quantity("s", "time", "Of the run from rest.", shape="(sample,)")
    speed: Floats = quantity("m/s", "road speed", "During that run.", shape="(sample,)")
    distance: Floats = quantity("m", "distance", "During that run.", shape="(sample,)")


def accelerate(vehicle: Vehicle, rpm: ArrayLike, torque: ArrayLike) -> Acceleration:
    """
    Acceleration times of a vehicle with an engine.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.
    rpm : array_like
        Engine speeds, rising. [rpm]
    torque : array_like
        Brake torque at those speeds, wide open. [N m]

    Returns
    -------
    Acceleration
        Times, and the run from rest.

    Raises
    ------
    ResultError
        If the torque curve is no curve.

    Examples
    --------
    >>> from enginesim.vehicle import load
    >>> run = accelerate(load("cases/vehicles/estate.toml"), [2000, 4000, 6000], [350, 400, 330])
    >>> run.to_60_mph < run.quarter_mile
    True
    """
    line = Driveline(vehicle, rpm, torque)
    shifts = shift_speeds(line)
    targets = (SIXTY_MPH, HUNDRED_KM_H)
    run = drive(line, shifts, Course(speeds=targets, distance=QUARTER_MILE))
    passing, gear = _passing(line, shifts)
    return Acceleration(
        to_60_mph=run.reached.get(SIXTY_MPH, math.nan),
        to_100_km_h=run.reached.get(HUNDRED_KM_H, math.nan),
        passing=passing,
        passing_gear=gear,
        passing_top=_without_change(line, line.n_gears - 1),
        quarter_mile=run.finish,
        quarter_mile_speed=run.finish_speed,
        shift_speeds=shifts,
        time=run.time,
        speed=run.speed,
        distance=run.distance,
    )


def _passing(line: Driveline, shifts: tuple[float, ...]) -> tuple[float, int]:
    """Best time from 50 to 70 mph over the gears that may begin it, and that gear."""
    low, high = PASSING
    best, chosen = math.nan, 0
    for gear in range(line.n_gears):
        if not line.lowest <= line.engine_speed(gear, low) < line.highest:
            continue
        run = drive(line, shifts, Course(speeds=(high,)), speed=low, gear=gear)
        time = run.reached.get(high, math.nan)
        if not time >= best:
            best, chosen = time, gear + 1
    return best, chosen


def _without_change(line: Driveline, gear: int) -> float:
    """Time from 50 to 70 mph in one gear."""
    low, high = PASSING
    if line.engine_speed(gear, low) < line.lowest or line.engine_speed(gear, high) > line.highest:
        return math.nan
    held = (line.highest,) * (line.n_gears - 1)
    run = drive(line, held, Course(speeds=(high,)), speed=low, gear=gear)
    return run.reached.get(high, math.nan)
