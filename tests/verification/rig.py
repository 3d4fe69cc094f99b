"""
A rig of ducts, vessels and openings without an engine, run by the shipped kernels.

The gas is perfect (constant heat capacity), because that is what the exact solutions know. Walls
neither rub nor heat unless a test says how much: `Rig.set_wall`. Each step is the shipped
:func:`enginesim.kernels.step.step`; `Rig.advance_between` alone replaces the fluxes at the two
ends of one duct, by those of a uniform flow beyond them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from enginesim.kernels import layout as at
from enginesim.kernels.boundary import extend
from enginesim.kernels.duct import face_fluxes, half_states, update
from enginesim.kernels.march import march
from enginesim.kernels.status import OK
from enginesim.kernels.step import step
from enginesim.network.assemble import assemble
from enginesim.network.pieces import Duct, End, Link, Plan, Section, Volume, pipe
from enginesim.network.state import fill_cells, first_state
from tests.exact import simple_wave
from tests.exact.riemann import State

Samples = NDArray[np.float64]

GAMMA = 1.4
R = 287.0
P_REST, T_REST = 1e5, 300.0  # every pipe begins with gas at rest, unless filled
RHO_REST = P_REST / (R * T_REST)
A_REST = math.sqrt(GAMMA * R * T_REST)


def gas_array(gamma: float = GAMMA, r_gas: float = R) -> Samples:
    """Perfect gas; fuel vapour and burned gas have the same properties as air."""
    gas = np.zeros(at.G_TABLES + 8)
    gas[at.G_R] = r_gas
    gas[at.G_AIR + 1] = 1e3 * r_gas / (gamma - 1.0)  # multiplies T / 1000 K
    gas[at.G_MU], gas[at.G_PRANDTL] = 1.85e-5, 1e30  # friction where asked for, never heat
    gas[at.G_T0], gas[at.G_DT], gas[at.G_DLNP] = 1e9, 1.0, 1.0  # no dissociation
    gas[at.G_NT] = gas[at.G_NP] = 2.0
    return gas


def straight(
    length: float, diameter: float, n: int, start: End | None = None, finish: End | None = None
) -> Duct:
    """Plain pipe of `n` cells; closed unless told otherwise."""
    sections = (pipe(length, (diameter,), 300.0, roughness=0.0),)
    return Duct("pipe", sections, start or End(), finish or End(), length / n, P_REST, T_REST)


def tapered(length: float, area: ArrayLike, n: int, start: End, finish: End) -> Duct:
    """Duct of `n` cells whose area runs straight between equally spaced values [m2]."""
    section = Section(length, np.asarray(area, dtype=float), 300.0, roughness=0.0)
    return Duct("taper", (section,), start, finish, length / n, P_REST, T_REST)


def air(p: float, t: float) -> Volume:
    """Reservoir that keeps its state."""
    return Volume("air", 0.0, p, t)


class Totals(NamedTuple):
    """What all ducts and vessels hold: mass, burned gas and fuel vapour [kg], energy [J]."""

    mass: float
    burned: float
    fuel: float
    energy: float


class Rig:
    """Pieces, their state, and the clock."""

    def __init__(
        self,
        ducts: Sequence[Duct] = (),
        volumes: Sequence[Volume] = (),
        links: Sequence[Link] = (),
        gas: Samples | None = None,
        cfl: float = 0.8,
    ) -> None:
        self.gas = gas_array() if gas is None else gas
        self.net = assemble(Plan(list(ducts), list(volumes), list(links)), self.gas)
        self.state = first_state(self.net)
        self.rows = self.state.x.reshape(-1, at.N_ROWS, at.STRIDE)
        self.cfl = cfl
        self.time = 0.0

    # -- the duct cells

    def place(self, d: int = 0) -> tuple[int, slice]:
        """Group of a duct, and its cells in each row."""
        group, first, n = (int(v) for v in self.net.ducts[d])
        return group, slice(first, first + n)

    def row(self, name: int, d: int = 0) -> Samples:
        """View of one row of a duct's cells."""
        group, cells = self.place(d)
        return self.rows[group, name, cells]

    def edges(self, d: int = 0) -> Samples:
        """Faces along the duct [m]."""
        mesh = self.net.meshes[d]
        return mesh.dx * np.arange(len(mesh.volume) + 1)

    def centres(self, d: int = 0) -> Samples:
        """Middles of the cells [m]."""
        edges = self.edges(d)
        return 0.5 * (edges[1:] + edges[:-1])

    def flow(self, d: int = 0) -> State:
        """Density, velocity and pressure of the cells; views."""
        return State(*(self.row(name, d) for name in (at.R_RHO, at.R_U, at.R_P)))

    def fill(
        self,
        rho: ArrayLike,
        u: ArrayLike,
        p: ArrayLike,
        d: int = 0,
        y_b: ArrayLike = 0.0,
        y_f: ArrayLike = 0.0,
    ) -> None:
        """Give the cells of a duct their first state."""
        n = len(self.net.meshes[d].volume)
        rho, u, p, y_b, y_f = (
            np.broadcast_to(np.asarray(v, float), n) for v in (rho, u, p, y_b, y_f)
        )
        t = p / (rho * self.gas[at.G_R])
        fill_cells(self.net, self.state, d, p=p, t=t, u=u, y_b=y_b, y_f=y_f)
        self.settle()

    def send(self, ratio: Samples, d: int = 0, sign: float = 1.0) -> None:
        """Fill a duct with a wave of these pressure ratios over rest, to the right or (-1) left."""
        u = np.array([simple_wave.velocity(r, A_REST, GAMMA) for r in ratio])
        self.fill(RHO_REST * ratio ** (1.0 / GAMMA), sign * u, P_REST * ratio, d)

    def waves(self, d: int = 0) -> tuple[Samples, Samples]:
        """Pressure ratios of the waves to the right and to the left in a duct's cells."""
        _, u, p = self.flow(d)
        return simple_wave.parted(p / P_REST, u, A_REST, GAMMA)

    def settle(self) -> None:
        """Primitive rows and wave speed from the conserved rows."""
        for g, group in enumerate(self.net.groups):
            update(self.state.x, g, int(group[0]), 0.0, self.gas)
        self.state.clock[at.T_SPEED] = self.wave_speed()

    def wave_speed(self) -> float:
        """Largest (|u| + a) / dx of all cells [1/s]."""
        return float(np.max(self.rows[:, at.R_SPEED]))

    def set_wall(self, d: int, *, friction: float = 0.0, heat: float = 0.0) -> None:
        """Constant Darcy friction factor [-] and heat per volume and time [W/m3] of a duct."""
        self.row(at.R_FRICTION, d)[:] = 0.5 * friction / self.row(at.R_DIAMETER, d)
        # So hot a wall that the gas temperature does not matter.
        self.row(at.R_T_WALL, d)[:] = 1e15
        self.row(at.R_CONDUCTANCE, d)[:] = heat * 1e-15

    def totals(self) -> Totals:
        """What all ducts and vessels hold."""
        sums = self.state.res[self.state.res[:, at.V_VOLUME] > 0.0][:, : at.V_ENERGY + 1].sum(0)
        for d, mesh in enumerate(self.net.meshes):
            for k, name in enumerate((at.R_RHO, at.R_BURNED, at.R_FUEL, at.R_ENE)):
                sums[k] += self.row(name, d) @ mesh.volume
        return Totals(*sums)

    # -- the ends, two for each duct, and the vessels

    def flow_in(self, end: int) -> float:
        """Mass flow into the duct through one of its ends [kg/s]."""
        return -float(self.state.end[end, at.EF_MASS])

    def face_pressure(self, end: int) -> float:
        """Pressure at an end in the last step [Pa]."""
        return float(self.state.end[end, at.EF_P])

    def vessel(self, i: int) -> tuple[float, float, float]:
        """Pressure [Pa], temperature [K] and mass [kg] of a reservoir."""
        return tuple(float(self.state.res[i, k]) for k in (at.V_P, at.V_T, at.V_MASS))

    # -- time

    def _courant_step(self, until: float, longest: float) -> float:
        speed = self.state.clock[at.T_SPEED]
        dt = min(longest, self.cfl / speed) if speed > 0.0 else longest
        return (until - self.time) / math.ceil((until - self.time) / dt - 1e-9)

    def advance(
        self,
        until: float,
        longest: float = math.inf,
        watch: Callable[[Rig], None] | None = None,
    ) -> None:
        """Step to a time [s]; `watch` is called after every step."""
        net, s = self.net, self.state
        settings = np.array([1.0, self.cfl, 1e9, 1e9, 0.0])
        bits_of_x = s.x.view(np.int64)
        while self.time < until * (1.0 - 1e-12):
            dt = self._courant_step(until, longest)
            status, element = step(
                s.x, bits_of_x, net.groups, net.ducts, net.ends, s.end, s.res, net.links, s.link,
                s.cyl, net.par, net.phase, s.exchange, net.valve_area, net.gas, settings,
                self.time, dt, s.bits,
            )  # fmt: skip
            assert status == OK, f"status {status} at element {element}, {self.time} s"
            s.clock[at.T_SPEED] = s.bits.view(np.float64)[0]
            assert np.isfinite(s.clock[at.T_SPEED])
            self.time += dt
            if watch is not None:
                watch(self)

    def march(self, until: float) -> int:
        """
        The same by the shipped march, wall friction included (no wall heat: see the gas array);
        answer: steps that were rejected. One radian of its clock is a millisecond.
        """
        net, s = self.net, self.state
        settings = np.array([1e3, self.cfl, 1.0, 1e9])
        tape = np.zeros((1, s.lines.shape[1]))
        status, element, cell = march(
            s.x, s.x.view(np.int64), net.groups, net.ducts, net.ends, s.end, s.res, net.links,
            s.link, s.cyl, net.par, net.phase, s.exchange, net.valve_area, net.gas, settings,
            s.clock, tape, s.lines, np.zeros(0, dtype=np.int64), s.tables, s.saved, s.bits,
            1e3 * until,
        )  # fmt: skip
        assert status == OK, f"status {status} at element {element}, cell {cell}"
        self.time = until
        return int(s.clock[at.T_REJECTED])

    def advance_between(self, left: State, right: State, until: float) -> None:
        """Step one duct whose ends see the exact fluxes of uniform flows that nothing reaches."""
        group, cells = self.place()
        n = int(self.net.groups[group, 0])
        gamma = 1.0 + self.gas[at.G_R] / (1e-3 * self.gas[at.G_AIR + 1])
        faces = ((cells.start, left), (cells.stop, right))
        while self.time < until * (1.0 - 1e-12):
            dt = self._courant_step(until, math.inf)
            extend(self.state.x, self.net.ducts, 0, 1)
            half_states(self.state.x, group, n, dt)
            face_fluxes(self.state.x, group, n)
            for face, (rho, u, p) in faces:
                area = self.rows[group, at.R_AREA, face]
                work = u * (gamma / (gamma - 1.0) * p + 0.5 * rho * u**2)
                fluxes = (rho * u, rho * u**2 + p, work, 0.0, 0.0)
                self.rows[group, at.R_FLUX : at.R_FLUX + 5, face] = area * np.array(fluxes)
            update(self.state.x, group, n, dt, self.gas)
            speed = self.wave_speed()
            assert np.isfinite(speed)
            self.state.clock[at.T_SPEED] = speed
            self.time += dt
