"""How does the engine move from one crank angle to another, and what is written down on the way?"""

from __future__ import annotations

import math

import numpy as np

from enginesim.base.jit import kernel
from enginesim.kernels.arrays import Index, Table, Vector
from enginesim.kernels.layout import (
    K_PER_CYLINDER,
    S_CFL,
    S_MAX_STEP,
    S_OMEGA,
    S_SAMPLE,
    T_CELLS,
    T_REJECTED,
    T_SPEED,
    T_STEPS,
    T_THETA,
    T_TIME,
)
from enginesim.kernels.rollback import bad_cell, bring_back, keep
from enginesim.kernels.status import BAD_DUCT, OK
from enginesim.kernels.step import is_sound, step
from enginesim.kernels.tape import channels, record_cells
from enginesim.kernels.wall import wall_terms

SEGMENT = math.radians(10.0)
_MOST_HALVINGS = 8


@kernel
def march(
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
    clock: Vector,
    tape: Table,
    lines: Table,
    places: Index,
    tables: Vector,
    saved: Vector,
    bits: Index,
    theta_end: float,
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
        Float tables; all but `par` are views of `tables`. [-]
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
    places : ndarray, shape (n,)
        Duct cells that go on the tape: where they lie in a row of the buffer. [-]
    tables : ndarray, shape (m,)
        All float tables that change, one behind the other. [-]
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
        steps, cells, time, speed = clock[T_STEPS], clock[T_CELLS], clock[T_TIME], clock[T_SPEED]
        for g in range(groups.shape[0]):
            wall_terms(x, g, groups[g, 0], gas)
        cut = 1.0
        keep(saved, x, groups.shape[0], tables)
        for halving in range(_MOST_HALVINGS + 1):
            if halving > 0:
                bring_back(saved, x, groups, gas, tables)
            channels(lines, cyl, exchange, res)
            sample = math.ceil(start / settings[S_SAMPLE] - 1e-6)
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
                for k in range(n_plain):
                    lines[0, k] = lines[1, k]
                status, element = step(
                    x,
                    x_bits,
                    groups,
                    ducts,
                    ends,
                    end,
                    res,
                    links,
                    link,
                    cyl,
                    par,
                    phase,
                    exchange,
                    valve_area,
                    gas,
                    settings,
                    theta,
                    dt,
                    bits,
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
                channels(lines, cyl, exchange, res)
                while sample * settings[S_SAMPLE] <= theta + 1e-9 and sample < tape.shape[0]:
                    f = 1.0 - (theta - sample * settings[S_SAMPLE]) / turn
                    f = min(max(f, 0.0), 1.0)
                    for k in range(n_plain):
                        tape[sample, k] = (1.0 - f) * lines[0, k] + f * lines[1, k]
                    record_cells(tape, sample, n_plain, x, places)
                    sample += 1
            if status == OK:
                break
            if status == BAD_DUCT:
                element, cell = bad_cell(x, ducts)
            clock[T_REJECTED] += clock[T_STEPS] - steps
            clock[T_STEPS], clock[T_CELLS], clock[T_TIME] = steps, cells, time
            clock[T_SPEED] = speed
            if halving == _MOST_HALVINGS:
                return status, element, cell
            cut *= 0.5
        clock[T_THETA] = stop
    return OK, -1, -1
