"""What does the closed part of a cycle give, from intake closing to exhaust opening?

Source: repeated steps of :mod:`enginesim.kernels.cylinder`.
"""

from __future__ import annotations

from enginesim.base.jit import kernel
from enginesim.kernels.arrays import Table, Vector
from enginesim.kernels.contents import return_to_closing
from enginesim.kernels.cylinder import advance
from enginesim.kernels.cylinder_layout import (
    C_IVC_ANGLE,
    C_P,
    C_T,
    C_T_UNBURNED,
    C_VOLUME,
    C_WORK,
    C_X,
    P_EVO,
    P_SPARK,
)
from enginesim.kernels.status import OK

# Columns of a trace
TRACE_ANGLE = 0
TRACE_P = 1
TRACE_VOLUME = 2
TRACE_T = 3
TRACE_T_UNBURNED = 4
TRACE_X = 5
N_TRACE = 6


@kernel
def closed_cycle(
    cyl: Vector, par: Vector, gas: Vector, omega: float, n_step: int, trace: Table
) -> int:
    """
    March one cylinder from its last intake closing to exhaust opening, valves shut.

    Parameters
    ----------
    cyl : ndarray, shape (n_cylinder,)
        State of the cylinder; begins with its contents at intake closing, ends at exhaust opening
        with work, heat, knock integral and peak pressure of the way between. [-]
    par : ndarray, shape (n_parameter,)
        Parameters of the cylinder. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    omega : float
        Crank speed. [rad/s]
    n_step : int
        Number of equal steps. [-]
    trace : ndarray, shape (n_step + 1, N_TRACE) or (0, N_TRACE)
        Own angle [rad], pressure [Pa], volume [m3], temperature [K], unburned temperature [K] and
        passed part [-] at every step, written if it has rows.

    Returns
    -------
    int
        Status. [-]
    """
    status = return_to_closing(cyl, par, gas, omega)
    start = cyl[C_IVC_ANGLE]
    step = (par[P_EVO] - start) / n_step
    is_traced = trace.shape[0] > n_step
    if is_traced:
        _note(cyl, trace, 0, start)
    for k in range(n_step):
        if status != OK:
            return status
        theta = start + k * step
        status = advance(cyl, par, gas, theta, step, omega, 0.0, 0.0, 0.0, 0.0)
        if is_traced:
            _note(cyl, trace, k + 1, theta + step)
    return status


@kernel
def _note(cyl: Vector, trace: Table, row: int, theta: float) -> None:
    trace[row, TRACE_ANGLE] = theta
    trace[row, TRACE_P] = cyl[C_P]
    trace[row, TRACE_VOLUME] = cyl[C_VOLUME]
    trace[row, TRACE_T] = cyl[C_T]
    trace[row, TRACE_T_UNBURNED] = cyl[C_T_UNBURNED]
    trace[row, TRACE_X] = cyl[C_X]


@kernel
def closed_cycles(
    cyl: Table,
    par: Table,
    gas: Vector,
    omega: float,
    spark: float,
    n_step: int,
    trial: Table,
    trial_par: Table,
    trace: Table,
) -> tuple[int, float]:
    """
    Closed parts of several cylinders with one spark, their rows left as they are.

    Parameters
    ----------
    cyl : ndarray, shape (n, n_cylinder)
        States of the cylinders; contents at the last intake closing are read. [-]
    par : ndarray, shape (n, n_parameter)
        Parameters of the cylinders. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    omega : float
        Crank speed. [rad/s]
    spark : float
        Own angle of the spark. [rad]
    n_step : int
        Number of steps of each cylinder. [-]
    trial : ndarray, shape (n, n_cylinder)
        Gets the states at exhaust opening. [-]
    trial_par : ndarray, shape (n, n_parameter)
        Scratch. [-]
    trace : ndarray, shape (0, N_TRACE)
        Nothing is traced. [-]

    Returns
    -------
    tuple of int and float
        Status, and the work of all. [J]
    """
    work = 0.0
    for i in range(cyl.shape[0]):
        for j in range(cyl.shape[1]):
            trial[i, j] = cyl[i, j]
        for j in range(par.shape[1]):
            trial_par[i, j] = par[i, j]
        trial_par[i, P_SPARK] = spark
        status = closed_cycle(trial[i], trial_par[i], gas, omega, n_step, trace)
        if status != OK:
            return status, work
        work += trial[i, C_WORK]
    return OK, work
