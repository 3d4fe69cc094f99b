"""Nine tubes against the exact solution, on five meshes; the last is the program's finest."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from matplotlib.figure import Figure

from tests.exact import riemann
from tests.exact.convergence import mean_error, observed_order
from tests.exact.riemann import State
from tests.verification.rig import GAMMA, Rig, gas_array, straight
from validation.drawing import BLUE, GREY, VERMILLION, label, legend, orders, panels
from validation.folder import Folder, Found, Samples
from validation.folder import read as read_folder
from validation.judgement import Row

NAMES = {
    1: "Sod",
    2: "parting streams (123)",
    3: "left blast",
    4: "right blast",
    5: "two shocks",
    6: "modified Sod",
    7: "Lax",
    8: "exhaust blow-down",
    9: "intake wave",
}
BLASTS = (3, 4)
GRIDS = (50, 100, 150, 200, 250)
FAST = (50, 100, 200)


class Tube(NamedTuple):
    """A membrane between two gases, and when to look."""

    left: State
    right: State
    membrane: float
    time: float
    stars: tuple[float, float, float, float]


class Answer(NamedTuple):
    """What one mesh gave: mean density error, plateaus, shock's distance, and the profile."""

    error: float
    stars: tuple[float, float, float, float]
    shock: float
    place: Samples
    rho: Samples
    exact: Samples


def tubes() -> dict[int, Tube]:
    """Problems of `data.csv` by their number."""
    columns = read_folder("riemann_problems").data()
    sides = [f"{name}_{side}" for side in ("left", "right") for name in ("rho", "u", "p")]
    stars = ("p_star", "u_star", "rho_star_left", "rho_star_right")
    return {
        int(number): Tube(
            State(*(columns[name][k] for name in sides[:3])),
            State(*(columns[name][k] for name in sides[3:])),
            float(columns["membrane"][k]),
            float(columns["time"][k]),
            tuple(float(columns[name][k]) for name in stars),  # type: ignore[arg-type]
        )
        for k, number in enumerate(columns["problem"])
    }


def tasks(fast: bool) -> list[tuple[int, int]]:
    """Problem and number of cells."""
    return [(k, n) for n in (FAST if fast else GRIDS) for k in NAMES if not (fast and k in BLASTS)]


def _middle(x: Samples, low: float, high: float) -> np.ndarray:
    """The middle half of a stretch."""
    return np.abs(x - 0.5 * (low + high)) < 0.25 * (high - low)


def work(task: tuple[int, int]) -> Answer:
    """One problem on one mesh."""
    number, n = task
    tube = tubes()[number]
    left, right, membrane, time, _ = tube
    rig = Rig([straight(1.0, 1.0, n)], gas=gas_array(GAMMA, 287.0 if left.p > 2e3 else 1.0))
    rig.fill(*riemann.profile(left, right, GAMMA, rig.edges(), membrane, 1e-12 * time))
    rig.advance_between(left, right, time)
    exact = riemann.profile(left, right, GAMMA, rig.edges(), membrane, time)
    rho, u, p = (np.array(row) for row in rig.flow())
    wave = riemann.speeds(left, right, GAMMA)
    x = rig.centres() - membrane
    before = _middle(x, wave.left_tail * time, wave.contact * time)
    behind = _middle(x, wave.contact * time, wave.right_tail * time)
    both = before | behind
    empty = float("nan")
    stars = (
        float(p[both].mean()) if both.any() else empty,
        float(u[both].mean()) if both.any() else empty,
        float(rho[before].mean()) if before.any() else empty,
        float(rho[behind].mean()) if behind.any() else empty,
    )
    # The right wave is a shock in all but the right blast and the parting streams.
    star = riemann.star(left, right, GAMMA)
    high = np.flatnonzero(p > 0.5 * (star.p + right.p))
    shock = abs(x[high[-1]] + 0.5 / n - wave.right_head * time) * n if len(high) else empty
    return Answer(
        mean_error(rho, exact.rho), stars, float(shock), rig.centres(), rho, np.asarray(exact.rho)
    )


def _order(found: Found, number: int) -> float:
    grids = sorted(n for k, n in found if k == number)
    return observed_order([1.0 / n for n in grids], [found[number, n].error for n in grids])


def rows(folder: Folder, found: Found) -> list[Row]:
    """Plateaus, shocks, Sod's error, orders."""
    known = tubes()
    parts = ("p*", "u*", "rho* left", "rho* right")

    def plateau_row(measure: str, numbers: tuple[int, ...], n: int, n_parts: int) -> Row:
        places = [f"{NAMES[k]}, {part}" for k in numbers for part in parts[:n_parts]]
        values = [v for k in numbers for v in found[k, n].stars[:n_parts]]
        expected = [v for k in numbers for v in known[k].stars[:n_parts]]
        return folder.points(measure, places, values, expected)

    shocked = (1, 5, 6, 7, 8, 9)
    answer = [
        plateau_row("star", shocked, 200, 4),
        folder.points("shock", [NAMES[k] for k in shocked], [found[k, 200].shock for k in shocked]),
        folder.row("sod", found[1, 200].error),
    ]
    ran = [k for k in NAMES if (k, FAST[0]) in found]
    if (3, 250) in found:
        answer.insert(1, plateau_row("star_blast", BLASTS, 250, 2))
        answer.append(
            folder.points("order", [NAMES[k] for k in ran], [_order(found, k) for k in ran])
        )
    return answer


def figure(folder: Folder, found: Found) -> Figure:
    """Density of three problems, and the error of all against the mesh."""
    drawn, axes = panels(2, 2, title=folder.title, height=3.4)
    for ax, k in zip(axes, (1, 8, 2), strict=False):
        fine, coarse = found[k, 250], found[k, 100]
        ax.plot(fine.place, fine.exact, color=GREY, lw=1.2, label="exact")
        ax.plot(coarse.place, coarse.rho, "o", color=BLUE, ms=2.5, label="100 cells")
        ax.plot(fine.place, fine.rho, color=VERMILLION, lw=0.9, ls="--", label="250 cells")
        label(ax, "place [m]", "density", NAMES[k])
        legend(ax)
    for i, k in enumerate((1, 2, 4, 5, 8, 9)):
        errors = [found[k, n].error / np.ptp(found[k, n].exact) for n in GRIDS]
        orders(axes[3], GRIDS, errors, NAMES[k], i, _order(found, k))
    label(axes[3], "cells", "mean error over range", "density error against mesh")
    legend(axes[3], loc="lower left")
    axes[3].set_ylim(bottom=1.5e-4)
    return drawn
