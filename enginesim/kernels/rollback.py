"""How is a state kept, brought back, and found to be no gas?"""

from __future__ import annotations

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
def keep(
    saved: Vector,
    x: Vector,
    n_group: int,
    end: Vector,
    res: Vector,
    link: Vector,
    cyl: Vector,
    exchange: Vector,
    is_back: bool,
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
    Loops, since slices of arrays cost seconds of compilation. Source: copy.
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
            for j in range(STRIDE):
                if is_back:
                    x[start + j] = saved[k + j]
                else:
                    saved[k + j] = x[start + j]
            k += STRIDE
    for table in (end, res, link, cyl, exchange):
        for j in range(table.size):
            if is_back:
                table[j] = saved[k + j]
            else:
                saved[k + j] = table[j]
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
