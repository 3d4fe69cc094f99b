"""
At which engine speed is it best to change up?

Source: the time from one road speed to another is the integral of 1/acceleration; docs/vehicle.md.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from enginesim.vehicle.traction import Driveline

_SAMPLES = 800


def best_shifts(line: Driveline) -> tuple[float, ...]:
    """
    Engine speeds of the changes up that cost the least time.

    Parameters
    ----------
    line : Driveline
        Vehicle with its engine.

    Returns
    -------
    tuple of float
        One for each change, in the lower gear. [rpm]

    Notes
    -----
    For each pair of gears the change that makes the time through their common range of road
    speed least: where the acceleration curves cross, also when a bumpy torque curve makes them
    cross several times. The time without pull is the same wherever the change is made, nearly.
    Two gears that both spin the tyres are alike: then the later change counts.
    """
    return tuple(_best_shift(line, gear) for gear in range(line.n_gears - 1))


def _best_shift(line: Driveline, gear: int) -> float:
    low = line.road_speed(gear + 1, line.lowest)
    high = line.road_speed(gear, line.highest)
    if low >= high:
        return line.highest
    speed = np.linspace(low, high, _SAMPLES)
    lower, higher = (
        np.array([line.acceleration(g, float(v)) for v in speed]) for g in (gear, gear + 1)
    )
    # Slower than this is no acceleration: the gear is of no use there.
    pace = 1.0 / np.maximum(lower, 1e-6) - 1.0 / np.maximum(higher, 1e-6)
    gained = np.concatenate([[0.0], np.cumsum(0.5 * (pace[1:] + pace[:-1]) * np.diff(speed))])
    least = gained.min()
    last = int(np.flatnonzero(gained <= least + 1e-9 * max(1.0, abs(least)))[-1])
    return line.engine_speed(gear, float(speed[last]))


def shift_speeds(line: Driveline) -> tuple[float, ...]:
    """
    Engine speeds of the changes up: the given ones, or the best.

    Parameters
    ----------
    line : Driveline
        Vehicle with its engine.

    Returns
    -------
    tuple of float
        One for each change, no higher than the engine goes. [rpm]
    """
    given = line.vehicle.gearbox.shift_speed
    if given is None:
        return best_shifts(line)
    changes = line.n_gears - 1
    each = given * changes if len(given) == 1 else given
    return tuple(min(speed, line.highest) for speed in each)
