"""With what does gas leave a vessel while other gas flows into it?

Taken downstream, vessel after vessel, so that gas may pass several small ones within one step.
"""

from __future__ import annotations

import math

import numpy as np

from enginesim.base.formula import formula
from enginesim.base.jit import kernel
from enginesim.kernels.arrays import Index, Table, Vector
from enginesim.kernels.layout import (
    G_FUEL_AIR,
    G_H_INSIDE,
    G_H_LIQUID,
    L_SIDE,
    LF_BACK_BURNED,
    LF_BACK_ENERGY,
    LF_BACK_FUEL,
    LF_BACK_MASS,
    LF_FUEL,
)
from enginesim.kernels.vessel_layout import (
    J_FINISH,
    J_START,
    Q_MASS,
    Z_CV,
    Z_H,
    Z_IN,
    Z_IN_BURNED,
    Z_IN_CAPACITY,
    Z_IN_ENTHALPY,
    Z_IN_FUEL,
    Z_IN_HEAT,
    Z_MEAN_H,
    Z_MEAN_T,
    Z_MEAN_YB,
    Z_MEAN_YF,
    Z_PER_CAPACITY,
    Z_PER_MASS,
    Z_R,
    Z_SEEN,
    Z_SHIFT,
    Z_SPEED,
    Z_T,
    Z_VOLUME,
    Z_WARMED,
    Z_YB,
    Z_YF,
)


@kernel
def sort_downstream(vessel: Table, order: Index) -> None:
    """
    Put the vessels in the order of falling pressure; the open air, first in the list, stays there.

    Parameters
    ----------
    vessel : ndarray, shape (n_vessel, N_VESSEL)
        Vessels with the pressures that the links see. [-]
    order : ndarray, shape (n_vessel,)
        The order of the step before, put right. [-]

    Notes
    -----
    Nearly sorted as a rule. Source: insertion.
    """
    first = 0
    while first < order.size and vessel[order[first], Z_VOLUME] == 0.0:
        first += 1
    for k in range(first + 1, order.size):
        moved = np.uint64(order[k])
        p = vessel[moved, Z_SEEN]
        place = k
        while place > first and vessel[np.uint64(order[place - 1]), Z_SEEN] < p:
            order[place] = order[place - 1]
            place -= 1
        order[place] = moved


@formula
def _drawn_back(
    link: Table, k: np.uint64, mass: float, y_b: float, y_f: float, h: float
) -> tuple[float, float, float]:
    """Fractions and enthalpy of what enters a mouth: first what was blown back through it."""
    back = link[k, LF_BACK_MASS]
    part = min(mass / back, 1.0)
    rest = mass - part * back
    return (
        (rest * y_b + part * link[k, LF_BACK_BURNED]) / mass,
        (rest * y_f + part * link[k, LF_BACK_FUEL]) / mass,
        (rest * h + part * link[k, LF_BACK_ENERGY]) / mass,
    )


@formula
def _mean(vessel: Table, i: np.uint64) -> None:
    """What leaves a vessel, mean over the step, from what it held and what comes in."""
    came = vessel[i, Z_IN]
    shift = vessel[i, Z_VOLUME] * vessel[i, Z_SHIFT] + vessel[i, Z_WARMED]
    light, per_capacity = vessel[i, Z_PER_MASS], vessel[i, Z_PER_CAPACITY]
    c = came * light
    late = (0.5 + c * (1.0 / 12.0)) / (1.0 + c * (0.5 + c * (1.0 / 12.0)))
    share = late * light
    y_b, y_f, h = vessel[i, Z_YB], vessel[i, Z_YF], vessel[i, Z_H]
    vessel[i, Z_MEAN_YB] = y_b + share * (vessel[i, Z_IN_BURNED] - came * y_b)
    vessel[i, Z_MEAN_YF] = y_f + share * (vessel[i, Z_IN_FUEL] - came * y_f)
    vessel[i, Z_MEAN_H] = h + share * (vessel[i, Z_IN_ENTHALPY] - came * h + shift)
    carried = vessel[i, Z_IN_CAPACITY]
    c = carried * per_capacity
    late = (0.5 + c * (1.0 / 12.0)) / (1.0 + c * (0.5 + c * (1.0 / 12.0)))
    t = vessel[i, Z_T]
    t += late * per_capacity * (vessel[i, Z_IN_HEAT] - carried * t + shift)
    vessel[i, Z_MEAN_T] = t
    vessel[i, Z_SPEED] = 1.0 / math.sqrt(vessel[i, Z_R] * t)


