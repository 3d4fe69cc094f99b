"""What happens to a cylinder when a valve closes or opens, and when the spark jumps?

Source: definitions; docs/theory/cylinder.md, "Phases".
"""

from __future__ import annotations

import math

from enginesim.base.formula import formula
from enginesim.base.jit import kernel
from enginesim.formulas import crank, heat_transfer, knock, wiebe
from enginesim.kernels import chamber_walls, combustion, zones
from enginesim.kernels import gas as mixture
from enginesim.kernels.arrays import Vector
from enginesim.kernels.cylinder_layout import (
    C_AIR,
    C_BURN_LENGTH,
    C_BURN_START,
    C_BURNED,
    C_CA10,
    C_CA50,
    C_CA90,
    C_ENERGY,
    C_EVO_P,
    C_EVO_T,
    C_FUEL,
    C_GAMMA,
    C_H,
    C_HEAT_RATE,
    C_IVC_AIR,
    C_IVC_ANGLE,
    C_IVC_BURNED,
    C_IVC_ENERGY,
    C_IVC_FUEL,
    C_KNOCK,
    C_KNOCK_END,
    C_KNOCK_RATE,
    C_LAST_CA10,
    C_LAST_CA50,
    C_LAST_CA90,
    C_LAST_KNOCK,
    C_LAST_LENGTH,
    C_LAST_PEAK,
    C_LAST_PEAK_ANGLE,
    C_LAST_SPARK,
    C_MASS,
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
    C_T_BURNED,
    C_T_UNBURNED,
    C_UNBURNED,
    C_VOLUME,
    C_WOSCHNI,
    C_X,
    C_YB,
    C_YF,
    P_BORE,
    P_CLEARANCE,
    P_EVO,
    P_IVC,
    P_MEMORY,
    P_PIN_OFFSET,
    P_ROD,
    P_SPARK,
    P_STOICHIOMETRIC,
    P_STROKE,
    P_WIEBE_A,
    P_WIEBE_M,
    PHASE_BURNING,
    PHASE_BURNT,
    PHASE_CLOSED,
    PHASE_LIT,
    PHASE_OPEN,
)
from enginesim.kernels.layout import G_OCTANE, G_R
from enginesim.kernels.status import NEGATIVE_ENERGY, NEGATIVE_MASS, NO_CONVERGENCE, OK

_TURN = 2.0 * math.pi
#: Angles closer than this are the same [rad].
NEAR = 1e-9
#: A gas colder than this has no energy left to be a gas of ours [K].
T_MIN = 60.0
#: The knock integral ends when less than this part of the charge is left unburned [-].
END_GAS = 0.02
#: Last Newton step for a temperature, relative: without dissociation the next one is of its square,
#: with it the next one still follows the pressure at which the table is read [-].
COLD_TOLERANCE, HOT_TOLERANCE = 1e-5, 1e-6
_MOST_STEPS = 40


@formula
def own_angle(theta: float) -> float:
    """
    Angle of the cylinder's own cycle.

    Parameters
    ----------
    theta : float
        Angle from any of its firing top dead centres. [rad]

    Returns
    -------
    float
        The same from the nearest one, -2 pi up to 2 pi. [rad]
    """
    if -_TURN <= theta < _TURN:
        return theta
    return theta - 2.0 * _TURN * math.floor((theta + _TURN) / (2.0 * _TURN))


@formula
def volume_at(par: Vector, theta: float) -> float:
    """
    Cylinder volume.

    Parameters
    ----------
    par : ndarray, shape (n_parameter,)
        Parameters of the cylinder. [-]
    theta : float
        Own angle. [rad]

    Returns
    -------
    float
        Volume. [m3]
    """
    return crank.volume(
        theta, par[P_BORE], par[P_STROKE], par[P_ROD], par[P_PIN_OFFSET], par[P_CLEARANCE]
    )


