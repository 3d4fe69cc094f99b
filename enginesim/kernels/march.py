"""How does the engine move from one crank angle to another, and what is written down on the way?"""

from __future__ import annotations

import math

import numpy as np

from enginesim.base.jit import kernel
from enginesim.kernels.cylinder_layout import (
    C_HEAT_RATE,
    C_KNOCK,
    C_MASS,
    C_P,
    C_T,
    C_T_UNBURNED,
    C_X,
)
from enginesim.kernels.duct import update
from enginesim.kernels.layout import (
    BLOCK,
    D_COUNT,
    D_FIRST,
    D_GROUP,
    K_BURNED,
    K_EXHAUST,
    K_HEAT,
    K_INTAKE,
    K_KNOCK,
    K_MASS,
    K_P,
    K_PER_CYLINDER,
    K_T,
    K_T_UNBURNED,
    N_CONSERVED,
    R_HEAT_SUM,
    R_LEFT,
    R_P,
    R_SPEED,
    R_T,
    R_U,
    S_CFL,
    S_MAX_STEP,
    S_OMEGA,
    S_RECORD_DUCTS,
    S_SAMPLE,
    SAVED_ROWS,
    STRIDE,
    T_CELLS,
    T_REJECTED,
    T_SPEED,
    T_STEPS,
    T_THETA,
    T_TIME,
    V_P,
    V_T,
    X_EXHAUST,
    X_INTAKE,
)
from enginesim.kernels.status import BAD_DUCT, OK
from enginesim.kernels.step import is_sound, step
from enginesim.kernels.arrays import Index, Table, Vector
from enginesim.kernels.wall import wall_terms

SEGMENT = math.radians(10.0)
_MOST_HALVINGS = 8


@kernel
def channels(lines: Table, line: int, cyl: Table, exchange: Table, res: Table) -> None:
    """
    Present values of all channels except the duct cells.

    Parameters
    ----------
    lines : ndarray, shape (2, n_channel)
        Gets the values. [-]
    line : int
        In this row. [-]
    cyl : ndarray, shape (n_cylinder, n_column)
        Cylinder table. [-]
    exchange : ndarray, shape (n_cylinder, N_EXCHANGE)
        Exchange table. [-]
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table. [-]

    Notes
    -----
    Source: copy.
    """
    k = 0
    for c in range(cyl.shape[0]):
        lines[line, k + K_P] = cyl[c, C_P]
        lines[line, k + K_T] = cyl[c, C_T]
        lines[line, k + K_T_UNBURNED] = cyl[c, C_T_UNBURNED]
        lines[line, k + K_MASS] = cyl[c, C_MASS]
        lines[line, k + K_BURNED] = cyl[c, C_X]
        lines[line, k + K_INTAKE] = exchange[c, X_INTAKE]
        lines[line, k + K_EXHAUST] = exchange[c, X_EXHAUST]
        lines[line, k + K_HEAT] = cyl[c, C_HEAT_RATE]
        lines[line, k + K_KNOCK] = cyl[c, C_KNOCK]
        k += K_PER_CYLINDER
    for i in range(res.shape[0]):
        lines[line, k] = res[i, V_P]
        lines[line, k + 1] = res[i, V_T]
        k += 2


@kernel
def record_cells(tape: Table, sample: int, k: int, x: Vector, ducts: Index) -> None:
    """
    Pressure, velocity and temperature of every duct cell, one after the other.

    Parameters
    ----------
    tape : ndarray, shape (n_sample, n_channel)
        Gets the values. [-]
    sample : int
        In this row. [-]
    k : int
        Where the cells begin in it. [-]
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer. [-]
    ducts : ndarray, shape (n_duct, N_DUCT)
        Where each duct lies. [-]

    Notes
    -----
    Source: copy.
    """
    for d in range(ducts.shape[0]):
        base = ducts[d, D_GROUP] * BLOCK + ducts[d, D_FIRST]
        for i in range(ducts[d, D_COUNT]):
            tape[sample, k] = x[base + i + R_P * STRIDE]
            tape[sample, k + 1] = x[base + i + R_U * STRIDE]
            tape[sample, k + 2] = x[base + i + R_T * STRIDE]
            k += 3


