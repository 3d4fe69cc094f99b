"""
Make `data.csv`: the tapered duct by the general conservation-law library Clawpack.

Run it in an environment of its own that has clawpack 5.14 (a Fortran compiler is needed to build
it); nothing of this project is imported:

    python -m venv /tmp/claw && /tmp/claw/bin/pip install numpy meson-python ninja clawpack
    /tmp/claw/bin/python validation/tapered_duct/reference.py

One-dimensional Euler equations, Roe's solver with entropy fix, wave-propagation method of second
order with the monotonised-central limiter, area source by Strang splitting, solid walls; on three
meshes, the last pair extrapolated only to say how far the finest is from converged.
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

HERE = Path(__file__).parent
MESHES = (1500, 3000, 6000)


def run(n: int, problem: dict[str, Any]) -> np.ndarray:
    """Pressure at the gauges, a row for each time."""
    gamma, r_gas = problem["gamma"], problem["r_gas"]
    p_rest, a_rest = problem["p_rest"], math.sqrt(gamma * r_gas * problem["t_rest"])
    rho_rest = p_rest / (r_gas * problem["t_rest"])
    first, last = problem["cone"]
    d_1, d_2 = problem["diameters"]

    solver = pyclaw.ClawSolver1D(riemann.euler_with_efix_1D)
    solver.bc_lower[0] = solver.bc_upper[0] = pyclaw.BC.wall
    solver.limiters = pyclaw.limiters.tvd.MC
    solver.order, solver.source_split = 2, 2
    solver.cfl_desired, solver.cfl_max = 0.8, 0.9
    solver.verbosity, solver.max_steps = 0, 10**7

    domain = pyclaw.Domain(pyclaw.Dimension(0.0, problem["length"], n, name="x"))
    state = pyclaw.State(domain, solver.num_eqn)
    state.problem_data.update(gamma=gamma, gamma1=gamma - 1.0)
    state.problem_data["efix"] = True
    x = state.grid.x.centers

    # Mean logarithmic slope of the area over each cell, so that the kinks fall where they are.
    edges = np.linspace(0.0, problem["length"], n + 1)
    diameter = np.interp(edges, [first, last], [d_1, d_2])
    slope = 2.0 * np.diff(np.log(diameter)) / np.diff(edges)

    def step_source(solver: Any, state: Any, dt: float) -> None:  # noqa: ARG001
        rho, momentum, energy = state.q
        u = momentum / rho
        p = (gamma - 1.0) * (energy - 0.5 * rho * u**2)
        k = -slope * dt
        # Second order in the step: half a step for the slope of the source.
        half = state.q + 0.5 * k * np.array([momentum, momentum * u, u * (energy + p)])
        rho, momentum, energy = half
        u = momentum / rho
        p = (gamma - 1.0) * (energy - 0.5 * rho * u**2)
        state.q += k * np.array([momentum, momentum * u, u * (energy + p)])

    solver.step_source = step_source

    z = np.clip((x - problem["pulse_centre"]) / problem["pulse_width"], -1.0, 1.0)
    power = (gamma - 1.0) / (2.0 * gamma)
    crest = 2.0 * a_rest / (gamma - 1.0) * (problem["pulse_ratio"] ** power - 1.0)
    u = crest * np.cos(0.5 * math.pi * z) ** 4
    p = p_rest * (1.0 + 0.5 * (gamma - 1.0) * u / a_rest) ** (1.0 / power)
    rho = rho_rest * (p / p_rest) ** (1.0 / gamma)
    state.q[:] = rho, rho * u, p / (gamma - 1.0) + 0.5 * rho * u**2

    solution = pyclaw.Solution(state, domain)
    solver.setup(solution)
    solver.dt = 0.1 * problem["length"] / n / a_rest
    rows = []
    for time in np.linspace(0.0, problem["end_time"], problem["samples"]):
        if time > 0.0:
            solver.evolve_to_time(solution, float(time))
        rho, momentum, energy = solution.state.q
        p = (gamma - 1.0) * (energy - 0.5 * momentum**2 / rho)
        rows.append([time, *np.interp(problem["gauges"], x, p)])
    return np.array(rows)


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
        "time [s]," + ",".join(f"p at {x:g} m [Pa]" for x in problem["gauges"]),
    ]
    lines = [f"{row[0]:.6e}," + ",".join(f"{p:.1f}" for p in row[1:]) for row in tables[-1]]
    (HERE / "data.csv").write_text("\n".join([*notes, *lines]) + "\n")


if __name__ == "__main__":
    main()
