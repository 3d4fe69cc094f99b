"""What smooth waves travel down a pipe unchanged, so that a scheme's order shows?

A hot spot carried with the flow (entropy wave) is exact for any amplitude; a small pressure pulse
into gas at rest is exact to the square of its amplitude, and in closed form (before it breaks)
as a simple wave: `tests.exact.simple_wave.travelled`.

In a cone a small spherical wave is exact, as far as its nearer field.

Source: the Euler equations themselves: linear field, and Riemann invariants; spherical waves, any
text on acoustics.
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


def spherical_pulse(
    r: Samples,
    time: float,
    rest: State,
    amplitude: float,
    centre: float,
    width: float,
    gamma: float,
) -> State:
    """
    Small pulse that runs outwards in a cone, `r` from its apex [m]; first order in `amplitude`.

    With F the negative slope of a hump H, pressure is F(r - a t)/r and velocity, over the wave's
    impedance, F/r + H/r^2. `amplitude` is the relative pressure rise of the crest (a third of the
    half `width` ahead of the middle) times its r over `centre`.
    """
    a = float(np.sqrt(gamma * rest.p / rest.rho))
    turn = 0.5 * np.pi / width
    z = np.clip(r - centre - a * time, -width, width) * turn
    # The steepest place of cos^4 is at tan z = 1/sqrt(3): slope 3 sqrt(3)/4 there.
    scale = amplitude * centre / (0.75 * np.sqrt(3.0))
    wave = scale * 4.0 * np.cos(z) ** 3 * np.sin(z)
    near = scale * np.cos(z) ** 4 / turn
    rise = wave / r
    return State(
        rest.rho * (1.0 + rise / gamma), a / gamma * (wave / r + near / r**2), rest.p * (1.0 + rise)
    )
