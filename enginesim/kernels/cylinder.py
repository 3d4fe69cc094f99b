"""How does the gas in one cylinder change over one step of the crank?

Contents and internal energy are the state; everything else follows from them. Heat and knock go
by the trapezoidal rule, the work by the mean of the pressures before and after, found together
with the new state: second order, and the work that is summed is the work that the gas has lost.
Blow-by and what comes through the valves are taken at the rate of the step's beginning.

Source: first law; equations `first-law`, `energy-step`, `two-zones`, `unburned-zone` of
docs/theory/cylinder.md.
"""

from __future__ import annotations

import math

from enginesim.base.formula import formula
from enginesim.base.jit import kernel
from enginesim.formulas import knock, nozzle, wiebe
from enginesim.kernels import chamber_walls, combustion, phases, zones
from enginesim.kernels import gas as mixture
from enginesim.kernels.arrays import Vector
from enginesim.kernels.cylinder_layout import (
    C_AIR,
    C_BURN_LENGTH,
    C_BURN_START,
    C_BURNED,
    C_ENERGY,
    C_FUEL,
    C_FUEL_BURNED,
    C_GAMMA,
    C_H,
    C_HEAT,
    C_HEAT_BURNED,
    C_HEAT_RATE,
    C_KNOCK,
    C_KNOCK_END,
    C_KNOCK_RATE,
    C_LEAK_AIR,
    C_LEAK_BURNED,
    C_LEAK_ENERGY,
    C_LEAK_FUEL,
    C_MASS,
    C_P,
    C_PEAK,
    C_PEAK_ANGLE,
    C_PHASE,
    C_R,
    C_T,
    C_T_BURNED,
    C_T_UNBURNED,
    C_UNBURNED,
    C_VOLUME,
    C_WORK,
    C_WORK_GROSS,
    C_X,
    C_YB,
    C_YB_UNBURNED,
    C_YF,
    C_YF_UNBURNED,
    P_BLOW_BY_AREA,
    P_EFFICIENCY,
    P_P_CRANKCASE,
    P_WIEBE_A,
    P_WIEBE_M,
    PHASE_BURNING,
    PHASE_BURNT,
    PHASE_LIT,
    PHASE_OPEN,
)
from enginesim.kernels.layout import G_FUEL_AIR, G_OCTANE, G_T0
from enginesim.kernels.phases import COLD_TOLERANCE, HOT_TOLERANCE, NEAR, T_MIN
from enginesim.kernels.status import NEGATIVE_ENERGY, NEGATIVE_MASS, NO_CONVERGENCE, OK

#: Two zones begin when the flame has passed this part of the charge: the energy of a smaller burned
#: zone would drown in what blow-by, taken at the step's beginning, leaves over [-].
FIRST_FLAME = 1e-4

_MOST_STEPS = 40
_T_FLAME = 2400.0  # first guess of the first burned gas [K]
_ROUNDING = 1e-9  # a content may be this little below zero, over the whole mass


@kernel
def advance(
    cyl: Vector,
    par: Vector,
    gas: Vector,
    theta: float,
    dtheta: float,
    omega: float,
    d_air: float,
    d_fuel: float,
    d_burned: float,
    d_energy: float,
) -> int:
    """
    Advance one cylinder by one step, in place.

    Parameters
    ----------
    cyl : ndarray, shape (n_cylinder,)
        State of the cylinder. [-]
    par : ndarray, shape (n_parameter,)
        Parameters of the cylinder. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    theta : float
        Angle at the beginning of the step, from the cylinder's firing top dead centre. [rad]
    dtheta : float
        Length of the step. [rad]
    omega : float
        Crank speed. [rad/s]
    d_air, d_fuel, d_burned : float
        What comes in through valves and injector during the step, less what goes out. [kg]
    d_energy : float
        The enthalpy of that. [J]

    Returns
    -------
    int
        Status; the row is of no use unless it is ``OK``. [-]
    """
    start = phases.own_angle(theta)
    end = start + dtheta
    dt = dtheta / omega
    has_flow = d_air != 0.0 or d_fuel != 0.0 or d_burned != 0.0 or d_energy != 0.0
    status = phases.enter(cyl, par, gas, start, end, omega, has_flow)
    if status != OK:
        return status

    if par[P_BLOW_BY_AREA] > 0.0:
        _leak(cyl, par, dt)
    cyl[C_AIR] += d_air
    cyl[C_FUEL] += d_fuel
    cyl[C_BURNED] += d_burned
    cyl[C_ENERGY] += d_energy
    mass = cyl[C_AIR] + cyl[C_FUEL] + cyl[C_BURNED]
    least = -_ROUNDING * mass
    if not mass > 0.0 or cyl[C_AIR] < least or cyl[C_FUEL] < least or cyl[C_BURNED] < least:
        return NEGATIVE_MASS
    cyl[C_MASS] = mass

    p_old = cyl[C_P]
    volume = phases.volume_at(par, end)
    dv = volume - cyl[C_VOLUME]
    cyl[C_VOLUME] = volume
    x = 0.0
    if cyl[C_PHASE] == PHASE_LIT or cyl[C_PHASE] == PHASE_BURNING:
        place = (end - cyl[C_BURN_START]) / cyl[C_BURN_LENGTH]
        x = wiebe.burned_fraction(place, par[P_WIEBE_A], par[P_WIEBE_M])
    if x > FIRST_FLAME:
        status = _burn(cyl, par, gas, x, p_old, dv, dt, omega)
    else:
        status = _turn(cyl, par, gas, p_old, dv, dt, omega)

    work = 0.5 * (p_old + cyl[C_P]) * dv
    cyl[C_WORK] += work
    if abs(start + end) < 2.0 * math.pi:
        cyl[C_WORK_GROSS] += work
    if cyl[C_PHASE] != PHASE_OPEN:
        _watch(cyl, gas, start, end, omega)
        is_over = end >= cyl[C_BURN_START] + cyl[C_BURN_LENGTH] - NEAR
        if cyl[C_PHASE] == PHASE_BURNING and is_over and status == OK:
            status = phases.settle(cyl, gas)
            cyl[C_PHASE] = PHASE_BURNT
    return status


