"""How does an engine without ducts move from one crank angle to another?"""

from __future__ import annotations

import math

from enginesim.base.jit import kernel
from enginesim.kernels.arrays import Index, Table, Vector
from enginesim.kernels.carried import carry, sort_downstream
from enginesim.kernels.coupled import eliminate, flows, linearise
from enginesim.kernels.cylinder import advance
from enginesim.kernels.gas import energy
from enginesim.kernels.layout import (
    G_H_INSIDE,
    G_H_LIQUID,
    G_R,
    K_PER_CYLINDER,
    S_MAX_STEP,
    S_OMEGA,
    S_SAMPLE,
    T_REJECTED,
    T_STEPS,
    T_THETA,
    T_TIME,
    X_AIR,
    X_BURNED,
    X_ENERGY,
    X_EXHAUST,
    X_FUEL,
    X_INTAKE,
    X_SHIFT,
    X_STIFF,
)
from enginesim.kernels.status import NO_CONVERGENCE, OK
from enginesim.kernels.step import own_angle, set_valve_areas
from enginesim.kernels.tape import channels
from enginesim.kernels.vessel_layout import Z_SHIFT, Z_STIFF, Z_VOLUME
from enginesim.kernels.vessel_walls import warm_walls
from enginesim.kernels.vessels import book, open_links, settle_volumes, take_up

SEGMENT = math.radians(10.0)
_MOST_HALVINGS = 8
_ROUNDS = 30
_CLOSE = 1e-4  # change of a pressure in the last round, relative; what is left is far less [-]
_T_FUEL = 320.0  # temperature at which the heat of evaporation is foreseen [K]


@kernel
def step_vessels(
    res: Table,
    links: Index,
    link: Table,
    cyl: Table,
    par: Table,
    phase: Vector,
    exchange: Table,
    valve_area: Table,
    gas: Vector,
    joints: Index,
    first: Index,
    meets: Index,
    script: Index,
    starts: Index,
    order: Index,
    vessel: Table,
    joint: Table,
    entries: Vector,
    omega: float,
    theta: float,
    dt: float,
) -> tuple[int, int]:
    """
    One implicit step of all volumes and cylinders.

    Parameters
    ----------
    res, links, link, cyl, par, exchange : ndarray
        Tables, see :mod:`enginesim.kernels.layout`. [-]
    phase : ndarray, shape (n_cylinder,)
        Engine angle of each firing top dead centre. [rad]
    valve_area : ndarray, shape (n_angle, 4)
        Effective areas over the own angle. [m2]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    joints, first, meets, script, starts : ndarray
        How vessels answer one another, see :mod:`enginesim.network.elimination`. [-]
    order : ndarray, shape (n_vessel,)
        Vessels downstream, as they were last. [-]
    vessel, joint, entries : ndarray
        Scratch. [-]
    omega : float
        Crank speed. [rad/s]
    theta : float
        Engine angle at the start of the step. [rad]
    dt : float
        Time step. [s]

    Returns
    -------
    tuple of int
        Status and the element that it speaks of. [-]

    Notes
    -----
    Valve areas are those of the step's middle. What the last round leaves over is about a hundredth
    of its change. Source: composition of the parts.
    """
    turn = omega * dt
    n = res.shape[0]
    set_valve_areas(exchange, phase, valve_area, theta + 0.5 * turn)
    for c in range(cyl.shape[0]):
        exchange[c, X_AIR] = 0.0
        exchange[c, X_FUEL] = 0.0
        exchange[c, X_BURNED] = 0.0
        exchange[c, X_ENERGY] = 0.0
        exchange[c, X_INTAKE] = 0.0
        exchange[c, X_EXHAUST] = 0.0
    vapour = energy(gas, _T_FUEL, 0.0, 1.0) + (gas[G_R] + gas[G_R + 1]) * _T_FUEL
    cold, cold_inside = vapour - gas[G_H_LIQUID], vapour - gas[G_H_INSIDE]
    take_up(vessel, res, cyl, par, phase, exchange, theta, turn, dt)
    open_links(joint, links, link, joints, exchange, n)
    status = NO_CONVERGENCE
    for _ in range(_ROUNDS):
        sort_downstream(vessel, order)
        carry(
            vessel, joint, joints, links, link, first, meets, order, gas, dt, n, cold, cold_inside
        )
        linearise(vessel, joint, joints, entries, dt)
        most = eliminate(vessel, script, starts, entries)
        flows(vessel, joint, joints)
        if most < _CLOSE:
            status = OK
            break
    if status != OK:
        return status, -1
    book(vessel, joint, joints, links, link, res, exchange, gas, dt)
    status = settle_volumes(res, vessel, gas)
    element = 0
    for c in range(cyl.shape[0]):
        exchange[c, X_SHIFT] = vessel[n + c, Z_SHIFT]
        exchange[c, X_STIFF] = vessel[n + c, Z_STIFF] / vessel[n + c, Z_VOLUME]
        result = advance(
            cyl[c],
            par[c],
            gas,
            own_angle(theta, phase[c]),
            turn,
            omega,
            exchange[c, X_AIR],
            exchange[c, X_FUEL],
            exchange[c, X_BURNED],
            exchange[c, X_ENERGY],
        )
        if result != OK:
            status = result
            element = c
    return status, element


