"""What is the state of a perfect gas in steady isentropic flow, and where does a nozzle shock?

Source: NACA Report 1135, *Equations, Tables, and Charts for Compressible Flow* (1953), isentropic
and normal-shock relations (from memory; recomputed in the tests).
"""

from __future__ import annotations

import math
from typing import NamedTuple

from scipy.optimize import brentq


def temperature_ratio(mach: float, gamma: float) -> float:
    """Static over stagnation temperature [-]."""
    return 1.0 / (1.0 + 0.5 * (gamma - 1.0) * mach**2)


def pressure_ratio(mach: float, gamma: float) -> float:
    """Static over stagnation pressure [-]."""
    return temperature_ratio(mach, gamma) ** (gamma / (gamma - 1.0))


def density_ratio(mach: float, gamma: float) -> float:
    """Static over stagnation density [-]."""
    return temperature_ratio(mach, gamma) ** (1.0 / (gamma - 1.0))


def mach_at_pressure(ratio: float, gamma: float) -> float:
    """Mach number at which static over stagnation pressure is `ratio` [-]."""
    return math.sqrt(2.0 / (gamma - 1.0) * (ratio ** ((1.0 - gamma) / gamma) - 1.0))


def area_ratio(mach: float, gamma: float) -> float:
    """Area over the area at which the same flow would be sonic, A/A* [-]."""
    power = (gamma + 1.0) / (2.0 * (gamma - 1.0))
    return (2.0 / (gamma + 1.0) / temperature_ratio(mach, gamma)) ** power / mach


def mach_at_area(ratio: float, gamma: float, *, supersonic: bool = False) -> float:
    """Mach number at which A/A* is `ratio` on the chosen branch [-]."""
    low, high = (1.0, 50.0) if supersonic else (1e-9, 1.0)
    return float(brentq(lambda m: area_ratio(m, gamma) - ratio, low, high, xtol=1e-15))


def mass_flux(p_0: float, t_0: float, mach: float, gamma: float, r_gas: float) -> float:
    """Mass flow per area from stagnation state [Pa, K] at a Mach number [kg/(s m2)]."""
    t_ratio = temperature_ratio(mach, gamma)
    rho = pressure_ratio(mach, gamma) * p_0 / (r_gas * t_ratio * t_0)
    return rho * mach * math.sqrt(gamma * r_gas * t_ratio * t_0)


class Shock(NamedTuple):
    """Behind a normal shock: Mach number, and the ratios behind over ahead."""

    mach: float
    pressure: float
    temperature: float
    stagnation_pressure: float


def normal_shock(mach: float, gamma: float) -> Shock:
    """State behind a normal shock that meets a flow of the given Mach number (> 1)."""
    square = mach**2
    pressure = 1.0 + 2.0 * gamma / (gamma + 1.0) * (square - 1.0)
    density = (gamma + 1.0) * square / ((gamma - 1.0) * square + 2.0)
    behind = math.sqrt(
        (1.0 + 0.5 * (gamma - 1.0) * square) / (gamma * square - 0.5 * (gamma - 1.0))
    )
    stagnation = pressure * pressure_ratio(mach, gamma) / pressure_ratio(behind, gamma)
    return Shock(behind, pressure, pressure / density, stagnation)


class ShockedNozzle(NamedTuple):
    """Where a choked nozzle shocks: area over throat area, Mach ahead, Mach at the outlet."""

    area_ratio: float
    mach: float
    mach_outlet: float


def shocked_nozzle(outlet_ratio: float, back: float, gamma: float) -> ShockedNozzle:
    """
    Shock in the widening part of a choked nozzle.

    `outlet_ratio` is outlet over throat area, `back` the pressure behind the outlet over the
    stagnation pressure before the nozzle.

    Raises
    ------
    ValueError
        If no shock stands inside the nozzle at this pressure.
    """

    def outlet(mach: float) -> tuple[float, float]:
        """Outlet Mach number, and outlet pressure over the first stagnation pressure."""
        loss = normal_shock(mach, gamma).stagnation_pressure
        mach_outlet = mach_at_area(outlet_ratio * loss, gamma)
        return mach_outlet, loss * pressure_ratio(mach_outlet, gamma)

    highest = mach_at_area(outlet_ratio, gamma, supersonic=True)
    if not outlet(highest)[1] < back < outlet(1.0 + 1e-9)[1]:
        raise ValueError("no shock stands in the nozzle at this back pressure")
    mach = float(brentq(lambda m: outlet(m)[1] - back, 1.0 + 1e-9, highest, xtol=1e-14))
    return ShockedNozzle(area_ratio(mach, gamma), mach, outlet(mach)[0])
