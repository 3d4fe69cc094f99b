"""How much heat does one cylinder give to piston, head and liner in its present state?"""

from __future__ import annotations

import math

from enginesim.base.formula import formula
from enginesim.formulas import crank, heat_transfer
from enginesim.kernels.arrays import Vector
from enginesim.kernels.cylinder_layout import (
    C_GAMMA,
    C_MASS,
    C_MOTORED_GAMMA,
    C_MOTORED_P,
    C_MOTORED_V,
    C_PHASE,
    C_R,
    C_WOSCHNI,
    HEAT_ANNAND,
    HEAT_HOHENBERG,
    P_AREA_HEAD,
    P_AREA_LINER,
    P_AREA_PISTON,
    P_BORE,
    P_CLEARANCE,
    P_HEAT_FACTOR,
    P_HEAT_MODEL,
    P_STROKE,
    P_T_HEAD,
    P_T_LINER,
    P_T_PISTON,
    PHASE_LIT,
    PHASE_OPEN,
)
from enginesim.kernels.layout import G_MU, G_PRANDTL

# Exponent of temperature in the viscosity of air, as fitted in `enginesim.gas.tables`.
_N_MU = 0.701


@formula
def motored_pressure(cyl: Vector, volume: float) -> float:
    """
    Pressure that the charge would have without its burn.

    Parameters
    ----------
    cyl : ndarray, shape (n_cylinder,)
        State of the cylinder, after the spark. [-]
    volume : float
        Cylinder volume. [m3]

    Returns
    -------
    float
        Pressure on the isentrope through the state at the spark. [Pa]

    Notes
    -----
    Source: definition, equation `motored-pressure` of docs/theory/cylinder.md.
    """
    return cyl[C_MOTORED_P] * math.exp(cyl[C_MOTORED_GAMMA] * math.log(cyl[C_MOTORED_V] / volume))


@formula
def heat_rate(
    cyl: Vector, par: Vector, gas: Vector, p: float, t: float, volume: float, omega: float
) -> tuple[float, float, float, float]:
    """
    Heat flow from the gas to the walls.

    Parameters
    ----------
    cyl : ndarray, shape (n_cylinder,)
        State of the cylinder: phase, mass, and the reference state of the burn are read. [-]
    par : ndarray, shape (n_parameter,)
        Parameters of the cylinder. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    p : float
        Pressure. [Pa]
    t : float
        Mass-mean temperature. [K]
    volume : float
        Cylinder volume. [m3]
    omega : float
        Crank speed. [rad/s]

    Returns
    -------
    tuple of float
        Heat flow [W]; conductance of all walls [W/K], their mean temperature [K] and the part of
        the flow that is radiation [W].

    Notes
    -----
    Source: the relations of :mod:`enginesim.formulas.heat_transfer`, equation `wall-heat` of
    docs/theory/cylinder.md.
    """
    factor = par[P_HEAT_FACTOR]
    if factor == 0.0:
        return 0.0, 0.0, t, 0.0
    bore = par[P_BORE]
    mean_speed = crank.mean_piston_speed(omega, par[P_STROKE])
    liner = par[P_AREA_LINER] + 4.0 / bore * (volume - par[P_CLEARANCE])
    head, piston = par[P_AREA_HEAD], par[P_AREA_PISTON]
    area = head + piston + liner
    t_head, t_piston, t_liner = par[P_T_HEAD], par[P_T_PISTON], par[P_T_LINER]
    t_wall = (head * t_head + piston * t_piston + liner * t_liner) / area
    phase = cyl[C_PHASE]
    has_burned = phase >= PHASE_LIT
    radiation = 0.0
    if par[P_HEAT_MODEL] == HEAT_HOHENBERG:
        coefficient = heat_transfer.hohenberg(volume, p, t, mean_speed)
    elif par[P_HEAT_MODEL] == HEAT_ANNAND:
        viscosity = gas[G_MU] * math.exp(_N_MU * math.log(t / 300.0))
        c_p = cyl[C_R] * cyl[C_GAMMA] / (cyl[C_GAMMA] - 1.0)
        conductivity = c_p * viscosity / gas[G_PRANDTL]
        density = cyl[C_MASS] / volume
        coefficient = heat_transfer.annand(bore, density, mean_speed, viscosity, conductivity)
        if has_burned:
            walls = head * t_head**4 + piston * t_piston**4 + liner * t_liner**4
            radiation = factor * heat_transfer.RADIATION * (area * t**4 - walls)
    else:
        rise = p - motored_pressure(cyl, volume) if has_burned else 0.0
        per_rise = cyl[C_WOSCHNI] if has_burned else 0.0
        velocity = heat_transfer.woschni_velocity(mean_speed, phase == PHASE_OPEN, rise, per_rise)
        coefficient = heat_transfer.woschni(bore, p, t, velocity)
    conductance = factor * coefficient * area
    return conductance * (t - t_wall) + radiation, conductance, t_wall, radiation


@formula
def burned_heat(
    part: float,
    t_u: float,
    t_b: float,
    t: float,
    t_wall: float,
    conductance: float,
    radiation: float,
) -> float:
    """
    Heat flow from the burned zone to the walls.

    Parameters
    ----------
    part : float
        Mass times gas constant of the burned zone over that of the cylinder. [-]
    t_u, t_b, t : float
        Temperatures of the unburned zone, the burned zone, and mean. [K]
    t_wall : float
        Mean temperature of the walls. [K]
    conductance : float
        Conductance of all walls. [W/K]
    radiation : float
        Radiation of the whole. [W]

    Returns
    -------
    float
        Heat flow. [W]

    Notes
    -----
    The unburned zone gives by convection what its temperature and its part of the volume demand,
    the burned zone the rest of the whole. Written so that the rest of next to no zone is next to
    nothing. Source: own choice, equation `burned-heat` of docs/theory/cylinder.md.
    """
    filled = part * t_b / t
    convection = conductance * (part * (t_b - t_u) + filled * (t_u - t_wall))
    return convection + filled * radiation
