"""The ringing runner on five meshes against the converged pressures of an independent solver."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

from enginesim.kernels import layout as at
from enginesim.network.pieces import End, Link, Volume
from tests.exact.convergence import mean_error, observed_order
from tests.verification.rig import P_REST, T_REST, Rig, air, straight
from validation.drawing import BLUE, COLOURS, GREY, label, legend, orders, panels
from validation.folder import Folder, Found, Samples
from validation.folder import read as read_folder
from validation.judgement import Row

PROBLEM = tomllib.loads((Path(__file__).parent / "problem.toml").read_text("utf-8"))
CELLS = (10, 20, 40, 80, 160)  # 40 to 2.5 mm
PLACES = ("valve", "middle of the runner", "plenum")


def tasks(fast: bool) -> list[int]:
    """Numbers of cells."""
    return list(CELLS[1:2] if fast else CELLS)


def _hump(time: float, length: float) -> float:
    return math.sin(math.pi * time / length) ** 2 if time < length else 0.0


def work(task: int) -> tuple[Samples, Samples]:
    """Times, and pressures at valve, middle and plenum, shape (n_time, 3)."""
    start = End("ambient", 0, ratio_in=0.0, ratio_out=0.0)
    rig = Rig(
        [straight(PROBLEM["length"], PROBLEM["diameter"], task, start, End("volume", 1))],
        [
            air(P_REST, PROBLEM["cylinder_temperature"]),
            Volume("plenum", PROBLEM["plenum"], P_REST, T_REST),
            air(P_REST, T_REST),
        ],
        [Link("throttle", 2, 1, PROBLEM["throttle"], PROBLEM["throttle"])],
    )
    x = rig.centres()
    rows: list[tuple[float, ...]] = []
    step = 0.0

    def set_valve(time: float) -> None:
        opening = PROBLEM["opening"] * _hump(time, PROBLEM["opening_time"])
        rig.state.end[0, [at.EF_RATIO_OUT, at.EF_RATIO_IN]] = opening
        fall = PROBLEM["depression"] * _hump(time, PROBLEM["depression_time"])
        rig.state.res[0, at.V_P] = P_REST - fall

    def watch(moving: Rig) -> None:
        nonlocal step
        step = moving.time - (rows[-1][0] if rows else 0.0)
        middle = float(np.interp(0.5 * PROBLEM["length"], x, moving.flow().p))
        rows.append((moving.time, moving.face_pressure(0), middle, moving.vessel(1)[0]))
        set_valve(moving.time + 0.5 * step)

    # A step is at most a degree of crank at 3333 rpm, as in an engine.
    rig.advance(PROBLEM["end_time"], longest=5e-5, watch=watch)
    table = np.array([(0.0, P_REST, P_REST, P_REST), *rows])
    times = np.linspace(0.0, PROBLEM["end_time"], PROBLEM["samples"])
    return times, np.column_stack([np.interp(times, table[:, 0], p) for p in table.T[1:]])


def expected() -> Samples:
    """Converged pressures, shape (n_time, 3)."""
    columns = list(read_folder("runner_pulse").data().values())
    return np.array(columns[1:]).T


def _errors(found: Found) -> dict[int, float]:
    known = expected()
    reach = float(np.ptp(known))
    return {n: mean_error(p, known) / reach for n, (_, p) in found.items()}


def rows(folder: Folder, found: Found) -> list[Row]:
    """Distances on the default and a fine mesh, the valve's mean, and the order."""
    errors = _errors(found)
    times, p = found[20]
    is_open = times < PROBLEM["opening_time"]
    gap = float(np.mean((p - expected())[is_open, 0]))
    answer = [
        folder.row("default", errors[20]),
        folder.row("valve", abs(gap) / PROBLEM["depression"]),
    ]
    if len(errors) == len(CELLS):
        answer.append(folder.row("fine", errors[80]))
        order = observed_order([1.0 / n for n in CELLS], [errors[n] for n in CELLS])
        answer.append(folder.row("order", order))
    return answer


def figure(folder: Folder, found: Found) -> Figure:
    """Pressure at each place, and the distance against the mesh."""
    drawn, axes = panels(2, 2, title=folder.title, height=3.0)
    known, errors = expected(), _errors(found)
    times, p = found[20]
    for k, place in enumerate(PLACES):
        axes[k].plot(1e3 * times, known[:, k] / 1e5, color=GREY, lw=1.4, label="converged")
        axes[k].plot(1e3 * times, p[:, k] / 1e5, "--", color=BLUE, lw=1.4, label="20 mm cells")
        fine = found[80][1][:, k] / 1e5
        axes[k].plot(1e3 * times, fine, ":", color=COLOURS[1], lw=1.4, label="5 mm cells")
        label(axes[k], "time [ms]", "pressure [bar]", place)
        legend(axes[k])
    values = [errors[n] for n in CELLS]
    order = observed_order([1.0 / n for n in CELLS], values)
    orders(axes[3], CELLS, values, "mean of three places", 0, order)
    label(axes[3], "cells", "mean distance over range", "distance from converged")
    legend(axes[3])
    return drawn
