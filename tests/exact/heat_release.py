"""What does a cylinder of perfect gas do while heat is released by a Wiebe law?

One zone, valves shut, adiabatic; in units of the pressure and volume at bottom dead centre, with
an infinitely long rod. Source: first law; the textbook example of C. R. Ferguson,
A. T. Kirkpatrick, *Internal Combustion Engines*, chapter 2 (from memory), integrated anew.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.integrate import solve_ivp

Way = Callable[[float], float]


@dataclass(frozen=True)
class Cycle:
    """Peak pressure over first [-], its angle [rad], work over p1 V1 [-]."""

    peak: float
    peak_angle: float
    work: float


def simple_volume(compression: float) -> tuple[Way, Way]:
    """Volume over that at bottom dead centre, and its slope; angle from top dead centre [rad]."""
    half = 0.5 * (1.0 - 1.0 / compression)
    return lambda x: 1.0 / compression + half * (1.0 - math.cos(x)), lambda x: half * math.sin(x)


def cycle(
    volume: Way,
    slope: Way,
    *,
    gamma: float,
    heat: float,
    start: float,
    length: float,
    a: float = 5.0,
    m: float = 2.0,
    first: float = -math.pi,
    last: float = math.pi,
) -> Cycle:
    """Pressure and work from `first` to `last`; `heat` over p1 V1, `start` and `length` [rad]."""

    def rate(x: float) -> float:
        z = (x - start) / length
        if not 0.0 < z < 1.0:
            return 0.0
        return heat * a * (m + 1.0) / length * z**m * math.exp(-a * z ** (m + 1.0))

    def change(x: float, state: np.ndarray) -> list[float]:
        p = state[0]
        dv = slope(x)
        return [((gamma - 1.0) * rate(x) - gamma * p * dv) / volume(x), p * dv]

    # The release begins and ends with kinks: no step may cross them.
    corners = sorted({first, last, *(x for x in (start, start + length) if first < x < last)})
    state, peak, angle = [1.0, 0.0], 0.0, first
    for low, high in pairwise(corners):
        found = solve_ivp(
            change, (low, high), state, method="DOP853", rtol=1e-11, atol=1e-12, dense_output=True
        )
        places = np.linspace(low, high, 20001)
        pressures = found.sol(places)[0]
        k = int(pressures.argmax())
        if pressures[k] > peak:
            peak, angle = float(pressures[k]), float(places[k])
        state = found.y[:, -1].tolist()
    return Cycle(peak, angle, state[1])
