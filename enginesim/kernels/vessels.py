"""What do vessels hold as a step begins, and what when its flows have been booked?"""

from __future__ import annotations

import math

from enginesim.base.jit import kernel
from enginesim.kernels.arrays import Index, Table, Vector
from enginesim.kernels.boundary import into_cylinder
from enginesim.kernels.cylinder_layout import (
    C_GAMMA,
    C_H,
    C_HEAT_RATE,
    C_MASS,
    C_P,
    C_R,
    C_T,
    C_VOLUME,
    C_YB,
    C_YF,
)
from enginesim.kernels.gas import energy_and_capacity, gas_constant
from enginesim.kernels.layout import (
    L_KIND,
    L_SIDE,
    LF_AREA,
    LF_AREA_BACK,
    LF_MASS,
    LINK_VALVE,
    V_BURNED,
    V_CONDUCTANCE,
    V_D_BURNED,
    V_D_ENERGY,
    V_D_FUEL,
    V_D_MASS,
    V_ENERGY,
    V_FUEL,
    V_GAIN_BURNED,
    V_GAIN_ENERGY,
    V_GAIN_FUEL,
    V_GAIN_HEAT,
    V_GAIN_MASS,
    V_GAMMA,
    V_H,
    V_MASS,
    V_P,
    V_R,
    V_SHIFT,
    V_STIFF,
    V_T,
    V_VOLUME,
    V_WALL_T,
    V_YB,
    V_YF,
    X_AREA_IN,
    X_AREA_IN_BACK,
    X_AREA_OUT,
    X_AREA_OUT_BACK,
    X_SHIFT,
    X_STIFF,
)
from enginesim.kernels.links import pass_on
from enginesim.kernels.phases import volume_at
from enginesim.kernels.reservoir import give
from enginesim.kernels.status import BAD_VOLUME, OK
from enginesim.kernels.step import own_angle
from enginesim.kernels.vessel_layout import (
    J_FINISH,
    J_START,
    Q_AREA,
    Q_AREA_BACK,
    Q_MASS,
    Q_SIDE,
    Z_COLDER,
    Z_CV,
    Z_FORCED,
    Z_GAMMA,
    Z_H,
    Z_MEAN_H,
    Z_MEAN_T,
    Z_MEAN_YB,
    Z_MEAN_YF,
    Z_P,
    Z_PART,
    Z_PER_CAPACITY,
    Z_PER_MASS,
    Z_R,
    Z_ROOM,
    Z_SEEN,
    Z_SHIFT,
    Z_SPEED,
    Z_STIFF,
    Z_T,
    Z_VOLUME,
    Z_WARMED,
    Z_YB,
    Z_YF,
)


