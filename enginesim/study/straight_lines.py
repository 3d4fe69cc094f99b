"""What can be said of straight lines between simulated speeds: their mean, and where they cross?

Source: definitions, in docs/compare.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Crossover:
    """
    Speed at which the better one changes.

    Attributes
    ----------
    rpm : float
        Where the straight lines between the speeds cross. [rpm]
    low, high : float
        Between these the difference is less than its own numerical error. [rpm]
    is_rising : bool
        Whether the difference is positive above it.
    """

    rpm: float
    low: float
    high: float
    is_rising: bool


def mean(rpm: Floats, values: Floats, low: float, high: float) -> float:
    """
    Mean of straight lines between points, from one speed to another.

    Parameters
    ----------
    rpm : ndarray, shape (n,)
        Rising. [rpm]
    values : ndarray, shape (n,)
        At these speeds. [-]
    low, high : float
        Ends of the stretch; the value there if they are the same. [rpm]

    Returns
    -------
    float
        Area over width, in the unit of the values. [-]
    """
    if low == high:
        return float(np.interp(low, rpm, values))
    grid = np.concatenate([[low], rpm[(rpm > low) & (rpm < high)], [high]])
    return float(np.trapezoid(np.interp(grid, rpm, values), grid) / (high - low))


def crossovers(rpm: Floats, difference: Floats, error: Floats) -> tuple[Crossover, ...]:
    """
    Where a difference changes its sign for good.

    Parameters
    ----------
    rpm : ndarray, shape (n,)
        Rising. [rpm]
    difference : ndarray, shape (n,)
        At these speeds. [-]
    error : ndarray, shape (n,)
        Size below which the difference says nothing, in the same unit. [-]

    Returns
    -------
    tuple of Crossover
        One between any two neighbouring speeds, of those where the difference is greater than
        its error, that have it on different sides of zero.

    Notes
    -----
    Straight lines between the speeds. A touch of zero, or a change of sign within the error, is no
    crossover. Source: definition.
    """
    sure = [i for i in range(len(rpm)) if difference[i] != 0 and abs(difference[i]) > error[i]]
    found = []
    for i, j in pairwise(sure):
        if (difference[i] > 0) == (difference[j] > 0):
            continue
        is_rising = bool(difference[j] > 0)
        start = -1.0 if is_rising else 1.0
        zeros = _zeros(rpm[i : j + 1], difference[i : j + 1])
        low = _zeros(rpm[i : j + 1], difference[i : j + 1] - start * error[i : j + 1])
        high = _zeros(rpm[i : j + 1], difference[i : j + 1] + start * error[i : j + 1])
        middle = 0.5 * (zeros[0] + zeros[-1])
        found.append(Crossover(middle, min(low[0], middle), max(high[-1], middle), is_rising))
    return tuple(found)


def _zeros(rpm: Floats, values: Floats) -> list[float]:
    """Speeds at which straight lines are zero; first and last value differ in sign."""
    found: list[float] = []
    for i in range(len(rpm) - 1):
        a, b = float(values[i]), float(values[i + 1])
        if a == 0.0:
            found.append(float(rpm[i]))
        elif a * b < 0.0:
            found.append(float(rpm[i] + (rpm[i + 1] - rpm[i]) * a / (a - b)))
    return found