@kernel
def settle(cyl: Vector, gas: Vector) -> int:
    """
    One zone: state from contents and volume; nothing that is conserved changes.

    Parameters
    ----------
    cyl : ndarray, shape (n_cylinder,)
        State of the cylinder: contents, volume and a near temperature are read. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]

    Returns
    -------
    int
        Status. [-]
    """
    mass = cyl[C_AIR] + cyl[C_FUEL] + cyl[C_BURNED]
    if not mass > 0.0:
        return NEGATIVE_MASS
    volume = cyl[C_VOLUME]
    y_b, y_f = cyl[C_BURNED] / mass, cyl[C_FUEL] / mass
    t, t_old = cyl[C_T], 0.0
    p, r, c_v = 0.0, cyl[C_R], 1.0
    for _ in range(_MOST_STEPS):
        t_old = t
        t, p, r, c_v = zones.one_zone(
            gas, mass, y_b, y_f, cyl[C_ENERGY], 0.0, 0.0, volume, t_old, r
        )
        if abs(t - t_old) <= HOT_TOLERANCE * t:
            break
    write_one_zone(cyl, mass, y_b, y_f, p, t, r, c_v)
    return solved(t, t_old, HOT_TOLERANCE)


@formula
def solved(t: float, t_old: float, tolerance: float) -> int:
    """
    Status of an iteration for a temperature.

    Parameters
    ----------
    t, t_old : float
        Last and last but one iterate. [K]
    tolerance : float
        Allowed difference over `t`. [-]

    Returns
    -------
    int
        Status. [-]
    """
    if not t > T_MIN:
        return NEGATIVE_ENERGY
    if not abs(t - t_old) <= tolerance * t:
        return NO_CONVERGENCE
    return OK


@formula
def write_one_zone(
    cyl: Vector, mass: float, y_b: float, y_f: float, p: float, t: float, r: float, c_v: float
) -> None:
    """
    State of a cylinder of one zone, as the valves see it.

    Parameters
    ----------
    cyl : ndarray, shape (n_cylinder,)
        State of the cylinder; its energy and volume are read. [-]
    mass : float
        Mass. [kg]
    y_b, y_f : float
        Burned and fuel-vapour mass fractions. [-]
    p, t : float
        Pressure [Pa] and temperature [K].
    r : float
        Gas constant. [J/(kg K)]
    c_v : float
        Frozen heat capacity. [J/(kg K)]
    """
    cyl[C_MASS] = mass
    cyl[C_YB] = y_b
    cyl[C_YF] = y_f
    cyl[C_P] = p
    cyl[C_T] = t
    cyl[C_T_UNBURNED] = t
    cyl[C_T_BURNED] = t
    cyl[C_R] = r
    cyl[C_GAMMA] = 1.0 + r / c_v
    cyl[C_H] = (cyl[C_ENERGY] + p * cyl[C_VOLUME]) / mass


@formula
def enter(
    cyl: Vector, par: Vector, gas: Vector, start: float, end: float, omega: float, has_flow: bool
) -> int:
    """
    Bring the phase up to date at the beginning of a step.

    Parameters
    ----------
    cyl : ndarray, shape (n_cylinder,)
        State of the cylinder. [-]
    par : ndarray, shape (n_parameter,)
        Parameters of the cylinder. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    start, end : float
        Own angles between which the step goes. [rad]
    omega : float
        Crank speed. [rad/s]
    has_flow : bool
        Whether anything comes or goes in the step: that ends two zones.

    Returns
    -------
    int
        Status. [-]
    """
    phase = cyl[C_PHASE]
    is_shut = start >= par[P_IVC] - NEAR and end <= par[P_EVO] + NEAR
    status = OK
    if phase == PHASE_OPEN:
        if is_shut and start < 0.0:
            close(cyl, par, gas, start, omega)
            phase = PHASE_CLOSED
    elif not is_shut:
        if phase == PHASE_BURNING:
            status = settle(cyl, gas)
        _open(cyl, par, gas, omega)
        phase = PHASE_OPEN
    elif phase == PHASE_BURNING and has_flow:
        status = settle(cyl, gas)
        cyl[C_PHASE] = PHASE_BURNT
        phase = PHASE_BURNT
    if phase == PHASE_CLOSED and end > par[P_SPARK]:
        _light(cyl, par, gas, max(par[P_SPARK], start), omega)
    return status