@formula
def _leak(cyl: Vector, par: Vector, dt: float) -> None:
    """Blow-by: every content goes in proportion, with the enthalpy of the whole."""
    if cyl[C_P] <= par[P_P_CRANKCASE]:
        return
    flow = nozzle.mass_flow(
        par[P_BLOW_BY_AREA], cyl[C_P], cyl[C_T], par[P_P_CRANKCASE], cyl[C_GAMMA], cyl[C_R]
    )
    part = min(flow * dt / cyl[C_MASS], 0.5)
    lost = part * cyl[C_MASS] * cyl[C_H]
    cyl[C_LEAK_AIR] += part * cyl[C_AIR]
    cyl[C_LEAK_FUEL] += part * cyl[C_FUEL]
    cyl[C_LEAK_BURNED] += part * cyl[C_BURNED]
    cyl[C_LEAK_ENERGY] += lost
    cyl[C_AIR] -= part * cyl[C_AIR]
    cyl[C_FUEL] -= part * cyl[C_FUEL]
    cyl[C_BURNED] -= part * cyl[C_BURNED]
    cyl[C_UNBURNED] -= part * cyl[C_UNBURNED]
    cyl[C_ENERGY] -= lost


@formula
def _turn(
    cyl: Vector,
    par: Vector,
    gas: Vector,
    p_old: float,
    dv: float,
    dt: float,
    omega: float,
) -> int:
    """One zone over one step."""
    mass, volume, energy = cyl[C_MASS], cyl[C_VOLUME], cyl[C_ENERGY]
    y_b, y_f = cyl[C_BURNED] / mass, cyl[C_FUEL] / mass
    heat = cyl[C_HEAT_RATE] * dt
    t_old = cyl[C_T] * (1.0 - (cyl[C_GAMMA] - 1.0) * dv / (volume - 0.5 * dv))
    t, p, r, c_v = zones.one_zone(
        gas, mass, y_b, y_f, energy - heat, p_old, dv, volume, t_old, cyl[C_R]
    )
    if not t > T_MIN:
        return NEGATIVE_ENERGY
    rate = chamber_walls.heat_rate(cyl, par, gas, p, t, volume, omega)[0]
    heat = 0.5 * (heat + rate * dt)
    tolerance = HOT_TOLERANCE if t > gas[G_T0] else COLD_TOLERANCE
    for _ in range(_MOST_STEPS):
        t_old = t
        t, p, r, c_v = zones.one_zone(
            gas, mass, y_b, y_f, energy - heat, p_old, dv, volume, t_old, r
        )
        if abs(t - t_old) <= tolerance * t:
            break
    cyl[C_HEAT_RATE] = rate
    cyl[C_HEAT] += heat
    cyl[C_ENERGY] = energy - heat - 0.5 * (p_old + p) * dv
    phases.write_one_zone(cyl, mass, y_b, y_f, p, t, r, c_v)
    return phases.solved(t, t_old, tolerance)


@formula
def _pass_flame(cyl: Vector, par: Vector, gas: Vector, x: float) -> None:
    """Move what the flame passes to the burned zone."""
    mass_old = cyl[C_UNBURNED]
    mass_u = mass_old * (1.0 - x) / (1.0 - cyl[C_X])
    passed = mass_old - mass_u
    fuel = passed * cyl[C_YF_UNBURNED]
    air = passed * (1.0 - cyl[C_YF_UNBURNED] - cyl[C_YB_UNBURNED])
    air, fuel = combustion.consumed(air, fuel, gas[G_FUEL_AIR], par[P_EFFICIENCY])
    cyl[C_AIR] -= air
    cyl[C_FUEL] -= fuel
    cyl[C_BURNED] += air + fuel
    cyl[C_FUEL_BURNED] += fuel
    cyl[C_UNBURNED] = mass_u
    cyl[C_X] = x