@kernel
def carry(
    vessel: Table,
    joint: Table,
    joints: Index,
    links: Index,
    link: Table,
    first: Index,
    meets: Index,
    order: Index,
    gas: Vector,
    dt: float,
    n_reservoir: int,
    cold: float,
    cold_inside: float,
) -> None:
    """
    Means over the step of what every vessel holds, as the present flows mix it.

    Parameters
    ----------
    vessel : ndarray, shape (n_vessel, N_VESSEL)
        Vessels, see :mod:`enginesim.kernels.vessel_layout`. [-]
    joint : ndarray, shape (n_link, N_JOINT)
        Links of the step, linearised. [-]
    joints : ndarray, shape (n_link, 4)
        Which vessels they join, see :mod:`enginesim.network.elimination`. [-]
    links, link : ndarray
        Link tables. [-]
    first, meets : ndarray
        Which links meet each vessel, see :mod:`enginesim.network.elimination`. [-]
    order : ndarray, shape (n_vessel,)
        Vessels downstream. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    dt : float
        Time step. [s]
    n_reservoir : int
        How many vessels are no cylinders. [-]
    cold, cold_inside : float
        Heat that a mass of fuel takes to evaporate in a stream, and in a cylinder. [J/kg]

    Notes
    -----
    A well-stirred vessel into which c times its mass flows in a step keeps the part
    (1 - exp(-c))/c of itself in the mean of what leaves it; 1/(1 + c/2 + c^2/12) has the same
    first three terms and never lets more leave than there was.
    Source: well-stirred vessel; equation `vessel-mean` of docs/theory/filling.md.
    """
    for v in range(vessel.shape[0]):
        vessel[v, Z_IN] = 0.0
        vessel[v, Z_IN_BURNED] = 0.0
        vessel[v, Z_IN_FUEL] = 0.0
        vessel[v, Z_IN_ENTHALPY] = 0.0
        vessel[v, Z_IN_CAPACITY] = 0.0
        vessel[v, Z_IN_HEAT] = 0.0
    for place in range(order.size):
        i = np.uint64(order[place])
        if vessel[i, Z_VOLUME] > 0.0:
            _mean(vessel, i)
        for n in range(np.uint64(first[i]), np.uint64(first[i + np.uint64(1)])):
            k = np.uint64(meets[n])
            mass = joint[k, Q_MASS] * dt
            j = np.uint64(joints[k, J_FINISH])
            is_forward = j != i
            if not is_forward:
                j = np.uint64(joints[k, J_START])
                mass = -mass
            if mass <= 0.0:
                continue
            y_b, y_f = vessel[i, Z_MEAN_YB], vessel[i, Z_MEAN_YF]
            h = vessel[i, Z_MEAN_H]
            capacity = (vessel[i, Z_CV] + vessel[i, Z_R]) * mass
            if link[k, LF_BACK_MASS] > 0.0 and vessel[i, Z_VOLUME] == 0.0:
                y_b, y_f, h = _drawn_back(link, k, mass, y_b, y_f, h)
            vessel[j, Z_IN] += mass
            vessel[j, Z_IN_BURNED] += mass * y_b
            vessel[j, Z_IN_FUEL] += mass * y_f
            vessel[j, Z_IN_ENTHALPY] += mass * h
            vessel[j, Z_IN_CAPACITY] += capacity
            vessel[j, Z_IN_HEAT] += capacity * vessel[i, Z_MEAN_T]
            # Fuel that the air lacks joins it: vapour at a link with fuel, liquid at an intake.
            is_intake = j >= np.uint64(n_reservoir) and links[k, L_SIDE] == 0
            if is_intake or (link[k, LF_FUEL] > 0.0 and is_forward):
                fuel = mass * max(gas[G_FUEL_AIR] * (1.0 - y_b - y_f) - y_f, 0.0)
                if not is_intake:
                    fuel *= link[k, LF_FUEL]
                vessel[j, Z_IN] += fuel
                vessel[j, Z_IN_FUEL] += fuel
                vessel[j, Z_IN_ENTHALPY] += fuel * gas[G_H_INSIDE if is_intake else G_H_LIQUID]
                vessel[j, Z_IN_HEAT] -= fuel * (cold_inside if is_intake else cold)
