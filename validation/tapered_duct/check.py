"""The tapered duct on four meshes against the converged pressures of an independent solver."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

from enginesim.network.pieces import End
from tests.exact import simple_wave
from tests.exact.convergence import mean_error, observed_order
from tests.exact.travelling import bump
from tests.verification.rig import A_REST, GAMMA, P_REST, RHO_REST, Rig, tapered
from validation.drawing import BLUE, COLOURS, GREY, label, legend, orders, panels
from validation.folder import Folder, Found, Samples
from validation.folder import read as read_folder
from validation.judgement import Row

PROBLEM = tomllib.loads((Path(__file__).parent / "problem.toml").read_text("utf-8"))
CELLS = (30, 60, 120, 240)  # 40, 20, 10 and 5 mm


def tasks(fast: bool) -> list[int]:
    """Numbers of cells."""
    return list(CELLS[1:2] if fast else CELLS)


def work(task: int) -> tuple[Samples, Samples]:
    """Times, and pressures at the gauges, shape (n_time, n_gauge)."""
    length = PROBLEM["length"]
    fine = np.linspace(0.0, length, 2401)
    diameter = np.interp(fine, PROBLEM["cone"], PROBLEM["diameters"])
    rig = Rig([tapered(length, 0.25 * np.pi * diameter**2, task, End(), End())])
    x = rig.centres()
    crest = simple_wave.velocity(PROBLEM["pulse_ratio"], A_REST, GAMMA)
    u = crest * bump(x - PROBLEM["pulse_centre"], PROBLEM["pulse_width"])
    p = simple_wave.pressure_at(u, P_REST, A_REST, GAMMA)
    rig.fill(RHO_REST * (p / P_REST) ** (1.0 / GAMMA), u, p)
    times = np.linspace(0.0, PROBLEM["end_time"], PROBLEM["samples"])
    rows = []
    for time in times:
        rig.advance(float(time))
        rows.append(np.interp(PROBLEM["gauges"], x, rig.flow().p))
    return times, np.array(rows)


def expected() -> Samples:
    """Converged pressures, shape (n_time, n_gauge)."""
    columns = list(read_folder("tapered_duct").data().values())
    return np.array(columns[1:]).T


def _errors(found: Found) -> dict[int, float]:
    known = expected()
    reach = float(np.ptp(known))
    return {n: mean_error(p, known) / reach for n, (_, p) in found.items()}


def rows(folder: Folder, found: Found) -> list[Row]:
    """Distances on the default and on the finest mesh, and the order."""
    errors = _errors(found)
    answer = [folder.row("default", errors[60])]
    if len(errors) == len(CELLS):
        answer.append(folder.row("fine", errors[240]))
        order = observed_order([1.0 / n for n in CELLS], [errors[n] for n in CELLS])
        answer.append(folder.row("order", order))
    return answer


def figure(folder: Folder, found: Found) -> Figure:
    """Pressure at each gauge, and the distance against the mesh."""
    drawn, axes = panels(2, 2, title=folder.title, height=3.0)
    known, errors = expected(), _errors(found)
    times, p = found[60]
    for k, place in enumerate(PROBLEM["gauges"]):
        axes[k].plot(1e3 * times, known[:, k] / 1e5, color=GREY, lw=1.4, label="converged")
        axes[k].plot(1e3 * times, p[:, k] / 1e5, "--", color=BLUE, lw=1.4, label="20 mm cells")
        fine = found[240][1][:, k] / 1e5
        axes[k].plot(1e3 * times, fine, ":", color=COLOURS[1], lw=1.4, label="5 mm cells")
        label(axes[k], "time [ms]", "pressure [bar]", f"gauge at {1e3 * place:.0f} mm")
        legend(axes[k])
    values = [errors[n] for n in CELLS]
    order = observed_order([1.0 / n for n in CELLS], values)
    orders(axes[3], CELLS, values, "mean of three gauges", 0, order)
    label(axes[3], "cells", "mean distance over range", "distance from converged")
    legend(axes[3])
    return drawn