@kernel
def copy(target: Vector, k: int, source: Vector, i: int, n: int) -> None:
    """
    Copy part of an array into another.

    Parameters
    ----------
    target : ndarray, shape (m,)
        Gets the values from index `k` on. [-]
    k : int
        Where they go. [-]
    source : ndarray, shape (l,)
        Holds them from index `i` on. [-]
    i : int
        Where they lie. [-]
    n : int
        How many. [-]

    Notes
    -----
    A loop: slices of arrays cost seconds of compilation. Source: copy.
    """
    for j in range(n):
        target[k + j] = source[i + j]


@kernel
def keep(
    saved: Vector, x: Vector, n_group: int, end: Vector, res: Vector, link: Vector, cyl: Vector,
    exchange: Vector, is_back: bool,
) -> None:
    """
    Save the state at the start of a segment, or bring the saved one back.

    Parameters
    ----------
    saved : ndarray, shape (n,)
        The copy. [-]
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer. [-]
    n_group : int
        Groups of ducts. [-]
    end, res, link, cyl, exchange : ndarray
        Float tables, flat. [-]
    is_back : bool
        False: state to copy; true: copy to state. [-]

    Notes
    -----
    Source: copy.
    """
    k = 0
    for g in range(n_group):
        for row in range(SAVED_ROWS):
            source = row
            if row == N_CONSERVED:
                source = R_T
            elif row == N_CONSERVED + 1:
                source = R_HEAT_SUM
            start = g * BLOCK + source * STRIDE
            if is_back:
                copy(x, start, saved, k, STRIDE)
            else:
                copy(saved, k, x, start, STRIDE)
            k += STRIDE
    for table in (end, res, link, cyl, exchange):
        if is_back:
            copy(table, 0, saved, k, table.size)
        else:
            copy(saved, k, table, 0, table.size)
        k += table.size


@kernel
def refresh(x: Vector, groups: Index, gas: Vector) -> None:
    """
    Primitive rows from the conserved ones, scratch rows wiped.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer. [-]
    groups : ndarray, shape (n_group, 3)
        Groups of ducts. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]

    Notes
    -----
    An update of no duration; the scratch rows may hold what is no number and are wiped first.
    Source: :func:`enginesim.kernels.duct.update`.
    """
    for g in range(groups.shape[0]):
        for k in range(g * BLOCK + R_LEFT * STRIDE, (g + 1) * BLOCK):
            x[k] = 0.0
        update(x, g, groups[g, 0], 0.0, gas)


@kernel
def bad_cell(x: Vector, ducts: Index) -> tuple[int, int]:
    """
    First duct cell whose state is no gas.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer. [-]
    ducts : ndarray, shape (n_duct, N_DUCT)
        Where each duct lies. [-]

    Returns
    -------
    tuple of int
        Duct and cell, -1 if all are sound. [-]

    Notes
    -----
    Source: comparison with no number is false.
    """
    for d in range(ducts.shape[0]):
        base = ducts[d, D_GROUP] * BLOCK + ducts[d, D_FIRST]
        for i in range(ducts[d, D_COUNT]):
            if not (x[base + i] > 0.0 and x[base + i + R_P * STRIDE] > 0.0):
                return d, i
            if not is_sound(x[base + i + R_SPEED * STRIDE]):
                return d, i
    return -1, -1


