"""With what does a cylinder begin: a given gas, or its contents when the intake closed?

Source: ideal-gas law, definition.
"""

from __future__ import annotations

import math

from enginesim.base.jit import kernel
from enginesim.kernels import phases, zones
from enginesim.kernels.arrays import Vector
from enginesim.kernels.cylinder_layout import (
    C_AIR,
    C_BURNED,
    C_CA10,
    C_CA50,
    C_CA90,
    C_ENERGY,
    C_FUEL,
    C_FUEL_BURNED,
    C_HEAT,
    C_IVC_AIR,
    C_IVC_ANGLE,
    C_IVC_BURNED,
    C_IVC_ENERGY,
    C_IVC_FUEL,
    C_LAST_CA10,
    C_LAST_CA50,
    C_LAST_CA90,
    C_LAST_SPARK,
    C_LEAK_AIR,
    C_LEAK_BURNED,
    C_LEAK_ENERGY,
    C_LEAK_FUEL,
    C_MOTORED_GAMMA,
    C_MOTORED_P,
    C_MOTORED_V,
    C_P,
    C_PEAK,
    C_PEAK_ANGLE,
    C_PHASE,
    C_R,
    C_SPARK,
    C_T,
    C_VOLUME,
    C_WORK,
    C_WORK_GROSS,
    P_EVO,
    P_IVC,
    P_SPARK,
    PHASE_BURNT,
    PHASE_CLOSED,
    PHASE_OPEN,
)
from enginesim.kernels.status import NEGATIVE_MASS


@kernel
def reset_cycle(cyl: Vector) -> None:
    """
    Set the sums of a cycle to zero; the state and what was found of the burn stay.

    Parameters
    ----------
    cyl : ndarray, shape (n_cylinder,)
        State of the cylinder. [-]
    """
    cyl[C_WORK] = 0.0
    cyl[C_WORK_GROSS] = 0.0
    cyl[C_HEAT] = 0.0
    cyl[C_LEAK_AIR] = 0.0
    cyl[C_LEAK_FUEL] = 0.0
    cyl[C_LEAK_BURNED] = 0.0
    cyl[C_LEAK_ENERGY] = 0.0
    cyl[C_FUEL_BURNED] = 0.0


@kernel
def fill(
    cyl: Vector,
    par: Vector,
    gas: Vector,
    p: float,
    t: float,
    y_b: float,
    y_f: float,
    theta: float,
) -> int:
    """
    Fill a cylinder with gas of one state, whatever was in its row.

    Parameters
    ----------
    cyl : ndarray, shape (n_cylinder,)
        State of the cylinder, written. [-]
    par : ndarray, shape (n_parameter,)
        Parameters of the cylinder. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    p : float
        Pressure. [Pa]
    t : float
        Temperature. [K]
    y_b, y_f : float
        Burned and fuel-vapour mass fractions. [-]
    theta : float
        Angle from the cylinder's firing top dead centre. [rad]

    Returns
    -------
    int
        Status. [-]

    Notes
    -----
    Between the intake's closing and the spark the charge will burn; after the spark, until the
    exhaust opens, it counts as burnt. Angles of a burn that has not been are not a number.
    """
    if not (p > 0.0 and t > 0.0):
        return NEGATIVE_MASS
    own = phases.own_angle(theta)
    for k in range(cyl.size):
        cyl[k] = 0.0
    for k in (C_CA10, C_CA50, C_CA90, C_SPARK):
        cyl[k] = math.nan
    for k in (C_LAST_CA10, C_LAST_CA50, C_LAST_CA90, C_LAST_SPARK):
        cyl[k] = math.nan
    u, r, _, _, _ = zones.hot(gas, t, math.log(p), y_b, y_f)
    volume = phases.volume_at(par, own)
    mass = p * volume / (r * t)
    cyl[C_VOLUME] = volume
    cyl[C_BURNED] = y_b * mass
    cyl[C_FUEL] = y_f * mass
    cyl[C_AIR] = mass - cyl[C_BURNED] - cyl[C_FUEL]
    cyl[C_ENERGY] = mass * u
    cyl[C_P] = p
    cyl[C_T] = t
    cyl[C_R] = r
    cyl[C_PHASE] = PHASE_OPEN
    if par[P_IVC] <= own < par[P_EVO]:
        cyl[C_PHASE] = PHASE_CLOSED if own <= par[P_SPARK] and own < 0.0 else PHASE_BURNT
    cyl[C_IVC_AIR] = cyl[C_AIR]
    cyl[C_IVC_FUEL] = cyl[C_FUEL]
    cyl[C_IVC_BURNED] = cyl[C_BURNED]
    cyl[C_IVC_ENERGY] = cyl[C_ENERGY]
    cyl[C_IVC_ANGLE] = own
    cyl[C_PEAK] = p
    cyl[C_PEAK_ANGLE] = own
    cyl[C_MOTORED_P] = p
    cyl[C_MOTORED_V] = volume
    cyl[C_MOTORED_GAMMA] = 1.35
    return phases.settle(cyl, gas)


@kernel
def return_to_closing(cyl: Vector, par: Vector, gas: Vector, omega: float) -> int:
    """
    Put a cylinder back to its last intake closing, with its sums at zero.

    Parameters
    ----------
    cyl : ndarray, shape (n_cylinder,)
        State of the cylinder, written. [-]
    par : ndarray, shape (n_parameter,)
        Parameters of the cylinder. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    omega : float
        Crank speed. [rad/s]

    Returns
    -------
    int
        Status. [-]
    """
    reset_cycle(cyl)
    cyl[C_AIR] = cyl[C_IVC_AIR]
    cyl[C_FUEL] = cyl[C_IVC_FUEL]
    cyl[C_BURNED] = cyl[C_IVC_BURNED]
    cyl[C_ENERGY] = cyl[C_IVC_ENERGY]
    cyl[C_VOLUME] = phases.volume_at(par, cyl[C_IVC_ANGLE])
    cyl[C_T] = 350.0
    status = phases.settle(cyl, gas)
    phases.close(cyl, par, gas, cyl[C_IVC_ANGLE], omega)
    return status
