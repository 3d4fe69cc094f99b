"""What is written down of the engine at one moment?"""

from __future__ import annotations

from enginesim.base.jit import kernel
from enginesim.kernels.arrays import Index, Table, Vector
from enginesim.kernels.cylinder_layout import (
    C_HEAT_RATE,
    C_KNOCK,
    C_MASS,
    C_P,
    C_T,
    C_T_UNBURNED,
    C_X,
)
from enginesim.kernels.layout import (
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
    R_P,
    R_T,
    R_U,
    STRIDE,
    V_P,
    V_T,
    X_EXHAUST,
    X_INTAKE,
)


@kernel
def channels(lines: Table, cyl: Table, exchange: Table, res: Table) -> None:
    """
    Present values of all channels except the duct cells.

    Parameters
    ----------
    lines : ndarray, shape (2, n_channel)
        Gets the values in its second row. [-]
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
        lines[1, k + K_P] = cyl[c, C_P]
        lines[1, k + K_T] = cyl[c, C_T]
        lines[1, k + K_T_UNBURNED] = cyl[c, C_T_UNBURNED]
        lines[1, k + K_MASS] = cyl[c, C_MASS]
        lines[1, k + K_BURNED] = cyl[c, C_X]
        lines[1, k + K_INTAKE] = exchange[c, X_INTAKE]
        lines[1, k + K_EXHAUST] = exchange[c, X_EXHAUST]
        lines[1, k + K_HEAT] = cyl[c, C_HEAT_RATE]
        lines[1, k + K_KNOCK] = cyl[c, C_KNOCK]
        k += K_PER_CYLINDER
    for i in range(res.shape[0]):
        lines[1, k] = res[i, V_P]
        lines[1, k + 1] = res[i, V_T]
        k += 2


@kernel
def record_cells(tape: Table, sample: int, k: int, x: Vector, places: Index) -> None:
    """
    Pressure, velocity and temperature of some duct cells, one after the other.

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
    places : ndarray, shape (n,)
        Where each cell lies in a row of the buffer. [-]

    Notes
    -----
    Source: copy.
    """
    for i in range(places.shape[0]):
        place = places[i]
        tape[sample, k] = x[place + R_P * STRIDE]
        tape[sample, k + 1] = x[place + R_U * STRIDE]
        tape[sample, k + 2] = x[place + R_T * STRIDE]
        k += 3