@kernel
def take_up(
    vessel: Table,
    res: Table,
    cyl: Table,
    par: Table,
    phase: Vector,
    exchange: Table,
    theta: float,
    turn: float,
    dt: float,
) -> None:
    """
    Take volumes and cylinders up as vessels at the beginning of a step.

    Parameters
    ----------
    vessel : ndarray, shape (n_vessel, N_VESSEL)
        Vessels, see :mod:`enginesim.kernels.vessel_layout`. [-]
    res, cyl, par, exchange : ndarray
        Tables of reservoirs and cylinders. [-]
    phase : ndarray, shape (n_cylinder,)
        Engine angle of each firing top dead centre. [rad]
    theta, turn : float
        Engine angle at the beginning of the step, and its length. [rad]
    dt : float
        The same. [s]

    Notes
    -----
    The part of the step at whose end links see a pressure is one half, and 1 - 1/(K dt) where the
    vessel follows its neighbours at a rate K above 2/dt: then none of its changes is overshot.
    Rate and first guess of the change are those of the step before.
    Source: as :func:`enginesim.kernels.reservoir.foresee`; equation `vessel-part` of
    docs/theory/filling.md.
    """
    n = res.shape[0]
    for i in range(n):
        vessel[i, Z_P] = res[i, V_P]
        vessel[i, Z_T] = res[i, V_T]
        vessel[i, Z_GAMMA] = res[i, V_GAMMA]
        vessel[i, Z_R] = res[i, V_R]
        vessel[i, Z_H] = res[i, V_H]
        vessel[i, Z_YB] = res[i, V_YB]
        vessel[i, Z_YF] = res[i, V_YF]
        vessel[i, Z_PER_MASS] = res[i, V_MASS]
        vessel[i, Z_VOLUME] = res[i, V_VOLUME]
        vessel[i, Z_ROOM] = res[i, V_VOLUME]
        warmed = res[i, V_CONDUCTANCE] * (res[i, V_WALL_T] - res[i, V_T]) * dt
        vessel[i, Z_FORCED] = (res[i, V_GAMMA] - 1.0) * warmed
        vessel[i, Z_WARMED] = warmed
        vessel[i, Z_SHIFT] = res[i, V_SHIFT]
        vessel[i, Z_STIFF] = res[i, V_STIFF]
    for c in range(cyl.shape[0]):
        i = n + c
        volume = cyl[c, C_VOLUME]
        gamma = cyl[c, C_GAMMA]
        change = 0.0
        is_open = exchange[c, X_AREA_IN] + exchange[c, X_AREA_IN_BACK] > 0.0
        if is_open or exchange[c, X_AREA_OUT] + exchange[c, X_AREA_OUT_BACK] > 0.0:
            change = volume_at(par[c], own_angle(theta, phase[c]) + turn) - volume
        warmed = -cyl[c, C_HEAT_RATE] * dt
        vessel[i, Z_P] = cyl[c, C_P]
        vessel[i, Z_T] = cyl[c, C_T]
        vessel[i, Z_GAMMA] = gamma
        vessel[i, Z_R] = cyl[c, C_R]
        vessel[i, Z_H] = cyl[c, C_H]
        vessel[i, Z_YB] = cyl[c, C_YB]
        vessel[i, Z_YF] = cyl[c, C_YF]
        vessel[i, Z_PER_MASS] = cyl[c, C_MASS]
        vessel[i, Z_VOLUME] = volume + 0.5 * change
        vessel[i, Z_ROOM] = volume + 0.5 * (1.0 + gamma) * change
        vessel[i, Z_FORCED] = (gamma - 1.0) * warmed - gamma * cyl[c, C_P] * change
        vessel[i, Z_WARMED] = warmed
        vessel[i, Z_SHIFT] = exchange[c, X_SHIFT]
        vessel[i, Z_STIFF] = exchange[c, X_STIFF]
    for i in range(vessel.shape[0]):
        volume = vessel[i, Z_VOLUME]
        r = vessel[i, Z_R]
        cv = r / (vessel[i, Z_GAMMA] - 1.0)
        cp = cv + r
        per = 1.0 / (cp * vessel[i, Z_PER_MASS]) if volume > 0.0 else 0.0
        vessel[i, Z_CV] = cv
        vessel[i, Z_COLDER] = r / cp
        vessel[i, Z_PER_MASS] = cp * per
        vessel[i, Z_PER_CAPACITY] = per
        part = 0.5
        if volume == 0.0:
            vessel[i, Z_SHIFT] = 0.0
        elif vessel[i, Z_STIFF] * dt > 2.0:
            part = 1.0 - 1.0 / (vessel[i, Z_STIFF] * dt)
        vessel[i, Z_PART] = part
        vessel[i, Z_SEEN] = vessel[i, Z_P] + part * vessel[i, Z_SHIFT]
        vessel[i, Z_MEAN_T] = vessel[i, Z_T]
        vessel[i, Z_MEAN_H] = vessel[i, Z_H]
        vessel[i, Z_MEAN_YB] = vessel[i, Z_YB]
        vessel[i, Z_MEAN_YF] = vessel[i, Z_YF]
        vessel[i, Z_SPEED] = 1.0 / math.sqrt(r * vessel[i, Z_T])


@kernel
def open_links(
    joint: Table, links: Index, link: Table, joints: Index, exchange: Table, n_reservoir: int
) -> None:
    """
    Areas of all links in a step, and their flows in the step before as a first guess.

    Parameters
    ----------
    joint : ndarray, shape (n_link, N_JOINT)
        Links of the step, linearised. [-]
    links, link : ndarray
        Link tables. [-]
    joints : ndarray, shape (n_link, 4)
        Which vessels they join, see :mod:`enginesim.network.elimination`. [-]
    exchange : ndarray, shape (n_cylinder, N_EXCHANGE)
        Exchange table with the valve areas. [-]
    n_reservoir : int
        How many vessels are no cylinders. [-]

    Notes
    -----
    Source: definition.
    """
    for k in range(links.shape[0]):
        area, back = link[k, LF_AREA], link[k, LF_AREA_BACK]
        if links[k, L_KIND] == LINK_VALVE:
            c = joints[k, J_FINISH] - n_reservoir
            if links[k, L_SIDE] == 0:
                area, back = exchange[c, X_AREA_IN], exchange[c, X_AREA_IN_BACK]
            else:
                area, back = exchange[c, X_AREA_OUT_BACK], exchange[c, X_AREA_OUT]
        joint[k, Q_AREA] = area
        joint[k, Q_AREA_BACK] = back
        joint[k, Q_MASS] = link[k, LF_MASS]
        joint[k, Q_SIDE] = 0.0


