"""Which duct cells does a run write down?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from enginesim.kernels import layout as at

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from enginesim.network.assemble import Network


def first_cells(network: Network) -> NDArray[np.int64]:
    """
    Number of the first cell of each duct, all cells counted through.

    Parameters
    ----------
    network : Network
        The arrays.

    Returns
    -------
    ndarray, shape (n_duct + 1,)
        Last the number of all cells. [-]
    """
    return np.concatenate([[0], np.cumsum(network.ducts[:, at.D_COUNT])])


def port_cells(network: Network) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """
    The duct cell next to the intake valves of each cylinder.

    Parameters
    ----------
    network : Network
        The arrays and their plan.

    Returns
    -------
    cells : ndarray, shape (n_cylinder,)
        Numbers of the cells; none if not every cylinder has a duct there. [-]
    towards : ndarray, shape (n_cylinder,)
        1 where velocity along the duct is towards the valve, else -1. [-]
    """
    first = first_cells(network)
    found: dict[int, tuple[int, float]] = {}
    for d, duct in enumerate(network.plan.ducts):
        for end, cell, sign in ((duct.start, first[d], -1.0), (duct.finish, first[d + 1] - 1, 1.0)):
            if end.kind == "valve" and end.side == "intake":
                found[end.target] = (int(cell), sign)
    if set(found) != set(range(network.plan.n_cylinders)):
        found = {}
    cells = np.array([found[k][0] for k in sorted(found)], dtype=np.int64)
    return cells, np.array([found[k][1] for k in sorted(found)])


def places(network: Network) -> NDArray[np.int64]:
    """
    Where each duct cell lies in a row of the duct buffer.

    Parameters
    ----------
    network : Network
        The arrays.

    Returns
    -------
    ndarray, shape (n_cell,)
        Index into the buffer, less that of the row. [-]
    """
    parts = [
        duct[at.D_GROUP] * at.BLOCK + duct[at.D_FIRST] + np.arange(duct[at.D_COUNT])
        for duct in network.ducts
    ]
    return np.concatenate([np.empty(0, dtype=np.int64), *parts])
