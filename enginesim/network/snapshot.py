"""What does an engine hold between two cycles, and how is it put back, or mixed from several?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from enginesim.kernels import cylinder_layout as cl
from enginesim.kernels import layout as at
from enginesim.kernels.reservoir import fill_reservoir
from enginesim.network.assemble import Network
from enginesim.network.state import State, fill_ducts, settle

Array = NDArray[np.float64]

_CELL = (at.R_P, at.R_T, at.R_U, at.R_YB, at.R_YF)
_VOLUME = (at.V_P, at.V_T, at.V_AHEAD, at.V_YB, at.V_YF, at.V_PULL, at.V_PULL_CHANGE)
_BACK = slice(at.LF_BACK_MASS, at.LF_BACK_ENERGY + 1)
_ONE_ZONE = (cl.PHASE_OPEN, cl.PHASE_CLOSED, cl.PHASE_BURNT)
_CONTENTS = [cl.C_AIR, cl.C_FUEL, cl.C_BURNED]


@dataclass(frozen=True, eq=False)
class Snapshot:
    """
    What an engine holds at one moment.

    Attributes
    ----------
    cells : ndarray, shape (5, n_cell)
        Pressure [Pa], temperature [K], velocity [m/s], burned and fuel fraction [-] of all duct
        cells, one duct behind the other.
    volumes : ndarray, shape (7, n_volume)
        Pressure [Pa], temperature [K], pressure ahead [Pa], burned and fuel fraction [-], pull and
        its change [Pa/s] of the volumes; the open air is none.
    back : ndarray, shape (n_link, 4)
        Mass, burned, fuel [kg] and enthalpy [J] that wait before the mouths.
    cylinders : ndarray, shape (n_cylinder, N_CYLINDER)
        Rows of the cylinders.
    """

    cells: Array
    volumes: Array
    back: Array
    cylinders: Array


def places(network: Network) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """
    Where the duct cells lie in the buffer.

    Parameters
    ----------
    network : Network
        The arrays.

    Returns
    -------
    tuple of ndarray, shape (n_cell,)
        Group and column of each, one duct behind the other. [-]
    """
    groups, firsts, counts = network.ducts.T
    within = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    return np.repeat(groups, counts), np.repeat(firsts, counts) + within


def vessels(network: Network) -> NDArray[np.int64]:
    """
    Reservoirs that are volumes and not the open air.

    Parameters
    ----------
    network : Network
        The arrays.

    Returns
    -------
    ndarray, shape (n_volume,)
        Rows of the reservoir table. [-]
    """
    return np.flatnonzero(network.res[:, at.V_VOLUME] > 0.0)


def taken(network: Network, state: State) -> Snapshot:
    """
    What an engine holds now.

    Parameters
    ----------
    network : Network
        The arrays.
    state : State
        The gas.

    Returns
    -------
    Snapshot
        A copy.
    """
    groups, columns = places(network)
    rows = state.x.reshape(-1, at.N_ROWS, at.STRIDE)
    return Snapshot(
        cells=np.array([rows[groups, row, columns] for row in _CELL]),
        volumes=np.array([state.res[vessels(network), k] for k in _VOLUME]),
        back=state.link[:, _BACK].copy(),
        cylinders=state.cyl.copy(),
    )


def put(network: Network, state: State, given: Snapshot) -> None:
    """
    Let an engine hold what a snapshot says.

    Parameters
    ----------
    network : Network
        The arrays.
    state : State
        Gets the gas.
    given : Snapshot
        Of the same network.
    """
    for k, i in enumerate(vessels(network).tolist()):
        p, t, ahead, y_b, y_f, pull, change = given.volumes[:, k].tolist()
        fill_reservoir(state.res, i, network.gas, p, t, y_b, y_f)
        state.res[i, [at.V_AHEAD, at.V_PULL, at.V_PULL_CHANGE]] = ahead, pull, change
    state.link[:, _BACK] = given.back
    state.cyl[:] = given.cylinders
    if given.cells.shape[1] > 0:
        p, t, u, y_b, y_f = given.cells
        fill_ducts(network, state, p=p, t=t, u=u, y_b=y_b, y_f=y_f)
    settle(network, state)


def mixed(
    last: Snapshot, steps: Sequence[tuple[float, Snapshot, Snapshot]], limit: float
) -> Snapshot:
    """
    A snapshot moved along the differences of others.

    Parameters
    ----------
    last : Snapshot
        What is moved.
    steps : sequence of (float, Snapshot, Snapshot)
        Factor, and two snapshots: their difference, second less first, times the factor is added.
        [-]
    limit : float
        Part of pressure and temperature by which no place may move: all is cut to it. [-]

    Returns
    -------
    Snapshot
        Fractions between 0 and 1, masses above 0. A cylinder that burns, or is in another phase of
        its cycle in any of the snapshots, or would move beyond the limit, stays as it is in `last`.
    """
    cells, volumes, back, cylinders = (
        sum(
            (factor * (getattr(second, name) - getattr(first, name))
             for factor, first, second in steps),
            np.zeros_like(getattr(last, name)),
        )
        for name in ("cells", "volumes", "back", "cylinders")
    )  # fmt: skip
    furthest = max(
        (
            float(np.max(np.abs(move[:2] / old[:2])))
            for move, old in ((cells, last.cells), (volumes, last.volumes))
            if move.size
        ),
        default=0.0,
    )
    part = min(1.0, limit / furthest) if furthest > 0.0 else 1.0
    return sound(
        Snapshot(
            last.cells + part * cells,
            last.volumes + part * volumes,
            _mixed_back(last.back, part * back),
            _mixed_cylinders(last, steps, part * cylinders, limit),
        )
    )


def _mixed_back(old: Array, move: Array) -> Array:
    """What waits before the mouths, where it is still a gas; as it was else."""
    new = old + move
    is_gas = (new[:, 0] > 0.0) & np.all(new[:, 1:3] >= 0.0, axis=1)
    is_gas &= new[:, 1] + new[:, 2] <= new[:, 0]
    return np.where(is_gas[:, None], new, old)


def _mixed_cylinders(
    last: Snapshot, steps: Sequence[tuple[float, Snapshot, Snapshot]], move: Array, limit: float
) -> Array:
    old = last.cylinders
    phase = old[:, cl.C_PHASE]
    can_move = np.isin(phase, _ONE_ZONE)
    for _, first, second in steps:
        for one in (first, second):
            can_move &= one.cylinders[:, cl.C_PHASE] == phase
    for column in (cl.C_T, cl.C_P, cl.C_MASS):
        can_move &= np.abs(move[:, column]) <= limit * old[:, column]
    can_move &= np.all(old[:, _CONTENTS] + move[:, _CONTENTS] >= 0.0, axis=1)
    new = np.where(can_move[:, None] & ~np.isnan(move), old + move, old)
    # The last burn's length is only remembered: it may move whatever the cylinder does.
    length = old[:, cl.C_LAST_LENGTH]
    new[:, cl.C_LAST_LENGTH] = length + np.clip(move[:, cl.C_LAST_LENGTH], -0.5 * length, length)
    return new


def sound(given: Snapshot) -> Snapshot:
    """
    A snapshot whose mass fractions lie between 0 and 1.

    Parameters
    ----------
    given : Snapshot
        Perhaps moved too far.

    Returns
    -------
    Snapshot
        Clipped.
    """
    cells, volumes = given.cells.copy(), given.volumes.copy()
    for rows in (cells, volumes):
        rows[3] = np.clip(rows[3], 0.0, 1.0)
        rows[4] = np.clip(rows[4], 0.0, 1.0 - rows[3])
    return replace(given, cells=cells, volumes=volumes, cylinders=given.cylinders.copy())
