"""How does an engine's state on long cells become one on its own cells?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from enginesim.network.assemble import Network, assemble
from enginesim.network.snapshot import Snapshot, put, taken
from enginesim.network.state import State

#: A rough mesh's cells over the proper ones [-].
LONGER = 2.0


def roughened(network: Network) -> Network:
    """
    The same network on a rough mesh.

    Parameters
    ----------
    network : Network
        The arrays on the proper mesh.

    Returns
    -------
    Network
        The arrays on cells twice as long; all else is the same.
    """
    plan = network.plan
    longer = [
        replace(duct, cell_size=LONGER * duct.cell_size, least_cells=2) for duct in plan.ducts
    ]
    return assemble(
        replace(plan, ducts=longer),
        network.gas,
        par=network.par,
        phase=network.phase,
        valve_area=network.valve_area,
    )


def refined(rough: Network, given: Snapshot, network: Network) -> Snapshot:
    """
    A snapshot of one mesh of a network as one of another.

    Parameters
    ----------
    rough : Network
        The network on the mesh of `given`.
    given : Snapshot
        What the engine holds.
    network : Network
        The network on the mesh that is wanted.

    Returns
    -------
    Snapshot
        Volumes, links and cylinders as they are, and the duct cells linear between cell centres.

    Notes
    -----
    Only where a run begins is carried this way: what it conserves is asked of cycles on one mesh.
    Source: linear interpolation.
    """
    pieces = []
    first = 0
    for before, piece in zip(rough.meshes, network.meshes, strict=True):
        n = len(before.volume)
        middles = before.dx * (np.arange(n) + 0.5)
        places = piece.dx * (np.arange(len(piece.volume)) + 0.5)
        cells = given.cells[:, first : first + n]
        pieces.append(np.array([np.interp(places, middles, row) for row in cells]))
        first += n
    return replace(given, cells=np.concatenate(pieces, axis=1) if pieces else given.cells)


def carry(rough: Network, source: State, network: Network, target: State) -> None:
    """
    Bring a state from one mesh of a network to another.

    Parameters
    ----------
    rough : Network
        The network on the mesh that `source` lies on.
    source : State
        What is carried.
    network : Network
        The network on the mesh of `target`.
    target : State
        Gets it, see :func:`refined`; what the ends and links were about stays as it is.
    """
    target.tables[:] = source.tables
    target.clock[:] = source.clock
    put(network, target, refined(rough, taken(rough, source), network))
