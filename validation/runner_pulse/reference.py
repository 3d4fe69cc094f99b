"""
Make `data.csv`: runner, valve and plenum by the general conservation-law library Clawpack.

Run it from the project's root in an environment of its own that has clawpack 5.14 and scipy:

    python -m venv /tmp/claw && /tmp/claw/bin/pip install numpy scipy meson-python ninja clawpack
    PYTHONPATH=. /tmp/claw/bin/python validation/runner_pulse/reference.py

One-dimensional Euler equations in the runner (Roe's solver with entropy fix, second order,
monotonised-central limiter). Each ghost state is the exact state at the end of a pipe that meets a
reservoir through an opening (`tests/exact/orifice.py`, Hugoniot curve and isentrope, brackets;
nothing of the program itself); the plenum is its balance of mass and energy, stepped with the
runner; the throttle is an orifice between it and the open air.
"""

from __future__ import annotations

import math
import tomllib
from importlib.metadata import version
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from clawpack import pyclaw, riemann

from tests.exact.orifice import mass_flow, pipe_end
from tests.exact.riemann import State

HERE = Path(__file__).parent
MESHES = (200, 400, 800)


def hump(time: float, length: float) -> float:
    """Squared sine that lasts so long."""
    return math.sin(math.pi * time / length) ** 2 if time < length else 0.0


class Runner:
    """The runner's cells, the plenum, and what passes between them."""

    def __init__(self, n: int, problem: dict[str, Any]) -> None:
        self.problem = problem
        self.gamma, self.r_gas = problem["gamma"], problem["r_gas"]
        self.area = 0.25 * math.pi * problem["diameter"] ** 2
        self.cp = self.gamma * self.r_gas / (self.gamma - 1.0)
        self.mass = problem["p_rest"] * problem["plenum"] / (self.r_gas * problem["t_rest"])
        self.energy = self.mass * (self.cp - self.r_gas) * problem["t_rest"]
        self.flows = (0.0, 0.0, problem["t_rest"])  # out of the cylinder, out of the plenum, T0
        self.wall = problem["p_rest"]

        solver = pyclaw.ClawSolver1D(riemann.euler_with_efix_1D)
        solver.bc_lower[0] = solver.bc_upper[0] = pyclaw.BC.custom
        solver.user_bc_lower, solver.user_bc_upper = self.lower, self.upper
        solver.limiters = pyclaw.limiters.tvd.MC
        solver.order = 2
        solver.cfl_desired, solver.cfl_max = 0.8, 1.0
        solver.verbosity, solver.max_steps = 0, 10**8
        self.solver = solver
        domain = pyclaw.Domain(pyclaw.Dimension(0.0, problem["length"], n, name="x"))
        state = pyclaw.State(domain, 3)
        state.problem_data.update(gamma=self.gamma, gamma1=self.gamma - 1.0, efix=True)
        rho = problem["p_rest"] / (self.r_gas * problem["t_rest"])
        state.q[0] = rho
        state.q[1] = 0.0
        state.q[2] = problem["p_rest"] / (self.gamma - 1.0)
        self.x = state.grid.x.centers
        self.solution = pyclaw.Solution(state, domain)
        solver.setup(self.solution)
        solver.dt = 0.1 * problem["length"] / n / 347.0

    def primitive(self, q: np.ndarray) -> State:
        """Density, velocity and pressure of one cell or many."""
        u = q[1] / q[0]
        return State(q[0], u, (self.gamma - 1.0) * (q[2] - 0.5 * q[0] * u**2))

    def face(self, opening: float, p_0: float, t_0: float, inside: State) -> State:
        """At the end of the runner; velocities into it."""
        # Pressure with the end shut; a reservoir that matches it, or a shut valve, moves nothing.
        power = (self.gamma - 1.0) / (2.0 * self.gamma)
        a = math.sqrt(self.gamma * inside.p / inside.rho)
        # Isentropic here: compressions at this end are below 1.3, where a shock differs by 0.1 %.
        shut = inside.p * (1.0 - 0.5 * (self.gamma - 1.0) * inside.u / a) ** (1.0 / power)
        if opening < 1e-6 or abs(p_0 / shut - 1.0) < 1e-7:
            return State(inside.rho * (shut / inside.p) ** (1.0 / self.gamma), 0.0, shut)
        end = pipe_end(opening * self.area, self.area, p_0, t_0, inside, self.gamma, self.r_gas)
        return State(end.rho, end.u, end.p)

    def ghosts(self, state: State, sign: float) -> np.ndarray:
        """Conserved variables of a state whose velocity counts along `sign`."""
        u = sign * state.u
        return np.array(
            [state.rho, state.rho * u, state.p / (self.gamma - 1.0) + 0.5 * state.rho * u**2]
        )

    def lower(self, state: Any, dim: Any, t: float, qbc: Any, auxbc: Any, num_ghost: int) -> None:  # noqa: ARG002
        """The valve."""
        problem = self.problem
        opening = problem["opening"] * hump(t, problem["opening_time"])
        p_0 = problem["p_rest"] - problem["depression"] * hump(t, problem["depression_time"])
        inside = self.primitive(qbc[:, num_ghost])
        found = self.face(opening, p_0, problem["cylinder_temperature"], inside)
        self.wall = found.p
        qbc[:, :num_ghost] = self.ghosts(found, 1.0)[:, None]

    def upper(self, state: Any, dim: Any, t: float, qbc: Any, auxbc: Any, num_ghost: int) -> None:  # noqa: ARG002
        """The plenum, fully open."""
        rho, u, p = self.primitive(qbc[:, -num_ghost - 1])
        t_plenum = self.energy / (self.mass * (self.cp - self.r_gas))
        p_plenum = self.mass * self.r_gas * t_plenum / self.problem["plenum"]
        found = self.face(1.0, p_plenum, t_plenum, State(rho, -u, p))
        flow = found.rho * found.u * self.area  # into the runner
        enthalpy = self.cp * found.p / (found.rho * self.r_gas) + 0.5 * found.u**2
        self.flows = (flow, flow * enthalpy, t_plenum)
        qbc[:, -num_ghost:] = self.ghosts(found, -1.0)[:, None]

    def step(self) -> None:
        """One step of the runner, and the plenum along with it."""
        before = self.solution.t
        self.solver.evolve_to_time(self.solution, None)
        dt = self.solution.t - before
        problem = self.problem
        flow, heat, t_plenum = self.flows
        p_plenum = self.mass * self.r_gas * t_plenum / problem["plenum"]
        p_air, t_air = problem["p_rest"], problem["t_rest"]
        if p_air >= p_plenum:
            into = mass_flow(problem["throttle"], p_air, t_air, p_plenum, self.gamma, self.r_gas)
            carried = into * self.cp * t_air
        else:
            into = -mass_flow(
                problem["throttle"], p_plenum, t_plenum, p_air, self.gamma, self.r_gas
            )
            carried = into * self.cp * t_plenum
        self.mass += dt * (into - flow)
        self.energy += dt * (carried - heat)

    def row(self) -> list[float]:
        """Pressure at the valve, in the middle and in the plenum."""
        middle = self.primitive(self.solution.state.q).p
        t_plenum = self.energy / (self.mass * (self.cp - self.r_gas))
        p_plenum = self.mass * self.r_gas * t_plenum / self.problem["plenum"]
        return [self.wall, float(np.interp(0.5 * self.problem["length"], self.x, middle)), p_plenum]