@kernel
def march(
    x: Vector, x_bits: Index, groups: Index, ducts: Index, ends: Index, end: Table, res: Table,
    links: Index, link: Table, cyl: Table, par: Table, phase: Vector, exchange: Table,
    valve_area: Table,
    gas: Vector, settings: Vector, clock: Vector, tape: Table, lines: Table, saved: Vector,
    bits: Index, theta_end: float,
) -> tuple[int, int, int]:
    """
    March the engine to `theta_end`, in segments that are repeated with half the step if they fail.

    Parameters
    ----------
    x, x_bits : ndarray, shape (n_group * BLOCK,)
        Duct buffer, as floats and as integers. [-]
    groups, ducts, ends, links : ndarray
        Integer tables. [-]
    end, res, link, cyl, par, exchange : ndarray
        Float tables. [-]
    phase : ndarray, shape (n_cylinder,)
        Engine angle of each firing top dead centre. [rad]
    valve_area : ndarray, shape (n_angle, 4)
        Effective areas over the own angle. [m2]
    gas, settings, clock : ndarray
        Gas array, settings and clock. [-]
    tape : ndarray, shape (n_sample, n_channel)
        Gets a row for each sample angle that is passed. [-]
    lines : ndarray, shape (2, n_channel)
        Scratch: channels before and after a step. [-]
    saved : ndarray, shape (n,)
        Scratch: state at the start of the segment. [-]
    bits : ndarray, shape (1,)
        Scratch. [-]
    theta_end : float
        Engine angle to stop at. [rad]

    Returns
    -------
    tuple of int
        Status, element and cell. [-]

    Notes
    -----
    Steps end exactly on the segments' ends; samples between two steps are interpolated linearly,
    so that a record's shape does not depend on the step. Duct cells are written as they are at the
    first step on or past the sample. Source: explicit stepping with the Courant condition.
    """
    omega = settings[S_OMEGA]
    n_plain = cyl.shape[0] * K_PER_CYLINDER + 2 * res.shape[0]
    status, element, cell = OK, -1, -1
    while clock[T_THETA] < theta_end - 1e-9:
        start = clock[T_THETA]
        stop = min(start + SEGMENT, theta_end)
        keep(
            saved, x, groups.shape[0], end.ravel(), res.ravel(), link.ravel(), cyl.ravel(),
            exchange.ravel(), False,
        )
        steps, cells, time, speed = clock[T_STEPS], clock[T_CELLS], clock[T_TIME], clock[T_SPEED]
        for g in range(groups.shape[0]):
            wall_terms(x, g, groups[g, 0], gas)
        cut = 1.0
        for halving in range(_MOST_HALVINGS + 1):
            channels(lines, 0, cyl, exchange, res)
            sample = int(math.ceil(start / settings[S_SAMPLE] - 1e-6))
            theta = start
            status, element, cell = OK, -1, -1
            while theta < stop - 1e-12:
                turn = settings[S_MAX_STEP]
                if clock[T_SPEED] > 0.0:
                    turn = min(turn, settings[S_CFL] / clock[T_SPEED] * omega)
                turn *= cut
                count = math.ceil((stop - theta) / turn - 1e-9)
                turn = (stop - theta) / count
                dt = turn / omega
                status, element = step(
                    x, x_bits, groups, ducts, ends, end, res, links, link, cyl, par, phase,
                    exchange, valve_area, gas, settings, theta, dt, bits,
                )
                theta = stop if count == 1 else theta + turn
                clock[T_SPEED] = bits.view(np.float64)[0]
                clock[T_STEPS] += 1.0
                clock[T_TIME] += dt
                for g in range(groups.shape[0]):
                    clock[T_CELLS] += groups[g, 0]
                if not is_sound(clock[T_SPEED]):
                    status = BAD_DUCT
                if status != OK:
                    break
                channels(lines, 1, cyl, exchange, res)
                while sample * settings[S_SAMPLE] <= theta + 1e-9 and sample < tape.shape[0]:
                    f = 1.0 - (theta - sample * settings[S_SAMPLE]) / turn
                    f = min(max(f, 0.0), 1.0)
                    for k in range(n_plain):
                        tape[sample, k] = (1.0 - f) * lines[0, k] + f * lines[1, k]
                    if settings[S_RECORD_DUCTS] == 1.0:
                        record_cells(tape, sample, n_plain, x, ducts)
                    sample += 1
                for k in range(n_plain):
                    lines[0, k] = lines[1, k]
            if status == OK:
                break
            if status == BAD_DUCT:
                element, cell = bad_cell(x, ducts)
            clock[T_REJECTED] += clock[T_STEPS] - steps
            clock[T_STEPS], clock[T_CELLS], clock[T_TIME] = steps, cells, time
            clock[T_SPEED] = speed
            if halving == _MOST_HALVINGS:
                return status, element, cell
            keep(
                saved, x, groups.shape[0], end.ravel(), res.ravel(), link.ravel(), cyl.ravel(),
                exchange.ravel(), True,
            )
            refresh(x, groups, gas)
            cut *= 0.5
        clock[T_THETA] = stop
    return OK, -1, -1
