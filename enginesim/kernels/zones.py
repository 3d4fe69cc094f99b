"""Which temperatures and pressure do the gases of a cylinder have with a given energy?

One Newton step each for a cylinder of one zone and for one of two; the callers repeat them. The
unknown pressure at the end of a step takes part in the work of the step: the energy that is left
is `target` minus ``(p_old + p) / 2 dv``.

Source: first law, ideal gases. Equations `equilibrium-energy`, `energy-step`, `two-zones`,
`unburned-zone` of docs/theory/cylinder.md.
"""

from __future__ import annotations

import math

from enginesim.base.formula import formula
from enginesim.kernels import equilibrium
from enginesim.kernels import gas as mixture
from enginesim.kernels.arrays import Vector
from enginesim.kernels.layout import G_T0


@formula
def hot(
    gas: Vector, t: float, ln_p: float, y_b: float, y_f: float
) -> tuple[float, float, float, float, float]:
    """
    Energy and gas constant of a mixture whose burned part is in equilibrium.

    Parameters
    ----------
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    t : float
        Temperature. [K]
    ln_p : float
        Natural logarithm of the pressure in Pa. [-]
    y_b, y_f : float
        Burned and fuel-vapour mass fractions. [-]

    Returns
    -------
    tuple of float
        Internal energy [J/kg] and gas constant [J/(kg K)], the slopes of both in temperature
        [J/(kg K)], [J/(kg K2)], and the heat capacity of the frozen mixture [J/(kg K)].
    """
    u, c_v = mixture.energy_and_capacity(gas, t, y_b, y_f)
    r = mixture.gas_constant(gas, y_b, y_f)
    if t <= gas[G_T0]:
        return u, r, c_v, 0.0, c_v
    du, dr, du_t, dr_t = equilibrium.shift(gas, t, ln_p)
    return u + y_b * du, r + y_b * dr, c_v + y_b * du_t, y_b * dr_t, c_v


@formula
def one_zone(
    gas: Vector,
    mass: float,
    y_b: float,
    y_f: float,
    target: float,
    p_old: float,
    dv: float,
    volume: float,
    t: float,
    r: float,
) -> tuple[float, float, float, float]:
    """
    Improve the temperature of a cylinder of one zone.

    Parameters
    ----------
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    mass : float
        Mass. [kg]
    y_b, y_f : float
        Burned and fuel-vapour mass fractions. [-]
    target : float
        Internal energy before the work of the step. [J]
    p_old : float
        Pressure at the beginning of the step. [Pa]
    dv : float
        Change of volume in the step. [m3]
    volume : float
        Volume at its end. [m3]
    t : float
        Temperature, a guess. [K]
    r : float
        Gas constant, a guess; it only places the pressure at which dissociation is looked up.
        [J/(kg K)]

    Returns
    -------
    tuple of float
        Temperature [K]; pressure [Pa], gas constant [J/(kg K)] and frozen heat capacity
        [J/(kg K)] there.
    """
    density = mass / volume
    ln_p = 0.0
    if t > gas[G_T0]:
        ln_p = math.log(density * r * t)
    u, r, u_t, r_t, c_v = hot(gas, t, ln_p, y_b, y_f)
    p = density * r * t
    p_t = density * (r + r_t * t)
    excess = mass * u + 0.5 * (p_old + p) * dv - target
    change = -excess / (mass * u_t + 0.5 * dv * p_t)
    change = max(min(change, t), -0.5 * t)
    return t + change, p + p_t * change, r + r_t * change, c_v


@formula
def unburned_temperature(
    c_p: float, r: float, t_old: float, p_old: float, p: float, heat: float
) -> float:
    """
    Temperature of the unburned zone after a change of pressure.

    Parameters
    ----------
    c_p : float
        Heat capacity at the middle of the step. [J/(kg K)]
    r : float
        Gas constant. [J/(kg K)]
    t_old, p_old : float
        Temperature [K] and pressure [Pa] at the beginning.
    p : float
        Pressure at the end. [Pa]
    heat : float
        Heat lost per mass in the step. [J/kg]

    Returns
    -------
    float
        Temperature at the end. [K]

    Notes
    -----
    Trapezoidal rule for ``dh = v dp - dq``: second order in the step, and together with the work
    of the whole cylinder it leaves the burned zone exactly its own trapezoidal balance.
    """
    half = 0.5 * r * (p - p_old)
    return (t_old * (c_p + half / p_old) - heat) / (c_p - half / p)


@formula
def two_zones(
    gas: Vector,
    mass_u: float,
    y_bu: float,
    y_fu: float,
    t_old: float,
    heat: float,
    mass_b: float,
    y_bb: float,
    y_fb: float,
    target: float,
    p_old: float,
    dv: float,
    volume: float,
    p: float,
    t_u: float,
    t_b: float,
) -> tuple[float, float, float, float, float, float]:
    """
    Improve the common pressure of two zones, and their temperatures.

    Parameters
    ----------
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    mass_u : float
        Unburned mass at the end of the step. [kg]
    y_bu, y_fu : float
        Burned and fuel-vapour mass fractions of the unburned zone. [-]
    t_old : float
        Temperature of the unburned zone at the beginning. [K]
    heat : float
        Heat that it loses per mass in the step. [J/kg]
    mass_b : float
        Burned mass at the end of the step. [kg]
    y_bb, y_fb : float
        Burned and fuel-vapour mass fractions of the burned zone. [-]
    target : float
        Internal energy of both before the work of the step. [J]
    p_old : float
        Pressure at the beginning of the step. [Pa]
    dv : float
        Change of volume in the step. [m3]
    volume : float
        Volume at its end. [m3]
    p, t_u, t_b : float
        Pressure [Pa] and temperatures [K], guesses.

    Returns
    -------
    tuple of float
        Pressure [Pa], temperatures of the unburned and burned zone [K], gas constant of the
        burned zone [J/(kg K)], frozen heat capacities of the two [J/(kg K)].

    Notes
    -----
    Unknown are the pressure and the burned zone's temperature; the unburned one follows the
    pressure. The burned zone holds what the unburned one leaves of the energy.
    """
    r_u = mixture.gas_constant(gas, y_bu, y_fu)
    c_p = mixture.heat_capacity(gas, 0.5 * (t_old + t_u), y_bu, y_fu) + r_u
    t_u = unburned_temperature(c_p, r_u, t_old, p_old, p, heat)
    t_u_p = r_u * t_u / (c_p * p)
    u_u = mixture.energy(gas, t_u, y_bu, y_fu)
    c_vu = c_p - r_u
    u_b, r_b, u_bt, r_bt, c_vb = hot(gas, t_b, math.log(p), y_bb, y_fb)

    energy = mass_u * u_u + mass_b * u_b + 0.5 * (p_old + p) * dv - target
    energy_p = mass_u * c_vu * t_u_p + 0.5 * dv
    energy_t = mass_b * u_bt
    room = p * volume - mass_u * r_u * t_u - mass_b * r_b * t_b
    room_p = volume - mass_u * r_u * t_u_p
    room_t = -mass_b * (r_b + r_bt * t_b)

    determinant = energy_p * room_t - energy_t * room_p
    change_p = (energy_t * room - room_t * energy) / determinant
    change_t = (room_p * energy - energy_p * room) / determinant
    change_p = max(min(change_p, p), -0.5 * p)
    change_t = max(min(change_t, t_b), -0.5 * t_b)
    return (
        p + change_p,
        t_u + t_u_p * change_p,
        t_b + change_t,
        r_b + r_bt * change_t,
        c_vu,
        c_vb,
    )