def run(n: int, problem: dict[str, Any]) -> np.ndarray:
    """Time and the three pressures, at even times."""
    runner, rows = Runner(n, problem), []
    while runner.solution.t < problem["end_time"]:
        runner.step()
        rows.append([runner.solution.t, *runner.row()])
    table = np.array(rows)
    times = np.linspace(0.0, problem["end_time"], problem["samples"])
    return np.column_stack([times, *(np.interp(times, table[:, 0], col) for col in table.T[1:])])


def main() -> None:
    """Run all meshes and write the finest."""
    problem = tomllib.loads((HERE / "problem.toml").read_text())
    tables = [run(n, problem) for n in MESHES]
    reach = np.ptp(tables[-1][:, 1:])
    gaps = [float(np.mean(np.abs(a - b)[:, 1:])) / reach for a, b in pairwise(tables)]
    notes = [
        f"# Clawpack {version('clawpack')}, {MESHES[-1]} cells; see reference.py.",
        f"# Mean distance from {MESHES[-2]} cells over the range: {gaps[1]:.1e}; of those from "
        f"{MESHES[0]}: {gaps[0]:.1e}.",
        "time [s],p at the valve [Pa],p in the middle [Pa],p in the plenum [Pa]",
    ]
    lines = [f"{row[0]:.6e}," + ",".join(f"{p:.1f}" for p in row[1:]) for row in tables[-1]]
    (HERE / "data.csv").write_text("\n".join([*notes, *lines]) + "\n")


if __name__ == "__main__":
    main()