@kernel
def close(cyl: Vector, par: Vector, gas: Vector, theta: float, omega: float) -> None:
    """
    Intake closing: remember the contents, begin the closed part of the cycle.

    Parameters
    ----------
    cyl : ndarray, shape (n_cylinder,)
        State of the cylinder. [-]
    par : ndarray, shape (n_parameter,)
        Parameters of the cylinder. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    theta : float
        Own angle. [rad]
    omega : float
        Crank speed. [rad/s]
    """
    cyl[C_PHASE] = PHASE_CLOSED
    cyl[C_IVC_AIR] = cyl[C_AIR]
    cyl[C_IVC_FUEL] = cyl[C_FUEL]
    cyl[C_IVC_BURNED] = cyl[C_BURNED]
    cyl[C_IVC_ENERGY] = cyl[C_ENERGY]
    cyl[C_IVC_ANGLE] = theta
    cyl[C_X] = 0.0
    cyl[C_UNBURNED] = 0.0
    cyl[C_KNOCK] = 0.0
    cyl[C_KNOCK_RATE] = knock.knock_rate(gas[G_OCTANE], cyl[C_P], cyl[C_T])
    cyl[C_KNOCK_END] = par[P_EVO]
    cyl[C_PEAK] = cyl[C_P]
    cyl[C_PEAK_ANGLE] = theta
    for k in (C_CA10, C_CA50, C_CA90, C_SPARK):
        cyl[k] = math.nan
    cyl[C_HEAT_RATE] = chamber_walls.heat_rate(
        cyl, par, gas, cyl[C_P], cyl[C_T], cyl[C_VOLUME], omega
    )[0]


@kernel
def _open(cyl: Vector, par: Vector, gas: Vector, omega: float) -> None:
    cyl[C_PHASE] = PHASE_OPEN
    cyl[C_LAST_KNOCK] = cyl[C_KNOCK]
    cyl[C_LAST_PEAK] = cyl[C_PEAK]
    cyl[C_LAST_PEAK_ANGLE] = cyl[C_PEAK_ANGLE]
    cyl[C_LAST_CA10] = cyl[C_CA10]
    cyl[C_LAST_CA50] = cyl[C_CA50]
    cyl[C_LAST_CA90] = cyl[C_CA90]
    cyl[C_LAST_SPARK] = cyl[C_SPARK]
    cyl[C_EVO_P] = cyl[C_P]
    cyl[C_EVO_T] = cyl[C_T]
    cyl[C_HEAT_RATE] = chamber_walls.heat_rate(
        cyl, par, gas, cyl[C_P], cyl[C_T], cyl[C_VOLUME], omega
    )[0]


@kernel
def _light(cyl: Vector, par: Vector, gas: Vector, spark: float, omega: float) -> None:
    """Pace of the burn and reference of its pressure rise, from the isentrope to the spark."""
    gamma = cyl[C_GAMMA]
    volume = volume_at(par, spark)
    squeeze = (cyl[C_VOLUME] / volume) ** (gamma - 1.0)
    t = cyl[C_T] * squeeze
    p = cyl[C_P] * squeeze * cyl[C_VOLUME] / volume
    phi = cyl[C_FUEL] / (max(cyl[C_AIR], 1e-12) * par[P_STOICHIOMETRIC])
    r = mixture.gas_constant(gas, cyl[C_YB], cyl[C_YF])
    x_residual = cyl[C_YB] * (gas[G_R] + gas[G_R + 2]) / r
    speed = combustion.flame_speed(par, phi, x_residual, p, t)
    start, length = combustion.burn_schedule(par, spark, omega, speed)
    if par[P_MEMORY] > 0.0 and cyl[C_LAST_LENGTH] > 0.0:
        stretch = (cyl[C_LAST_LENGTH] / length) ** par[P_MEMORY]
        start = spark + (start - spark) * stretch
        length *= stretch
    cyl[C_PHASE] = PHASE_LIT
    cyl[C_SPARK] = spark
    cyl[C_BURN_START] = start
    cyl[C_BURN_LENGTH] = length
    cyl[C_LAST_LENGTH] = length
    a, m = par[P_WIEBE_A], par[P_WIEBE_M]
    cyl[C_CA10] = start + length * wiebe.position(0.1, a, m)
    cyl[C_CA50] = start + length * wiebe.position(0.5, a, m)
    cyl[C_CA90] = start + length * wiebe.position(0.9, a, m)
    cyl[C_KNOCK_END] = start + length * min(wiebe.position(1.0 - END_GAS, a, m), 1.0)
    swept = crank.swept_volume(par[P_BORE], par[P_STROKE])
    cyl[C_WOSCHNI] = heat_transfer.COMBUSTION * swept * t / (p * volume)
    cyl[C_MOTORED_P] = p
    cyl[C_MOTORED_V] = volume
    cyl[C_MOTORED_GAMMA] = gamma
