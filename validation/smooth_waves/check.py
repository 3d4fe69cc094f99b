"""Mean errors of three smooth waves on four meshes, and of one on the default cells."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from enginesim.network.pieces import End
from tests.exact.convergence import mean_error, observed_order
from tests.verification.rig import P_REST, Rig, straight
from tests.verification.smooth_waves import WAVES, cone_errors, conserved, pipe_errors, pulse
from validation.drawing import BLUE, GREY, label, legend, orders, panels
from validation.folder import Folder, Found
from validation.judgement import Row

GRIDS = (30, 60, 120, 240)
FAST = (60, 120, 240)
PARTS = ("mass", "momentum", "energy")
CONE, DEFAULT = "pulse in a cone", "default cells"
CONE_PARTS = ("pressure", "velocity")


def tasks(fast: bool) -> list[tuple[str, int]]:
    """Wave and number of cells."""
    grids = FAST if fast else GRIDS
    return [(name, n) for name in (*WAVES, CONE) for n in grids] + [(DEFAULT, 50)]


def work(task: tuple[str, int]) -> list[float] | list[np.ndarray]:
    """Errors of one wave; for the default mesh place, found and exact pressure."""
    name, n = task
    if name == CONE:
        return cone_errors(n)
    if name != DEFAULT:
        return pipe_errors(*WAVES[name], n)
    profile, beyond, time = WAVES["acoustic pulse"]
    rig = Rig([straight(1.0, 0.04, n, End(), End())])
    edges = rig.edges()
    rho, momentum, energy = conserved(pulse, edges, 0.0)
    u = momentum / rho
    rig.fill(rho, u, 0.4 * (energy - 0.5 * rho * u**2))
    rig.advance_between(beyond, beyond, time)
    x = rig.centres()
    return [x, np.array(rig.flow().p), np.asarray(profile(x, time).p)]


def _columns(found: Found) -> dict[str, tuple[list[int], list[float]]]:
    """Errors against the mesh for each wave and conserved quantity."""
    answer = {}
    for name in (*WAVES, CONE):
        grids = sorted(n for wave, n in found if wave == name)
        table = np.array([found[name, n] for n in grids])
        for k, part in enumerate(CONE_PARTS if name == CONE else PARTS):
            answer[f"{name}, {part}"] = (grids, table[:, k].tolist())
    return answer


def rows(folder: Folder, found: Found) -> list[Row]:
    """Order of every error; error on the default mesh."""
    columns = _columns(found)
    found_orders = [observed_order([1.0 / n for n in g], e) for g, e in columns.values()]
    _, p, exact = found[DEFAULT, 50]
    return [
        folder.points("order", list(columns), found_orders),
        folder.row("engine", mean_error(p, exact) / float(np.max(exact) - P_REST)),
    ]


def figure(folder: Folder, found: Found) -> Figure:
    """Errors against the mesh, and the pulse on the default cells."""
    drawn, (left, right) = panels(1, 2, title=folder.title, height=3.8)
    columns = _columns(found)
    shown = ("entropy wave, mass", "acoustic pulse, momentum", "pulse in a cone, pressure")
    for k, name in enumerate(shown):
        grids, errors = columns[name]
        order = observed_order([1.0 / n for n in grids], errors)
        orders(left, grids, [e / errors[0] for e in errors], name, k, order)
    n = np.array(GRIDS)
    left.plot(n, (n[0] / n) ** 2.0, color=GREY, lw=1, ls=":", label="order 2")
    label(left, "cells", "mean error over that of 30 cells")
    legend(left)
    x, p, exact = found[DEFAULT, 50]
    right.plot(x, exact / 1e3, color=GREY, lw=1.2, label="exact")
    right.plot(x, p / 1e3, "o", color=BLUE, ms=4, label="20 mm cells")
    label(right, "place [m]", "pressure [kPa]", "pulse after 0.3 m")
    legend(right)
    return drawn
