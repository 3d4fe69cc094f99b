"""How does an engine's state on long cells become one on its own cells?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from enginesim.kernels import layout as at
from enginesim.network.assemble import Network, assemble
from enginesim.network.state import State, fill_ducts, settle

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
        Gets volumes, links and cylinders as they are, and pressure, temperature, velocity and
        fractions of the duct cells linear between cell centres.

    Notes
    -----
    Only where a run begins is carried this way: what it conserves is asked of cycles on one mesh.
    Source: linear interpolation.
    """
    target.tables[:] = source.tables
    target.clock[:] = source.clock
    if not network.meshes:
        return
    rows = (at.R_P, at.R_T, at.R_U, at.R_YB, at.R_YF)
    pieces = []
    for (group, first, n), before, piece in zip(
        rough.ducts, rough.meshes, network.meshes, strict=True
    ):
        middles = before.dx * (np.arange(n) + 0.5)
        places = piece.dx * (np.arange(len(piece.volume)) + 0.5)
        block = source.x.reshape(-1, at.N_ROWS, at.STRIDE)[group, :, first : first + n]
        pieces.append([np.interp(places, middles, block[row]) for row in rows])
    p, t, u, y_b, y_f = np.concatenate(pieces, axis=1)
    fill_ducts(network, target, p=p, t=t, u=u, y_b=y_b, y_f=y_f)
    settle(network, target)
