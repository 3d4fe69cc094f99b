"""How do waves of finite amplitude travel, meet, and reflect from closed and open ends?

A wave into gas at rest is described by X = (p/p0)^((gamma-1)/(2 gamma)), the ratio of sound
speeds, because two simple waves superpose in X and in nothing else.

Source: S. Earnshaw, "On the mathematical theory of sound", Phil. Trans. 150 (1860), and the wave
chapters of G. P. Blair, *Design and Simulation of Four-Stroke Engines* (SAE R-186, 1998); both
from memory. Piston-driven shock: the shock relations in `tests.exact.riemann`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float64]


def amplitude(ratio: float, gamma: float) -> float:
    """X of a pressure ratio [-]."""
    return ratio ** ((gamma - 1.0) / (2.0 * gamma))


def pressure(x: float, gamma: float) -> float:
    """Pressure ratio of an X [-]."""
    return x ** (2.0 * gamma / (gamma - 1.0))


def velocity(ratio: float, a_0: float, gamma: float) -> float:
    """Gas velocity behind a wave of the given pressure ratio, along its way [m/s]."""
    return 2.0 * a_0 / (gamma - 1.0) * (amplitude(ratio, gamma) - 1.0)


def propagation(ratio: float, a_0: float, gamma: float) -> float:
    """Speed at which the point of the wave with this pressure ratio travels [m/s]."""
    return velocity(ratio, a_0, gamma) + a_0 * amplitude(ratio, gamma)


class Superposed(NamedTuple):
    """Pressure ratio [-], and velocity along the way of the first wave [m/s]."""

    ratio: float
    velocity: float


def superposition(first: float, second: float, a_0: float, gamma: float) -> Superposed:
    """Two waves of given pressure ratios, travelling against each other, where they meet."""
    x_1, x_2 = amplitude(first, gamma), amplitude(second, gamma)
    return Superposed(pressure(x_1 + x_2 - 1.0, gamma), 2.0 * a_0 / (gamma - 1.0) * (x_1 - x_2))


def parted(ratio: Samples, u: Samples, a_0: float, gamma: float) -> tuple[Samples, Samples]:
    """Pressure ratios of the waves to the right and to the left that superpose to a state."""
    x = ratio ** ((gamma - 1.0) / (2.0 * gamma))
    half = 0.25 * (gamma - 1.0) * u / a_0
    power = 2.0 * gamma / (gamma - 1.0)
    return (0.5 * (x + 1.0) + half) ** power, (0.5 * (x + 1.0) - half) ** power


def closed_end(ratio: float, gamma: float) -> float:
    """Pressure ratio at a closed end while a wave of the given ratio meets it [-]."""
    return pressure(2.0 * amplitude(ratio, gamma) - 1.0, gamma)


def open_end(ratio: float, gamma: float) -> float:
    """Pressure ratio of the wave that an open end at ambient pressure sends back [-]."""
    return pressure(2.0 - amplitude(ratio, gamma), gamma)


class Piston(NamedTuple):
    """Wave of a piston: pressure ratio [-], and the speeds of its head and tail [m/s]."""

    ratio: float
    head: float
    tail: float


def piston(speed: float, a_0: float, gamma: float) -> Piston:
    """Wave ahead of a piston that starts at once; positive `speed` pushes the gas [m/s]."""
    if speed <= 0.0:
        x = 1.0 + 0.5 * (gamma - 1.0) * speed / a_0
        return Piston(pressure(x, gamma), a_0, a_0 * x + speed)
    half = 0.25 * (gamma + 1.0) * speed / a_0
    mach = half + math.sqrt(half**2 + 1.0)
    ratio = 1.0 + 2.0 * gamma / (gamma + 1.0) * (mach**2 - 1.0)
    return Piston(ratio, mach * a_0, mach * a_0)


def steepening_distance(u: float, frequency: float, a_0: float, gamma: float) -> float:
    """Way after which a sinusoidal wave of velocity amplitude `u` breaks into a shock [m]."""
    return a_0**2 / (0.5 * (gamma + 1.0) * 2.0 * math.pi * frequency * u)


def travelled(
    start: Callable[[Samples], Samples], place: Samples, time: float, a_0: float, gamma: float
) -> Samples:
    """
    Gas velocity of a wave that runs to the right into gas at rest, before it breaks [m/s].

    `start(x)` is the velocity at time zero [m/s]; each value of it travels at its own constant
    speed a0 + (gamma + 1)/2 u. `place` has shape (n,) [m]. The origins are found by bisection.
    """
    low, high = place - 4.0 * a_0 * time, place + 4.0 * a_0 * time
    for _ in range(80):
        middle = 0.5 * (low + high)
        is_short = middle + (a_0 + 0.5 * (gamma + 1.0) * start(middle)) * time < place
        low, high = np.where(is_short, middle, low), np.where(is_short, high, middle)
    return start(0.5 * (low + high))


def pressure_at(u: Samples, p_0: float, a_0: float, gamma: float) -> Samples:
    """Pressure where a right-running simple wave into gas at rest has velocity `u` [Pa]."""
    return p_0 * (1.0 + 0.5 * (gamma - 1.0) * u / a_0) ** (2.0 * gamma / (gamma - 1.0))
