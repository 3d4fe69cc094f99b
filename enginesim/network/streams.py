"""What a cycle changed at one place: where will the flow have carried it when all is at rest?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from enginesim.kernels import layout as at
from enginesim.network.assemble import Network
from enginesim.network.snapshot import Snapshot, places, sound, vessels
from enginesim.network.state import State

Array = NDArray[np.float64]

_LARGEST = 0.25  # a step longer than this is cut, relative to pressure and temperature [-]
_SLOWEST = 1e-3  # part of its contents that a volume is taken to renew in a cycle, at the least [-]
_HEAT_CAPACITY = (
    1150.0  # of exhaust gas at constant pressure, from memory; only foresees [J/(kg K)]
)
_CARRIED = [1, 3, 4]  # rows of a snapshot that the flow carries: temperature and fractions
_WARMTH = 0  # which of them walls take away


@dataclass(frozen=True)
class Stream:
    """
    A way of gas, in the direction in which it flows on the whole.

    Attributes
    ----------
    source, target : int
        Reservoir that it comes from and goes to; -1 stands for the cylinder.
    duct : int
        Which duct; -1 for a link.
    cylinder : int
        Which cylinder, if one is at an end; -1 else.
    """

    source: int
    target: int
    duct: int
    cylinder: int = -1


class Streams:
    """
    The ways of an engine's gas, each behind those that feed it.

    Parameters
    ----------
    network : Network
        The arrays.
    """

    def __init__(self, network: Network) -> None:
        self._is_open = network.res[:, at.V_VOLUME] == 0.0
        self._ways = _ordered(_ways(network), self._is_open)
        self._carriers = _carriers(self._ways, self._is_open)
        self._place = {int(i): k for k, i in enumerate(vessels(network))}
        self._feeds = [sum(way.target == i for way in self._ways) for i in range(len(network.res))]
        self._throttled = {
            way.target: way.source
            for way in self._ways
            if way.duct < 0 and way.source >= 0 and self._is_open[way.source]
        }
        counts = network.ducts[:, at.D_COUNT]
        self._last = np.cumsum(counts)
        self._first = self._last - counts
        self._cells = places(network)
        self._volume = network.res[:, at.V_VOLUME]

    def foreseen(self, state: State, before: Snapshot, after: Snapshot, flows: Array) -> Snapshot:
        """
        Where what happened between two snapshots will end.

        Parameters
        ----------
        state : State
            The gas of `after`, with the sums of the cycle.
        before, after : Snapshot
            A whole number of cycles apart.
        flows : ndarray, shape (2, n_cylinder)
            Masses that went forward through intake and exhaust valves in between. [kg]

        Returns
        -------
        Snapshot
            `after`, its temperatures and fractions, and the pressures behind throttles, moved.

        Notes
        -----
        A volume that renews the part 1 - exp(-k) of its contents, k being what flows through over
        what it holds, creeps towards its inlet: what is left after a change f is f/(exp(k) - 1).
        In a duct what has changed upstream by less than a cycle's flow is on its way downstream,
        and loses its heat to the wall as it goes. What changes upstream arrives in all that
        follows. Behind a throttle the pistons draw a mass that goes with the density there, and the
        throttle's flow falls with the pressure (at constant energy flow; not where it is choked):
        two linear equations for mass and pressure. Source: own derivation, plug flow and stirred
        volumes; equation `foreseen` of docs/theory/results.md.
        """
        cells, volumes = after.cells.copy(), after.volumes.copy()
        held, cooling = self._duct_contents(state, after)
        change = after.cells - before.cells
        arriving: dict[int, list[tuple[float, Array]]] = {}
        settled: dict[int, Array] = {}
        for way, mass in zip(self._ways, self._masses(flows), strict=True):
            shift = settled.get(way.source, np.zeros(3))
            if way.duct >= 0:
                part = slice(self._first[way.duct], self._last[way.duct])
                ahead = _along(shift, mass, held[part], change[:, part], cooling[way.duct])
                cells[_CARRIED, part] += ahead
                shift = ahead[:, -1]
            i = way.target
            if i in self._place:
                arriving.setdefault(i, []).append((mass, shift))
                if len(arriving[i]) == self._feeds[i]:
                    settled[i] = self._stirred(i, arriving[i], state, before, after, volumes)
        for moved, old in ((cells, after.cells), (volumes, after.volumes)):
            moved[1] = np.clip(moved[1], (1.0 - _LARGEST) * old[1], (1.0 + _LARGEST) * old[1])
        return sound(replace(after, cells=cells, volumes=volumes))

    def _duct_contents(self, state: State, after: Snapshot) -> tuple[Array, Array]:
        """Mass of each cell [kg], and loss of each duct per kelvin over its heat capacity [kg]."""
        groups, columns = self._cells
        rows = state.x.reshape(-1, at.N_ROWS, at.STRIDE)
        inverse = rows[groups, at.R_INVERSE_VOLUME, columns]
        held = rows[groups, at.R_RHO, columns] / inverse
        heat = rows[groups, at.R_HEAT_SUM, columns] / inverse
        gap = np.abs(rows[groups, at.R_T_WALL, columns] - after.cells[1])
        if not len(heat):
            return held, np.zeros(0)
        warmth = np.abs(np.add.reduceat(heat, self._first))
        mean_gap = np.add.reduceat(gap, self._first) / (self._last - self._first)
        cooling: Array = warmth / np.maximum(mean_gap, 1.0) / _HEAT_CAPACITY
        return held, cooling

    def _masses(self, flows: Array) -> list[float]:
        """What goes through each way [kg]."""
        own = [
            flows[int(way.source < 0), way.cylinder] if way.cylinder >= 0 else 0.0
            for way in self._ways
        ]
        least = 1e-6 * float(np.max(flows)) + 1e-12
        return [
            max(share * sum(float(own[k]) for k in carriers), least)
            for share, carriers in self._carriers
        ]

    def _stirred(
        self,
        i: int,
        inflows: Sequence[tuple[float, Array]],
        state: State,
        before: Snapshot,
        after: Snapshot,
        volumes: Array,
    ) -> Array:
        """Move a volume; gives by how much what flows out of it moves."""
        k = self._place[i]
        mass = sum(m for m, _ in inflows)
        arriving = sum((m * shift for m, shift in inflows), np.zeros(3)) / mass
        renewal = max(mass / state.res[i, at.V_MASS], _SLOWEST)
        left = math.exp(-renewal) / -math.expm1(-renewal)
        change = after.volumes[:, k] - before.volumes[:, k]
        step: Array = left * change[_CARRIED] + arriving
        if i in self._throttled:
            p, t = after.volumes[0, k], after.volumes[1, k]
            outside = state.res[self._throttled[i], at.V_P]
            rise, gain = _behind_throttle(
                renewal, state.res[i, at.V_GAMMA], p / outside, change[0] / p, change[1] / t
            )
            volumes[[0, 2], k] += p * rise
            step[0] = t * ((1.0 + rise) / (1.0 + gain) - 1.0)
        volumes[_CARRIED, k] += step
        return step


def _behind_throttle(
    renewal: float, gamma: float, ratio: float, rise: float, warming: float
) -> tuple[float, float]:
    """
    Relative changes of pressure and mass still to come behind a throttle, from those of a cycle.

    With m' = -k m - k s p and p' = -g k (1 + s) p for relative shifts of mass and pressure: k the
    renewal, g the ratio of heats, s the fall of the throttle's flow with the pressure behind it.
    """
    throttling = 0.5 * ratio / max(1.0 - ratio, 1e-4) if ratio > 0.5 else 0.0
    mass_pace = -renewal
    pressure_pace = -gamma * renewal * (1.0 + throttling)
    mass_left, pressure_left = math.exp(mass_pace), math.exp(pressure_pace)
    coupled = -renewal * throttling * (mass_left - pressure_left) / (mass_pace - pressure_pace)
    more_pressure = rise * pressure_left / -math.expm1(pressure_pace)
    gain = rise - warming
    more_mass = (mass_left * gain + coupled * (rise + more_pressure)) / -math.expm1(mass_pace)
    return (
        min(max(more_pressure, -_LARGEST), _LARGEST),
        min(max(more_mass, -_LARGEST), _LARGEST),
    )


def _along(shift: Array, mass: float, held: Array, change: Array, cooling: float) -> Array:
    """
    Shifts of temperature and fractions still to come along a duct, shape (3, n).

    `shift` comes in with the flow; what has changed in the duct itself, summed from its start to
    where a cycle's flow less than here has passed, is under way.
    """
    n = len(held)
    left = np.ones((3, n))
    left[_WARMTH] = np.exp(-min(cooling / mass, 30.0) * np.arange(1, n + 1) / n)
    passed, summed = np.zeros(n + 1), np.zeros((3, n + 1))
    held.cumsum(out=passed[1:])
    (held * change[_CARRIED] / left).cumsum(axis=1, out=summed[:, 1:])
    summed[:, 1:] *= left
    here = passed[1:] - mass
    ahead = shift[:, None] * left
    for row, below in zip(ahead, summed, strict=True):
        row += np.interp(here, passed, below, left=0.0) / mass
    return ahead


def _ways(network: Network) -> list[Stream]:
    """Ducts and links; what ends blind is none."""
    ways = []
    for d, (start, finish) in enumerate(network.ends.reshape(-1, 2, at.N_END_INDEX).tolist()):
        kinds = (start[at.E_KIND], finish[at.E_KIND])
        if at.END_CLOSED in kinds or kinds.count(at.END_VALVE) == 2:
            continue
        if kinds[0] == at.END_VALVE:
            ways.append(Stream(-1, finish[at.E_TARGET], d, start[at.E_TARGET]))
        elif kinds[1] == at.END_VALVE:
            ways.append(Stream(start[at.E_TARGET], -1, d, finish[at.E_TARGET]))
        else:
            ways.append(Stream(start[at.E_TARGET], finish[at.E_TARGET], d))
    for link in network.links.tolist():
        i, j = link[at.L_FROM], link[at.L_TO]
        if link[at.L_KIND] != at.LINK_VALVE:
            ways.append(Stream(i, j, -1))
        elif link[at.L_SIDE] == 0:
            ways.append(Stream(i, -1, -1, j))
        else:
            ways.append(Stream(-1, i, -1, j))
    return ways


def _ordered(ways: list[Stream], is_open: NDArray[np.bool_]) -> list[Stream]:
    """Each behind those that feed it; ways in a ring stay as they come."""
    ordered: list[Stream] = []
    waiting = ways
    while waiting:
        fed = {way.target for way in waiting}
        ready = [
            way for way in waiting
            if way.source < 0 or is_open[way.source] or way.source not in fed
        ]  # fmt: skip
        ordered += ready or waiting
        waiting = [way for way in waiting if way not in ready] if ready else []
    return ordered


def _carriers(
    ways: list[Stream], is_open: NDArray[np.bool_]
) -> list[tuple[float, tuple[int, ...]]]:
    """For each way: its share of what the ways at valves carry, and which of them."""
    found: dict[int, tuple[float, tuple[int, ...]]] = {
        k: (1.0, (k,)) for k, way in enumerate(ways) if way.cylinder >= 0
    }

    def gathered(known: list[int], n: int) -> tuple[float, tuple[int, ...]]:
        share = float(np.mean([found[j][0] for j in known])) / n
        return share, tuple(sorted({c for j in known for c in found[j][1]}))

    into = [[j for j, other in enumerate(ways) if other.target == way.source] for way in ways]
    away = [[j for j, other in enumerate(ways) if other.source == way.target] for way in ways]
    before = -1
    while len(found) > before:
        before = len(found)
        for k, way in enumerate(ways):
            if k in found:
                continue
            if not is_open[way.source] and into[k] and all(j in found for j in into[k]):
                found[k] = gathered(into[k], sum(other.source == way.source for other in ways))
            elif not is_open[way.target] and away[k] and all(j in found for j in away[k]):
                found[k] = gathered(away[k], sum(other.target == way.target for other in ways))
    return [found.get(k, (0.0, ())) for k in range(len(ways))]
