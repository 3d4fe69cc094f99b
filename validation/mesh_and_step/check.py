"""Torque of the shipped engines over cell, Courant number, crank step and tolerance."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from validation.drawing import COLOURS, GREY, MARKS, label, legend, panels
from validation.engines import AT_REST, Samples, curve, engine
from validation.folder import Folder, Found
from validation.judgement import Row

#: Speed near best torque: waves are strongest there.
SPEEDS = {
    "teaching-single": 5000.0,
    "hill-climb-four": 6000.0,
    "delivery-six": 3500.0,
    "coupe-v6": 4000.0,
    "lake-boat-v8": 4500.0,
}
#: Found anew in each run to a tenth of a degree, sparks would hide what is compared.
FIXED = ("spark.mode=schedule", "spark.advance=25")
CELLS = (40.0, 28.0, 20.0, 14.0, 10.0)  # [mm]
DEFAULT = 20.0
CFL, CRANK, EVERYDAY = "cfl=0.4", "crank_step=0.25 deg", "everyday"


def tasks(fast: bool) -> list[tuple[str, float | str]]:
    """Engine, and cell [mm] or what is changed."""
    if fast:
        return [("teaching-single", cell) for cell in CELLS]
    return [(name, change) for name in SPEEDS for change in (*CELLS, CFL, CRANK, EVERYDAY)]


def work(task: tuple[str, float | str]) -> float:
    """Torque. [N m]."""
    name, change = task
    if change == EVERYDAY:
        changes: tuple[str, ...] = FIXED
    elif isinstance(change, float):
        changes = (*FIXED, *AT_REST, f"numerics.cell_size={change:g} mm")
    else:
        changes = (*FIXED, *AT_REST, f"numerics.{change}")
    return float(curve(engine(name, changes), [SPEEDS[name]])["torque"][0])


def _torques(found: Found, name: str) -> Samples:
    return np.array([found[name, cell] for cell in CELLS])


def _order(found: Found) -> float:
    """Slope of the mean change from one mesh to the next over the cell, all engines."""
    names = [name for name in SPEEDS if (name, DEFAULT) in found]
    table = np.array([_torques(found, name) for name in names])
    changes = np.sqrt(np.mean((np.diff(table, axis=1) / table[:, 1:]) ** 2, axis=0))
    middles = np.sqrt(np.array(CELLS[1:]) * np.array(CELLS[:-1]))
    return float(np.polyfit(np.log(middles), np.log(changes), 1)[0])


def extrapolated(torques: Samples) -> tuple[float, float]:
    """
    Torque on cells of no length, and the standard error of that.

    Straight line in the cell through all meshes: first order, which is the lower that the parts of
    an engine have, so the bar is rather too wide. Scatter about it is that of whole cells: no
    duct is cut into halves of itself.
    """
    cells = np.array(CELLS)
    design = np.column_stack([np.ones_like(cells), cells])
    coefficients, _, _, _ = np.linalg.lstsq(design, torques, rcond=None)
    rest = torques - design @ coefficients
    variance = float(rest @ rest) / (len(cells) - 2)
    error = np.sqrt(variance * np.linalg.inv(design.T @ design)[0, 0])
    return float(coefficients[0]), float(error)


def rows(folder: Folder, found: Found) -> list[Row]:
    """Distance of the defaults from the limit, and the order."""
    names = [name for name in SPEEDS if (name, DEFAULT) in found]
    places, off = [], []
    for name in names:
        limit, error = extrapolated(_torques(found, name))
        places.append(f"{name} (error bar {100 * error / limit:.2f} %)")
        off.append(100.0 * abs(found[name, DEFAULT] / limit - 1.0))
    answer = [folder.points("mesh", places, off)]
    if (names[0], CFL) not in found:
        return answer

    def change(name: str, what: str) -> float:
        return 100.0 * abs(float(found[name, what] / found[name, DEFAULT]) - 1.0)

    return [
        *answer,
        folder.row("order", _order(found)),
        *(
            folder.points(measure, names, [change(name, what) for name in names])
            for measure, what in (("cfl", CFL), ("crank", CRANK), ("tolerance", EVERYDAY))
        ),
    ]


def figure(folder: Folder, found: Found) -> Figure:
    """Torque over cell, extrapolated; change with step and tolerance."""
    drawn, (left, right) = panels(1, 2, title=folder.title, height=3.9)
    for k, name in enumerate(SPEEDS):
        torques = _torques(found, name)
        limit, error = extrapolated(torques)
        left.plot(CELLS, 100 * (torques / limit - 1), f"{MARKS[k]}-", color=COLOURS[k], ms=4, lw=1,
                  label=f"{name}, {SPEEDS[name]:.0f} rpm")  # fmt: skip
        left.errorbar(0.4 * k, 0.0, 100 * error / limit, color=COLOURS[k], capsize=3, lw=1.2)
        changes = [
            100 * (found[name, w] / found[name, DEFAULT] - 1) for w in (CFL, CRANK, EVERYDAY)
        ]
        right.plot(np.arange(3) + 0.08 * (k - 2), changes, MARKS[k], color=COLOURS[k], ms=5)
    left.axvline(DEFAULT, color=GREY, lw=0.8, ls=":")
    left.axhline(0.0, color=GREY, lw=0.8)
    right.axhline(0.0, color=GREY, lw=0.8)
    right.set_xticks(range(3), ["half the\nCourant number", "quarter of the\ncrank step",
                                "everyday\ntolerance"])  # fmt: skip
    right.set_xlim(-0.5, 2.5)
    right.set_ylim(-0.35, 0.35)
    label(left, "cell [mm] (dotted: default)", "torque off the extrapolated one [%]")
    label(right, "", "torque, change [%]")
    legend(left)
    return drawn
