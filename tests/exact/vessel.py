"""How does an adiabatic vessel fill, and how does it blow down through a choked opening?

Source: energy and mass balance of one well-stirred volume of perfect gas, written out and
integrated in closed form; no book needed.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from tests.exact.orifice import choked_coefficient, critical_ratio


class Content(NamedTuple):
    """Pressure [Pa], temperature [K], and mass over the first mass [-]."""

    p: float
    t: float
    mass_ratio: float


def filled_temperature(t_supply: float, gamma: float) -> float:
    """Temperature of an evacuated vessel after filling: flow work becomes heat [K]."""
    return gamma * t_supply


def filled(p_0: float, t_0: float, p_1: float, t_supply: float, gamma: float) -> Content:
    """Vessel at `p_0`, `t_0` after gas at `t_supply` has raised its pressure to `p_1`."""
    # Energy: V dp / (gamma - 1) = cp T_supply dm, so pressure is linear in mass.
    mass_ratio = 1.0 + (p_1 - p_0) / p_0 * t_0 / (gamma * t_supply)
    return Content(p_1, t_0 * p_1 / (p_0 * mass_ratio), mass_ratio)


def choked_filling_rate(
    volume: float, area: float, p_supply: float, t_supply: float, gamma: float, r_gas: float
) -> float:
    """Constant rate of pressure rise while the opening is choked [Pa/s]."""
    flow = area * p_supply / math.sqrt(r_gas * t_supply) * choked_coefficient(gamma)
    return gamma * r_gas * t_supply * flow / volume


def blowdown(
    volume: float, area: float, p_0: float, t_0: float, time: float, gamma: float, r_gas: float
) -> Content:
    """Content after `time` [s] of choked outflow; what stays behind expands isentropically."""
    rate = choked_coefficient(gamma) * area * math.sqrt(r_gas * t_0) / volume
    fall = 1.0 + 0.5 * (gamma - 1.0) * rate * time
    return Content(
        p_0 * fall ** (-2.0 * gamma / (gamma - 1.0)),
        t_0 * fall**-2.0,
        fall ** (-2.0 / (gamma - 1.0)),
    )


def unchoking_time(
    volume: float, area: float, p_0: float, t_0: float, p_back: float, gamma: float, r_gas: float
) -> float:
    """Time at which the opening of `blowdown` stops being choked [s]."""
    rate = choked_coefficient(gamma) * area * math.sqrt(r_gas * t_0) / volume
    ratio = p_back / (critical_ratio(gamma) * p_0)
    return (ratio ** (-(gamma - 1.0) / (2.0 * gamma)) - 1.0) * 2.0 / ((gamma - 1.0) * rate)
