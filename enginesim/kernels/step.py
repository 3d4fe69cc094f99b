"""How does the whole engine move on by one time step?"""

from __future__ import annotations

import math

import numpy as np

from enginesim.base.formula import formula
from enginesim.base.jit import kernel
from enginesim.kernels.arrays import Index, Table, Vector
from enginesim.kernels.boundary import extend
from enginesim.kernels.cylinder import advance
from enginesim.kernels.duct import face_fluxes, half_states, update
from enginesim.kernels.duct_ends import end_fluxes
from enginesim.kernels.layout import (
    BLOCK,
    R_SPEED,
    S_OMEGA,
    STRIDE,
    X_AIR,
    X_AREA_IN,
    X_BURNED,
    X_ENERGY,
    X_EXHAUST,
    X_FUEL,
    X_INTAKE,
)
from enginesim.kernels.links import flow_links, settle_links
from enginesim.kernels.reservoir import fastest_renewal, foresee, update_reservoirs
from enginesim.kernels.status import OK

CYCLE = 4.0 * math.pi
_PER_CYCLE = 1.0 / CYCLE
_NUMBER = 0x7FFFFFFFFFFFFFFF
_LIMIT = 1e9  # (|u| + a)/dx beyond this is no flow: a micrometre cell at 1000 m/s


@formula
def own_angle(theta: float, phase: float) -> float:
    """
    Angle of a cylinder's own cycle, 0 at its firing top dead centre, from -2 pi to 2 pi.

    Parameters
    ----------
    theta : float
        Engine angle. [rad]
    phase : float
        Engine angle of the cylinder's firing top dead centre. [rad]

    Returns
    -------
    float
        Own angle. [rad]

    Notes
    -----
    Source: definition.
    """
    own = theta - phase
    return own - CYCLE * math.floor(own * _PER_CYCLE + 0.5)


@kernel
def set_valve_areas(exchange: Table, phase: Vector, valve_area: Table, theta: float) -> None:
    """
    Effective valve areas of all cylinders at one engine angle, linear in the tables.

    Parameters
    ----------
    exchange : ndarray, shape (n_cylinder, N_EXCHANGE)
        Exchange table. [-]
    phase : ndarray, shape (n_cylinder,)
        Engine angle of each firing top dead centre. [rad]
    valve_area : ndarray, shape (n_angle, 4)
        Over the own angle from 0 to 4 pi, both included: intake forward, intake back, exhaust
        forward, exhaust back. [m2]
    theta : float
        Engine angle. [rad]

    Notes
    -----
    Source: linear interpolation.
    """
    n = valve_area.shape[0] - 1
    for c in range(phase.shape[0]):
        turns = (theta - phase[c]) * _PER_CYCLE
        place = (turns - math.floor(turns)) * n
        i = np.uint64(min(place, n - 1.0))
        f = place - i
        for k in range(4):
            low = valve_area[i, k]
            exchange[c, X_AREA_IN + k] = low + f * (valve_area[i + np.uint64(1), k] - low)


@kernel
def fastest(x_bits: Index, group: int, n: int) -> int:
    """
    Largest (|u| + a)/dx of a group as the bits of a float.

    Parameters
    ----------
    x_bits : ndarray, shape (n_group * BLOCK,)
        Duct buffer seen as integers. [-]
    group : int
        Which group. [-]
    n : int
        Cells of the group, ghosts included. [-]

    Returns
    -------
    int
        Bits of the maximum; those of a number that is none are larger than any other. [-]

    Notes
    -----
    Positive floats order like their bits, and an integer maximum vectorises where a float maximum
    does not. Source: IEEE 754.
    """
    base = np.uint64(group * BLOCK + R_SPEED * STRIDE)
    most = np.int64(0)
    for i in range(np.uint64(n)):
        bits = x_bits[base + i] & np.int64(_NUMBER)
        most = bits if bits > most else most
    return int(most)


@kernel
def step(
    x: Vector,
    x_bits: Index,
    groups: Index,
    ducts: Index,
    ends: Index,
    end: Table,
    res: Table,
    links: Index,
    link: Table,
    cyl: Table,
    par: Table,
    phase: Vector,
    exchange: Table,
    valve_area: Table,
    gas: Vector,
    settings: Vector,
    theta: float,
    dt: float,
    bits: Index,
) -> tuple[int, int]:
    """
    One explicit step: ducts and their ends, links, volumes, cylinders.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer. [-]
    x_bits : ndarray, shape (n_group * BLOCK,)
        The same memory seen as integers. [-]
    groups : ndarray, shape (n_group, 3)
        Cells, first duct and one past the last duct of each group. [-]
    ducts, ends, links : ndarray
        Integer tables, see :mod:`enginesim.kernels.layout`. [-]
    end, res, link, cyl, par, exchange : ndarray
        Float tables, see there. [-]
    phase : ndarray, shape (n_cylinder,)
        Engine angle of each firing top dead centre. [rad]
    valve_area : ndarray, shape (n_angle, 4)
        Effective areas, see :func:`set_valve_areas`. [m2]
    gas, settings : ndarray
        Gas array and settings. [-]
    theta : float
        Engine angle at the start of the step. [rad]
    dt : float
        Time step. [s]
    bits : ndarray, shape (1,)
        Gets the bits of the fastest change: the largest (|u| + a)/dx of the duct cells, or the
        largest renewal of a volume, :func:`enginesim.kernels.reservoir.fastest_renewal`. [-]

    Returns
    -------
    tuple of int
        Status and the element that it speaks of. [-]

    Notes
    -----
    Second order inside the ducts; volumes and cylinders see the flows of the step's start state
    at the valve areas of its middle. Source: composition of the parts.
    """
    omega = settings[S_OMEGA]
    turn = omega * dt
    set_valve_areas(exchange, phase, valve_area, theta + 0.5 * turn)
    for c in range(cyl.shape[0]):
        exchange[c, X_AIR] = 0.0
        exchange[c, X_FUEL] = 0.0
        exchange[c, X_BURNED] = 0.0
        exchange[c, X_ENERGY] = 0.0
        exchange[c, X_INTAKE] = 0.0
        exchange[c, X_EXHAUST] = 0.0
    foresee(res, dt)
    most = np.int64(0)
    for g in range(groups.shape[0]):
        n = groups[g, 0]
        extend(x, ducts, groups[g, 1], groups[g, 2])
        half_states(x, g, n, dt)
        face_fluxes(x, g, n)
        end_fluxes(x, ducts, groups[g, 1], groups[g, 2], ends, end, res, cyl, exchange, gas, dt)
        update(x, g, n, dt, gas)
        most = max(most, np.int64(fastest(x_bits, g, n)))
    bits[0] = most
    settle_links(links, link, res, dt)
    flow_links(res, links, link, gas, dt)
    status = update_reservoirs(res, gas, dt)
    renewal = fastest_renewal(res)
    speed = bits.view(np.float64)
    if renewal > speed[0]:  # false where a duct left what is no number
        speed[0] = renewal
    element = 0
    for c in range(cyl.shape[0]):
        own = own_angle(theta, phase[c])
        result = advance(
            cyl[c],
            par[c],
            gas,
            own,
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


@formula
def is_sound(speed: float) -> bool:
    """
    Whether a step left every duct cell with a finite, believable wave speed.

    Parameters
    ----------
    speed : float
        Largest (|u| + a)/dx. [1/s]

    Returns
    -------
    bool
        False for a cell without a number too. [-]

    Notes
    -----
    Source: comparison with no number is false.
    """
    return speed < _LIMIT