@kernel
def book(
    vessel: Table,
    joint: Table,
    joints: Index,
    links: Index,
    link: Table,
    res: Table,
    exchange: Table,
    gas: Vector,
    dt: float,
) -> None:
    """
    Book what the links pass in a step: what one vessel gives another gets.

    Parameters
    ----------
    vessel : ndarray, shape (n_vessel, N_VESSEL)
        Vessels, see :mod:`enginesim.kernels.vessel_layout`. [-]
    joint : ndarray, shape (n_link, N_JOINT)
        Links of the step, linearised. [-]
    joints : ndarray, shape (n_link, 4)
        Which vessels they join, see :mod:`enginesim.network.elimination`. [-]
    links, link, res, exchange : ndarray
        Tables of links, reservoirs and cylinders' valves. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    dt : float
        Time step. [s]

    Notes
    -----
    Source: bookkeeping, as :func:`enginesim.kernels.links.flow_links`.
    """
    n = res.shape[0]
    for k in range(links.shape[0]):
        flow = joint[k, Q_MASS]
        link[k, LF_MASS] = flow
        if flow == 0.0:
            continue
        i, j = joints[k, J_START], joints[k, J_FINISH]
        up = i if flow > 0.0 else j
        y_b, y_f, h = vessel[up, Z_MEAN_YB], vessel[up, Z_MEAN_YF], vessel[up, Z_MEAN_H]
        if links[k, L_KIND] != LINK_VALVE:
            down = j if flow > 0.0 else i
            pass_on(res, links, link, gas, k, up, down, abs(flow) * dt, y_b, y_f, h)
        else:
            into_cylinder(exchange, j - n, links[k, L_SIDE], gas, flow, y_b, y_f, h, dt)
            give(res, i, -flow * dt, y_b, y_f, -flow * dt * h)


@kernel
def settle_volumes(res: Table, vessel: Table, gas: Vector) -> int:
    """
    New masses, energies and states of all volumes from what was booked and the heat of walls.

    Parameters
    ----------
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table. [-]
    vessel : ndarray, shape (n_vessel, N_VESSEL)
        Vessels, see :mod:`enginesim.kernels.vessel_layout`. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]

    Returns
    -------
    int
        Status. [-]

    Notes
    -----
    One Newton step for the temperature, from that of the pressure foreseen.
    Source: as :func:`enginesim.kernels.reservoir.update_reservoirs`.
    """
    status = OK
    for i in range(res.shape[0]):
        res[i, V_GAIN_MASS] += res[i, V_D_MASS]
        res[i, V_GAIN_BURNED] += res[i, V_D_BURNED]
        res[i, V_GAIN_FUEL] += res[i, V_D_FUEL]
        res[i, V_GAIN_ENERGY] += res[i, V_D_ENERGY]
        volume = res[i, V_VOLUME]
        if volume > 0.0:
            mass = res[i, V_MASS] + res[i, V_D_MASS]
            burned = res[i, V_BURNED] + res[i, V_D_BURNED]
            fuel = res[i, V_FUEL] + res[i, V_D_FUEL]
            total = res[i, V_ENERGY] + res[i, V_D_ENERGY] + vessel[i, Z_WARMED]
            res[i, V_GAIN_HEAT] += vessel[i, Z_WARMED]
            y_b = burned / mass
            y_f = fuel / mass
            r = gas_constant(gas, y_b, y_f)
            t = (vessel[i, Z_P] + vessel[i, Z_SHIFT]) * volume / (mass * r)
            u, cv = energy_and_capacity(gas, t, y_b, y_f)
            t += (total / mass - u) / cv
            if not (mass > 0.0 and 50.0 < t < 6000.0):
                status = BAD_VOLUME
            res[i, V_MASS] = mass
            res[i, V_BURNED] = burned
            res[i, V_FUEL] = fuel
            res[i, V_ENERGY] = total
            res[i, V_T] = t
            res[i, V_GAMMA] = 1.0 + r / cv
            res[i, V_R] = r
            res[i, V_P] = mass * r * t / volume
            res[i, V_H] = total / mass + r * t
            res[i, V_YB] = y_b
            res[i, V_YF] = y_f
            res[i, V_SHIFT] = vessel[i, Z_SHIFT]
            res[i, V_STIFF] = vessel[i, Z_STIFF] / volume
        res[i, V_D_MASS] = 0.0
        res[i, V_D_BURNED] = 0.0
        res[i, V_D_FUEL] = 0.0
        res[i, V_D_ENERGY] = 0.0
    return status
