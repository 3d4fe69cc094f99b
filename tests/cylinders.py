"""
One cylinder for tests: an invented engine, gases simple enough to work out by hand, and its march.

`par` and `cyl` are rows as :mod:`enginesim.kernels.cylinder_layout` has them.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import NDArray

from enginesim.gas import tables
from enginesim.kernels import cylinder_layout as at
from enginesim.kernels import layout
from enginesim.kernels.closed import N_TRACE, closed_cycle
from enginesim.kernels.contents import fill
from enginesim.kernels.status import OK
from enginesim.network.gas_array import gas_array

Array = NDArray[np.float64]

DEG = math.pi / 180.0
BORE, STROKE, ROD = 0.086, 0.086, 0.143
SWEPT = 0.25 * math.pi * BORE**2 * STROKE
NEVER = 10.0  # as a spark: after every exhaust opening

# Rhodes and Keck's constants of iso-octane (from memory), as the network writes them.
ISO_OCTANE_FLAME = (0.263, -0.847, 1.13, 2.18, -0.8, -0.16, 0.22)


def engine(*, compression: float = 10.0, heat: float = 0.0, **changes: float) -> Array:
    """Parameters of a square cylinder, adiabatic unless asked for; `changes` as ``spark=-0.3``."""
    bore_area = 0.25 * math.pi * BORE**2
    par = np.zeros(at.N_PARAMETER)
    values = {
        "bore": BORE,
        "stroke": STROKE,
        "rod": ROD,
        "clearance": SWEPT / (compression - 1.0),
        "area_head": 1.25 * bore_area,
        "area_piston": 1.05 * bore_area,
        "t_head": 490.0,
        "t_piston": 530.0,
        "t_liner": 410.0,
        "heat_model": at.HEAT_WOSCHNI,
        "heat_factor": heat,
        "p_crankcase": 1e5,
        "ivc": -125.0 * DEG,
        "evo": 125.0 * DEG,
        "spark": -25.0 * DEG,
        "wiebe_a": 5.0,
        "wiebe_m": 2.0,
        "delay": 22.0 * DEG,
        "duration": 25.0 * DEG,
        "omega_base": omega(3000.0),
        "flame_base": 1.0,
        "efficiency": 1.0,
        "stoichiometric": 1.0 / 15.14,
    }
    for name, value in (values | changes).items():
        par[getattr(at, f"P_{name.upper()}")] = value
    par[at.P_FLAME_PEAK : at.P_FLAME_P_SLOPE + 1] = ISO_OCTANE_FLAME
    return par


def omega(rpm: float) -> float:
    return rpm * math.pi / 30.0


def iso_octane(lambda_: float = 1.0) -> Array:
    """Real gas, as the simulation has it."""
    return _iso_octane(lambda_).copy()


@cache
def _iso_octane(lambda_: float) -> Array:
    return gas_array(tables("iso-octane", lambda_))


def perfect_gas(
    gamma: float = 1.4, r_gas: float = 287.0, release: float = 0.0, fuel_air: float = 0.05
) -> Array:
    """
    One gas under three names, of constant heat capacity and without dissociation.

    Each kilogram of `fuel` that burns sets `release` free: its energy lies so much higher.
    """
    c_v = r_gas / (gamma - 1.0)
    gas = np.zeros(layout.G_TABLES + 8)
    gas[layout.G_AIR + 1] = 1e3 * c_v
    gas[layout.G_FUEL] = release
    gas[layout.G_R] = r_gas
    gas[layout.G_FUEL_AIR] = fuel_air
    gas[layout.G_MU], gas[layout.G_PRANDTL] = 1.85e-5, 0.72
    gas[layout.G_OCTANE] = 95.0
    gas[layout.G_T0], gas[layout.G_DT], gas[layout.G_NT] = 1e9, 1.0, 2
    gas[layout.G_LNP0], gas[layout.G_DLNP], gas[layout.G_NP] = 0.0, 1.0, 2
    return gas


def filled(
    par: Array,
    gas: Array,
    *,
    p: float = 1e5,
    t: float = 360.0,
    y_b: float = 0.0,
    y_f: float = 0.0,
    theta: float | None = None,
) -> Array:
    """A cylinder filled at intake closing, or at `theta`."""
    cyl = np.zeros(at.N_CYLINDER)
    angle = par[at.P_IVC] if theta is None else theta
    assert fill(cyl, par, gas, p, t, y_b, y_f, angle) == OK
    return cyl


def charge(gas: Array, residual: float = 0.05) -> dict[str, float]:
    """Fractions of a charge of the gas array's own mixture, as :func:`filled` takes them."""
    fuel_air = gas[layout.G_FUEL_AIR]
    return {"y_b": residual, "y_f": (1.0 - residual) * fuel_air / (1.0 + fuel_air)}


def marched(
    cyl: Array, par: Array, gas: Array, speed: float = omega(3000.0), n_step: int = 250
) -> tuple[Array, Array]:
    """State at exhaust opening and trace of the closed part; `cyl` stays as it is."""
    row, trace = cyl.copy(), np.zeros((n_step + 1, N_TRACE))
    assert closed_cycle(row, par, gas, speed, n_step, trace) == OK
    return row, trace


def set_burn(par: Array, start: float, length: float) -> None:
    """Make the Wiebe law begin and last so, whatever the flame speed."""
    a, m = par[at.P_WIEBE_A], par[at.P_WIEBE_M]
    at_10, at_90 = ((-math.log(1.0 - x) / a) ** (1.0 / (m + 1.0)) for x in (0.1, 0.9))
    par[at.P_SPARK] = start
    par[at.P_DELAY] = at_10 * length
    par[at.P_DURATION] = (at_90 - at_10) * length
    par[at.P_SPEED_EXPONENT] = par[at.P_FLAME_EXPONENT] = 0.0
