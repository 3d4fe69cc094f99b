"""What changes as an engine runs, and with which gas does it begin?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from enginesim.kernels import layout as at
from enginesim.kernels.cylinder_layout import N_CYLINDER
from enginesim.kernels.duct import update
from enginesim.kernels.gas import fuel_offset
from enginesim.kernels.reservoir import fastest_renewal, fill_reservoir
from enginesim.kernels.vessel_layout import N_JOINT, N_VESSEL
from enginesim.network.assemble import Network

Array = NDArray[np.float64]
Index = NDArray[np.int64]

_STIFF = 1e6  # what volumes and cylinders answer at first, as if nothing could be faster [1/s]


@dataclass(eq=False)
class State:
    """
    The arrays of one engine that change as it runs, and the scratch that goes with them.

    Attributes
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer.
    end, res, link, cyl, exchange : ndarray
        Float tables.
    clock : ndarray, shape (N_CLOCK,)
        Angle, time and counts.
    tables : ndarray, shape (m,)
        The memory of the float tables, one behind the other.
    saved, lines, bits : ndarray
        Scratch.
    """

    x: Array
    end: Array
    res: Array
    link: Array
    cyl: Array
    exchange: Array
    clock: Array
    tables: Array
    saved: Array
    lines: Array
    bits: Index
    order: Index
    vessel: Array
    joint: Array
    entries: Array


def first_state(network: Network) -> State:
    """
    State of a network at its beginning, cylinders still empty rows.

    Parameters
    ----------
    network : Network
        The arrays.

    Returns
    -------
    State
        Ducts and volumes at the state that the plan gives them.
    """
    n = network.plan.n_cylinders
    tables, (end, res, link, cyl, exchange) = _one_behind_the_other(
        network.end,
        network.res,
        network.link,
        np.zeros((n, N_CYLINDER)),
        np.zeros((n, at.N_EXCHANGE)),
    )
    res[:, at.V_STIFF] = exchange[:, at.X_STIFF] = _STIFF
    for i, volume in enumerate(network.plan.volumes):
        fill_reservoir(res, i, network.gas, volume.p, volume.t, volume.y_b, volume.y_f)
    x = _aligned(network.mesh)
    n_channel = n * at.K_PER_CYLINDER + 2 * len(res)
    state = State(
        x=x,
        end=end,
        res=res,
        link=link,
        cyl=cyl,
        exchange=exchange,
        clock=np.zeros(at.N_CLOCK),
        tables=tables,
        saved=np.zeros(len(network.groups) * at.SAVED_ROWS * at.STRIDE + tables.size),
        lines=np.zeros((2, n_channel)),
        bits=np.zeros(1, dtype=np.int64),
        order=_downstream(network),
        vessel=np.zeros((len(res) + n, N_VESSEL)),
        joint=np.zeros((len(link), N_JOINT)),
        entries=np.zeros(0 if network.coupling is None else network.coupling.n_entry),
    )
    rows = x.reshape(-1, at.N_ROWS, at.STRIDE)
    padding = frozen_energy(network.gas, np.array(300.0), np.array(0.0), np.array(0.0))
    rows[:, at.R_ENE] = rows[:, at.R_RHO] * padding
    ducts = network.plan.ducts
    if ducts:
        counts = network.ducts[:, at.D_COUNT]
        fill_ducts(
            network,
            state,
            p=np.repeat([duct.p for duct in ducts], counts),
            t=np.repeat([duct.t for duct in ducts], counts),
            u=np.zeros(counts.sum()),
            y_b=np.repeat([duct.y_b for duct in ducts], counts),
            y_f=np.repeat([duct.y_f for duct in ducts], counts),
        )
    settle(network, state)
    return state


def _downstream(network: Network) -> Index:
    """Vessels in the order in which gas may reach them: the open air first."""
    volumes = [volume.volume for volume in network.plan.volumes]
    volumes += [1.0] * network.plan.n_cylinders
    return np.argsort(np.array(volumes) > 0.0, kind="stable")


def _one_behind_the_other(*arrays: Array) -> tuple[Array, list[Array]]:
    """Copies of arrays in one piece of memory, and that piece."""
    memory = np.concatenate([array.ravel() for array in arrays])
    ends = np.cumsum([array.size for array in arrays])
    parts = np.split(memory, ends[:-1])
    return memory, [part.reshape(array.shape) for part, array in zip(parts, arrays, strict=True)]


def _aligned(mesh: Array) -> Array:
    """Copy whose second cell begins a cache line: the passes begin there."""
    line = 8
    raw = np.empty(mesh.size + 2 * line)
    start = (line - 1 - raw.ctypes.data // raw.itemsize) % line
    copy = raw[start : start + mesh.size]
    copy[:] = mesh
    return copy


def fill_cells(
    network: Network,
    state: State,
    d: int,
    *,
    p: Array,
    t: Array,
    u: Array,
    y_b: Array,
    y_f: Array | None = None,
) -> None:
    """
    Fill the cells of one duct with any state.

    Parameters
    ----------
    network : Network
        The arrays.
    state : State
        Gets the gas.
    d : int
        Which duct. [-]
    p, t, u : ndarray, shape (n,)
        Pressure [Pa], temperature [K], velocity. [m/s]
    y_b, y_f : ndarray, shape (n,)
        Burned and fuel-vapour fractions; no fuel if left out. [-]
    """
    vapour = np.zeros_like(y_b) if y_f is None else y_f
    group, first, n = (int(v) for v in network.ducts[d])
    _fill(network.gas, state, (group, slice(first, first + n)), p, t, u, y_b, vapour)


def fill_ducts(
    network: Network, state: State, *, p: Array, t: Array, u: Array, y_b: Array, y_f: Array
) -> None:
    """
    Fill the cells of all ducts, one duct behind the other.

    Parameters
    ----------
    network : Network
        The arrays.
    state : State
        Gets the gas.
    p, t, u : ndarray, shape (n_cells,)
        Pressure [Pa], temperature [K], velocity. [m/s]
    y_b, y_f : ndarray, shape (n_cells,)
        Burned and fuel-vapour fractions. [-]
    """
    groups, firsts, counts = network.ducts.T
    within = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    cells = (np.repeat(groups, counts), np.repeat(firsts, counts) + within)
    _fill(network.gas, state, cells, p, t, u, y_b, y_f)


def _fill(
    gas: Array,
    state: State,
    cells: tuple[Any, Any],
    p: Array,
    t: Array,
    u: Array,
    y_b: Array,
    y_f: Array,
) -> None:
    """Conserved rows and temperature of cells given by group and column."""
    rows = state.x.reshape(-1, at.N_ROWS, at.STRIDE).transpose(1, 0, 2)
    e = frozen_energy(gas, t, y_b, y_f) - y_f * fuel_offset(gas)
    rho = p / ((gas[at.G_R] + y_f * gas[at.G_R + 1] + y_b * gas[at.G_R + 2]) * t)
    rows[at.R_RHO][cells] = rho
    rows[at.R_MOM][cells] = rho * u
    rows[at.R_ENE][cells] = rho * (e + 0.5 * u * u)
    rows[at.R_BURNED][cells] = rho * y_b
    rows[at.R_FUEL][cells] = rho * y_f
    rows[at.R_T][cells] = t


def frozen_energy(gas: Array, t: Array, y_b: Array, y_f: Array) -> Array:
    """
    Internal energy of a frozen mixture, as the kernels have it, for arrays.

    Parameters
    ----------
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    t : ndarray
        Temperature. [K]
    y_b, y_f : ndarray
        Burned and fuel-vapour fractions. [-]

    Returns
    -------
    ndarray
        Specific internal energy. [J/kg]
    """
    theta = t * 1e-3
    bump = np.maximum(theta - 1.0, 0.0)
    powers = [theta**k for k in range(6)] + [bump**k for k in range(2, 6)]
    terms = [
        (gas[at.G_AIR + k] + y_f * gas[at.G_FUEL + k] + y_b * gas[at.G_BURNED + k]) * power
        for k, power in enumerate(powers)
    ]
    return np.asarray(sum(terms))


def settle(network: Network, state: State) -> None:
    """
    Fill the primitive rows and the first wave speed, by an update of no duration.

    Parameters
    ----------
    network : Network
        The arrays.
    state : State
        Its conserved rows are filled.
    """
    for g, group in enumerate(network.groups):
        update(state.x, g, int(group[0]), 0.0, network.gas)
    state.clock[at.T_SPEED] = max(wave_speed(state), fastest_renewal(state.res))


def wave_speed(state: State) -> float:
    """
    Largest (|u| + a)/dx of all cells.

    Parameters
    ----------
    state : State
        The gas.

    Returns
    -------
    float
        What the Courant condition asks for. [1/s]
    """
    rows = state.x.reshape(-1, at.N_ROWS, at.STRIDE)
    return float(np.max(rows[:, at.R_SPEED], initial=0.0))