@formula
def _burn(
    cyl: Vector,
    par: Vector,
    gas: Vector,
    x: float,
    p_old: float,
    dv: float,
    dt: float,
    omega: float,
) -> int:
    """Two zones over one step."""
    mass, volume, energy = cyl[C_MASS], cyl[C_VOLUME], cyl[C_ENERGY]
    t_b = cyl[C_T_BURNED]
    if cyl[C_PHASE] == PHASE_LIT:
        cyl[C_PHASE] = PHASE_BURNING
        cyl[C_X] = 0.0
        cyl[C_UNBURNED] = mass
        cyl[C_YB_UNBURNED] = cyl[C_YB]
        cyl[C_YF_UNBURNED] = cyl[C_YF]
        cyl[C_HEAT_BURNED] = 0.0
        t_b = _T_FLAME
    mass_old = cyl[C_UNBURNED]
    _pass_flame(cyl, par, gas, x)
    mass_u = cyl[C_UNBURNED]
    mean_u = 0.5 * (mass_old + mass_u)
    mass_b = mass - mass_u
    y_bu, y_fu = cyl[C_YB_UNBURNED], cyl[C_YF_UNBURNED]
    y_bb = (cyl[C_BURNED] - mass_u * y_bu) / mass_b
    y_fb = (cyl[C_FUEL] - mass_u * y_fu) / mass_b
    r_u = mixture.gas_constant(gas, y_bu, y_fu)

    # Each Newton step improves the one before; the heat is fixed after the first.
    t_u_old = cyl[C_T_UNBURNED]
    t_u = t_u_old
    p = p_old * (1.0 - cyl[C_GAMMA] * dv / volume)
    heat = cyl[C_HEAT_RATE] * dt
    heat_b = cyl[C_HEAT_BURNED] * dt
    rate, rate_b, t, r, c_v = 0.0, 0.0, 0.0, 0.0, 1.0
    is_solved = False
    for k in range(_MOST_STEPS):
        p_last, t_last = p, t_b
        p, t_u, t_b, r_b, c_vu, c_vb = zones.two_zones(
            gas, mass_u, y_bu, y_fu, t_u_old, (heat - heat_b) / mean_u, mass_b, y_bb, y_fb,
            energy - heat, p_old, dv, volume, p_last, t_u, t_b,
        )  # fmt: skip
        if not (p > 0.0 and t_b > T_MIN and t_u > T_MIN):
            return NEGATIVE_ENERGY
        r = (mass_u * r_u + mass_b * r_b) / mass
        c_v = (mass_u * c_vu + mass_b * c_vb) / mass
        t = (mass_u * r_u * t_u + mass_b * r_b * t_b) / (mass * r)
        if k == 0:
            rate, conductance, t_wall, radiation = chamber_walls.heat_rate(
                cyl, par, gas, p, t, volume, omega
            )
            rate_b = chamber_walls.burned_heat(
                mass_b * r_b / (mass * r), t_u, t_b, t, t_wall, conductance, radiation
            )
            heat = 0.5 * (heat + rate * dt)
            heat_b = 0.5 * (heat_b + rate_b * dt)
        elif abs(p - p_last) <= HOT_TOLERANCE * p and abs(t_b - t_last) <= HOT_TOLERANCE * t_b:
            is_solved = True
            break
    cyl[C_HEAT_RATE] = rate
    cyl[C_HEAT_BURNED] = rate_b
    cyl[C_HEAT] += heat
    cyl[C_ENERGY] = energy - heat - 0.5 * (p_old + p) * dv
    phases.write_one_zone(cyl, mass, cyl[C_BURNED] / mass, cyl[C_FUEL] / mass, p, t, r, c_v)
    cyl[C_T_UNBURNED] = t_u
    cyl[C_T_BURNED] = t_b
    return OK if is_solved else NO_CONVERGENCE


@formula
def _watch(cyl: Vector, gas: Vector, start: float, end: float, omega: float) -> None:
    """Greatest pressure and knock integral of the closed part."""
    if cyl[C_P] > cyl[C_PEAK]:
        cyl[C_PEAK] = cyl[C_P]
        cyl[C_PEAK_ANGLE] = end
    last = min(end, cyl[C_KNOCK_END])
    if cyl[C_PHASE] != PHASE_BURNT and last > start:
        rate = knock.knock_rate(gas[G_OCTANE], cyl[C_P], cyl[C_T_UNBURNED])
        cyl[C_KNOCK] += 0.5 * (cyl[C_KNOCK_RATE] + rate) * (last - start) / omega
        cyl[C_KNOCK_RATE] = rate
