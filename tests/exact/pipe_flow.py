"""What do wall friction or heat alone do to steady flow in a pipe of constant area?

Friction alone is Fanno flow, heat alone Rayleigh flow; star quantities are where the flow would
become sonic. The friction factor is Darcy's, four times Fanning's.

Source: A. H. Shapiro, *The Dynamics and Thermodynamics of Compressible Fluid Flow* (1953),
chapters on Fanno and Rayleigh lines (from memory; the tests integrate the equations of motion).
"""

from __future__ import annotations

import math

from scipy.optimize import brentq


def fanno_length(mach: float, gamma: float) -> float:
    """Darcy friction factor times length to the sonic point over diameter [-]."""
    square = mach**2
    spread = (gamma + 1.0) * square / (2.0 + (gamma - 1.0) * square)
    return (1.0 - square) / (gamma * square) + (gamma + 1.0) / (2.0 * gamma) * math.log(spread)


def fanno_mach(length: float, gamma: float) -> float:
    """Subsonic Mach number at which `fanno_length` has the given value [-]."""
    return float(brentq(lambda m: fanno_length(m, gamma) - length, 1e-4, 1.0, xtol=1e-15))


def fanno_temperature(mach: float, gamma: float) -> float:
    """T/T* [-]."""
    return (gamma + 1.0) / (2.0 + (gamma - 1.0) * mach**2)


def fanno_pressure(mach: float, gamma: float) -> float:
    """p/p* [-]."""
    return math.sqrt(fanno_temperature(mach, gamma)) / mach


def fanno_stagnation_pressure(mach: float, gamma: float) -> float:
    """p0/p0* [-]."""
    power = (gamma + 1.0) / (2.0 * (gamma - 1.0))
    return fanno_temperature(mach, gamma) ** -power / mach


def rayleigh_pressure(mach: float, gamma: float) -> float:
    """p/p* [-]."""
    return (1.0 + gamma) / (1.0 + gamma * mach**2)


def rayleigh_temperature(mach: float, gamma: float) -> float:
    """T/T* [-]."""
    return (mach * rayleigh_pressure(mach, gamma)) ** 2


def rayleigh_stagnation_temperature(mach: float, gamma: float) -> float:
    """T0/T0*: the heat added so far decides the Mach number [-]."""
    rise = (2.0 + (gamma - 1.0) * mach**2) / (gamma + 1.0)
    return rayleigh_temperature(mach, gamma) * rise


def rayleigh_mach(ratio: float, gamma: float) -> float:
    """Subsonic Mach number at which T0/T0* is `ratio` [-]."""
    return float(
        brentq(lambda m: rayleigh_stagnation_temperature(m, gamma) - ratio, 1e-6, 1.0, xtol=1e-15)
    )
