"""In which order are the pressures of volumes and cylinders that answer one another solved for?

The equations of a step are as sparse as the engine: a runner knows its plenum and its cylinder.
Which entries Gauss's elimination touches is the same at every step, so it is worked out once and
written down as a list of places that the kernel follows without asking.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from enginesim.network.pieces import Plan

Index = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Coupling:
    """
    Which vessels of an engine answer one another; vessels are the reservoirs, then the cylinders.

    Attributes
    ----------
    joints : ndarray, shape (n_link, 4)
        Of each link: the vessels at its start and its finish, and the places of what the one's
        equation has of the other's pressure and the other way round (-1 at the open air). [-]
    first : ndarray, shape (n_vessel + 1,)
        Where the links of each vessel begin in `meets`. [-]
    meets : ndarray, shape (2 n_link,)
        Links of the vessels, one vessel after the other. [-]
    script : ndarray, shape (n,)
        The elimination: a vessel, the number of vessels that its equation still has, then those,
        each with the places of both entries, then the places of the entries that change, row by
        row; and so on for all vessels but the open air. [-]
    starts : ndarray, shape (n_unknown,)
        Where each vessel's part of the script begins. [-]
    n_entry : int
        How many places there are. [-]
    """

    joints: Index
    first: Index
    meets: Index
    script: Index
    starts: Index
    n_entry: int


def coupling(plan: Plan) -> Coupling:
    """
    Work out the elimination of a plan's links.

    Parameters
    ----------
    plan : Plan
        The pieces.

    Returns
    -------
    Coupling
        What the kernel follows.

    Notes
    -----
    The vessel with the fewest neighbours goes first, and its neighbours then know each other.
    Source: minimum degree, W. F. Tinney and J. W. Walker, Proc. IEEE 55, 1967 (from memory).
    """
    n_volume = len(plan.volumes)
    ends = [(k.start, k.finish + (n_volume if k.valve else 0)) for k in plan.links]
    unknown = [
        v for v in range(n_volume + plan.n_cylinders)
        if v >= n_volume or plan.volumes[v].volume > 0.0
    ]  # fmt: skip
    places: dict[tuple[int, int], int] = {}
    knows: dict[int, set[int]] = {v: set() for v in unknown}

    def meet(a: int, b: int) -> None:
        for row, column in ((a, b), (b, a)):
            places.setdefault((row, column), len(places))
            knows[row].add(column)

    for a, b in ends:
        if a in knows and b in knows:
            meet(a, b)
    script: list[int] = []
    starts = []
    while knows:
        pivot = min(knows, key=lambda v: (len(knows[v]), v))
        others = sorted(knows.pop(pivot))
        starts.append(len(script))
        script += [pivot, len(others)]
        for v in others:
            script += [v, places[pivot, v], places[v, pivot]]
        for a in others:
            knows[a].remove(pivot)
            for b in others:
                if a != b:
                    meet(a, b)
                    script.append(places[a, b])
    joints = [(a, b, places.get((a, b), -1), places.get((b, a), -1)) for a, b in ends]
    meets = [
        [k for k, pair in enumerate(ends) if v in pair] for v in range(n_volume + plan.n_cylinders)
    ]
    return Coupling(
        joints=_whole(joints).reshape(-1, 4),
        first=_whole(np.cumsum([0, *map(len, meets)])),
        meets=_whole([k for links in meets for k in links]),
        script=_whole(script),
        starts=_whole(starts),
        n_entry=len(places),
    )


def _whole(values: object) -> Index:
    array = np.array(values, dtype=np.int64)
    array.setflags(write=False)
    return array
