"""How is a state kept, brought back, and found to be no gas?"""

from __future__ import annotations

from enginesim.base.formula import formula
from enginesim.base.jit import kernel
from enginesim.kernels.arrays import Index, Vector
from enginesim.kernels.duct import update
from enginesim.kernels.layout import (
    BLOCK,
    D_COUNT,
    D_FIRST,
    D_GROUP,
    N_CONSERVED,
    R_HEAT_SUM,
    R_LEFT,
    R_P,
    R_SPEED,
    R_T,
    SAVED_ROWS,
    STRIDE,
)
from enginesim.kernels.step import is_sound


@kernel
def keep(saved: Vector, x: Vector, n_group: int, tables: Vector) -> None:
    """
    Save the state at the start of a segment.

    Parameters
    ----------
    saved : ndarray, shape (n,)
        Gets the copy. [-]
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer. [-]
    n_group : int
        Groups of ducts. [-]
    tables : ndarray, shape (m,)
        Float tables, one behind the other. [-]

    Notes
    -----
    Loops, since slices of arrays cost seconds of compilation. Source: copy.
    """
    for row in range(n_group * SAVED_ROWS):
        start = _place(row)
        for j in range(STRIDE):
            saved[row * STRIDE + j] = x[start + j]
    k = n_group * SAVED_ROWS * STRIDE
    for j in range(tables.size):
        saved[k + j] = tables[j]


@kernel
def bring_back(saved: Vector, x: Vector, groups: Index, gas: Vector, tables: Vector) -> None:
    """
    Bring the saved state back.

    Parameters
    ----------
    saved : ndarray, shape (n,)
        Copy made by :func:`keep`. [-]
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer. [-]
    groups : ndarray, shape (n_group, 3)
        Groups of ducts. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    tables : ndarray, shape (m,)
        Float tables, one behind the other. [-]

    Notes
    -----
    The primitive rows come from an update of no duration; the scratch rows may hold what is no
    number and are wiped first. Source: copy; :func:`enginesim.kernels.duct.update`.
    """
    n_group = groups.shape[0]
    for row in range(n_group * SAVED_ROWS):
        start = _place(row)
        for j in range(STRIDE):
            x[start + j] = saved[row * STRIDE + j]
    k = n_group * SAVED_ROWS * STRIDE
    for j in range(tables.size):
        tables[j] = saved[k + j]
    for g in range(n_group):
        for j in range(g * BLOCK + R_LEFT * STRIDE, (g + 1) * BLOCK):
            x[j] = 0.0
        update(x, g, groups[g, 0], 0.0, gas)


@formula
def _place(row: int) -> int:
    """Where the n-th saved row begins in the duct buffer."""
    source = row % SAVED_ROWS
    if source == N_CONSERVED:
        source = R_T
    elif source == N_CONSERVED + 1:
        source = R_HEAT_SUM
    return row // SAVED_ROWS * BLOCK + source * STRIDE


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