@kernel
def fill_and_empty(
    res: Table,
    links: Index,
    link: Table,
    cyl: Table,
    par: Table,
    phase: Vector,
    exchange: Table,
    valve_area: Table,
    gas: Vector,
    joints: Index,
    first: Index,
    meets: Index,
    script: Index,
    starts: Index,
    order: Index,
    vessel: Table,
    joint: Table,
    entries: Vector,
    settings: Vector,
    clock: Vector,
    tape: Table,
    lines: Table,
    tables: Vector,
    saved: Vector,
    theta_end: float,
) -> tuple[int, int]:
    """
    March an engine without ducts to `theta_end`.

    Parameters
    ----------
    res, links, link, cyl, par, exchange : ndarray
        Tables, see :mod:`enginesim.kernels.layout`. [-]
    phase : ndarray, shape (n_cylinder,)
        Engine angle of each firing top dead centre. [rad]
    valve_area : ndarray, shape (n_angle, 4)
        Effective areas over the own angle. [m2]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    joints, first, meets, script, starts : ndarray
        How vessels answer one another, see :mod:`enginesim.network.elimination`. [-]
    order : ndarray, shape (n_vessel,)
        Vessels downstream, as they were last. [-]
    vessel, joint, entries : ndarray
        Scratch. [-]
    settings, clock : ndarray
        Settings and clock. [-]
    tape : ndarray, shape (n_sample, n_channel)
        Gets a row for each sample angle that is passed. [-]
    lines : ndarray, shape (2, n_channel)
        Scratch: channels before and after a step. [-]
    tables : ndarray, shape (m,)
        All float tables that change, one behind the other. [-]
    saved : ndarray, shape (n,)
        Scratch: they at the start of the segment. [-]
    theta_end : float
        Engine angle to stop at. [rad]

    Returns
    -------
    tuple of int
        Status and element. [-]

    Notes
    -----
    Segments that fail are repeated with half the step. The steps of a segment are equal, and only
    the crank limits them. Samples between two steps are
    interpolated linearly. Source: as :func:`enginesim.kernels.march.march`.
    """
    omega = settings[S_OMEGA]
    n_plain = cyl.shape[0] * K_PER_CYLINDER + 2 * res.shape[0]
    status, element = OK, -1
    while clock[T_THETA] < theta_end - 1e-9:
        start = clock[T_THETA]
        stop = min(start + SEGMENT, theta_end)
        steps, time = clock[T_STEPS], clock[T_TIME]
        cut = 1.0
        warm_walls(res, links, link, gas)
        for k in range(tables.size):
            saved[k] = tables[k]
        for halving in range(_MOST_HALVINGS + 1):
            if halving > 0:
                for k in range(tables.size):
                    tables[k] = saved[k]
            channels(lines, cyl, exchange, res)
            sample = math.ceil(start / settings[S_SAMPLE] - 1e-6)
            theta = start
            status, element = OK, -1
            count = math.ceil((stop - start) / (cut * settings[S_MAX_STEP]) - 1e-9)
            turn = (stop - start) / count
            for number in range(count):
                for k in range(n_plain):
                    lines[0, k] = lines[1, k]
                status, element = step_vessels(
                    res,
                    links,
                    link,
                    cyl,
                    par,
                    phase,
                    exchange,
                    valve_area,
                    gas,
                    joints,
                    first,
                    meets,
                    script,
                    starts,
                    order,
                    vessel,
                    joint,
                    entries,
                    omega,
                    theta,
                    turn / omega,
                )
                clock[T_STEPS] += 1.0
                clock[T_TIME] += turn / omega
                if status != OK:
                    break
                theta = start + (number + 1) * turn
                channels(lines, cyl, exchange, res)
                while sample * settings[S_SAMPLE] <= theta + 1e-9 and sample < tape.shape[0]:
                    f = 1.0 - (theta - sample * settings[S_SAMPLE]) / turn
                    f = min(max(f, 0.0), 1.0)
                    for k in range(n_plain):
                        tape[sample, k] = (1.0 - f) * lines[0, k] + f * lines[1, k]
                    sample += 1
            if status == OK:
                break
            clock[T_REJECTED] += clock[T_STEPS] - steps
            clock[T_STEPS], clock[T_TIME] = steps, time
            if halving == _MOST_HALVINGS:
                return status, element
            cut *= 0.5
        clock[T_THETA] = stop
    return OK, -1
