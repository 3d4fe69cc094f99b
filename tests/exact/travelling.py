"""What smooth waves travel down a pipe unchanged, so that a scheme's order shows?

A hot spot carried with the flow (entropy wave) is exact for any amplitude; a small pressure pulse
into gas at rest is exact to the square of its amplitude, and in closed form (before it breaks)
as a simple wave: `tests.exact.simple_wave.travelled`.

Source: the Euler equations themselves: linear field, and Riemann invariants.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tests.exact.riemann import State

Samples = NDArray[np.float64]


def bump(x: Samples, width: float) -> Samples:
    """Smooth hump of height one between -width and +width: cos^4, three times smooth [-]."""
    inside = np.abs(x) < width
    return np.where(inside, np.cos(0.5 * np.pi * np.where(inside, x, 0.0) / width) ** 4, 0.0)


def entropy_wave(
    x: Samples, time: float, base: State, amplitude: float, centre: float, width: float
) -> State:
    """Density hump of relative height `amplitude` carried along at the flow's speed."""
    rho = base.rho * (1.0 + amplitude * bump(x - centre - base.u * time, width))
    return State(rho, np.full_like(rho, base.u), np.full_like(rho, base.p))


def acoustic_pulse(
    x: Samples,
    time: float,
    base: State,
    amplitude: float,
    centre: float,
    width: float,
    gamma: float,
) -> State:
    """Small pressure hump of relative height `amplitude` that runs right; first order in it."""
    a = float(np.sqrt(gamma * base.p / base.rho))
    rise = amplitude * bump(x - centre - (base.u + a) * time, width)
    return State(base.rho * (1.0 + rise / gamma), base.u + a * rise / gamma, base.p * (1.0 + rise))
