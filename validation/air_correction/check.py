"""Factors against worked and published ones, and engines in four airs, corrected."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np
from matplotlib.figure import Figure

from enginesim.base.errors import CycleError
from enginesim.base.humidity import saturation_pressure
from enginesim.case import load
from enginesim.cycle.curves import simulate, tables_of
from enginesim.dyno.correction import Air, air_of, factor
from enginesim.performance import summarise
from validation.drawing import COLOURS, FAINT, GREY, MARKS, label, legend, panels
from validation.folder import Folder, Found
from validation.judgement import Row

CASES = Path(__file__).parents[2] / "cases"
SPEEDS = {
    "lake-boat-v8": (2500.0, 3500.0, 4500.0),
    "hill-climb-four": (3500.0, 5000.0, 6500.0),
    "delivery-six": (2000.0, 3000.0, 4000.0),
    "coupe-v6": (2500.0, 3500.0, 4500.0),
}
FAST = "delivery-six"
STANDARDS = ("J1349", "ISO1585", "J607", "DIN70020")
REFERENCE, DRY = "reference", "cold, by the sea"
#: Total pressure [kPa], temperature [degC], relative humidity; the first is 99 kPa when dry.
AIRS = {
    REFERENCE: (99.0, 25.0, 0.0),
    "hot, in the hills": (93.0, 35.0, 0.6),
    DRY: (103.0, 10.0, 0.4),
    "warm and damp": (99.0, 32.0, 0.9),
}


class Answer(NamedTuple):
    """Torque and friction as found [N m], and the factor of each standard."""

    torque: float
    friction: float
    factors: dict[str, float]


Task = tuple[str, float, str]


def tasks(fast: bool) -> list[Task]:
    """Engine, speed and air."""
    every = [(n, rpm, air) for n, speeds in SPEEDS.items() for rpm in speeds for air in AIRS]
    return [task for task in every if not fast or task[0] == FAST]


def work(task: Task) -> Answer:
    name, rpm, where = task
    p, t, humidity = AIRS[where]
    case = load(
        CASES / f"{name}.toml",
        (
            "spark.mode=best",
            f"air.pressure={p} kPa",
            f"air.temperature={t} degC",
            f"air.humidity={humidity}",
        ),
    )
    record = simulate(case, rpm)
    if not record.converged:
        raise CycleError(f"{name} at {rpm:g} rpm, {where}: {record.status}")
    air = air_of(case)
    result = summarise(case, tables_of(case, rpm), record)
    friction = result.torque * result.fmep / result.bmep
    return Answer(result.torque, friction, {name: factor(name, air) for name in STANDARDS})


def _examples(folder: Folder) -> list[tuple[str, int, float, float]]:
    """Standard, line, factor found and factor of the example."""
    columns = folder.data()
    answer: list[tuple[str, int, float, float]] = []
    for k, (t, p, humidity) in enumerate(zip(*list(columns.values())[:3], strict=True)):
        kelvin, pascal = float(t) + 273.15, 1e3 * float(p)
        air = Air(pascal, float(humidity) * saturation_pressure(pascal, kelvin), kelvin)
        answer += [
            (name, k, factor(name, air), float(columns[name][k]))
            for name in STANDARDS
            if not np.isnan(columns[name][k])
        ]
    return answer


def _corrected(found: Found, standard: str) -> dict[tuple[str, str], float]:
    """Torque of each engine in each air by a standard, mean over its speeds [N m]."""
    answer = {}
    for name in dict.fromkeys(task[0] for task in found):
        for air in AIRS:
            here = [found[name, rpm, air] for rpm in SPEEDS[name]]
            if standard == "none":
                values = [a.torque for a in here]
            elif standard == "own":
                # J1349 has 1.18 and 0.18 for a mechanical efficiency of 0.85; undo both, and
                # count the engine's own friction, which does not follow the air.
                density = [(a.factors["J1349"] + 0.18) / 1.18 for a in here]
                values = [
                    (a.torque + a.friction) * d - a.friction
                    for a, d in zip(here, density, strict=True)
                ]
            else:
                values = [a.torque * a.factors[standard] for a in here]
            answer[name, air] = float(np.mean(values))
    return answer


def rows(folder: Folder, found: Found) -> list[Row]:
    """Examples, then the engines by each standard."""
    examples = _examples(folder)
    answer = []
    for measure, chosen in (
        ("factor", [e for e in examples if e[1] == 0]),
        ("published", [e for e in examples if e[1] > 0]),
    ):
        places = [f"{name}, example {k + 1}" for name, k, _, _ in chosen]
        answer.append(
            folder.points(measure, places, [e[2] for e in chosen], [e[3] for e in chosen])
        )
    for standard in ("own", *STANDARDS):
        torque = _corrected(found, standard)
        others = [
            key
            for key in torque
            if (key[1] == DRY if standard == "DIN70020" else key[1] != REFERENCE)
        ]
        answer.append(
            folder.points(
                standard,
                [f"{name}, {air}" for name, air in others],
                [torque[key] for key in others],
                [torque[name, REFERENCE] for name, _ in others],
            )
        )
    return answer


def figure(folder: Folder, found: Found) -> Figure:
    """What is left between the airs, as found and corrected."""
    drawn, axes = panels(1, 3, title=folder.title, height=4.2, width=10.0)
    heads = {"none": "as found", "own": "own friction"} | {name: name for name in STANDARDS}
    torques = {head: _corrected(found, head) for head in heads}
    for ax, air in zip(axes, list(AIRS)[1:], strict=True):
        for i, name in enumerate(SPEEDS):
            gaps = [100.0 * (t[name, air] / t[name, REFERENCE] - 1.0) for t in torques.values()]
            ax.plot(gaps, MARKS[i], color=COLOURS[i], ms=5, label=name)
        ax.axhline(0.0, color=GREY, lw=0.8)
        ax.axhspan(-1.0, 1.0, color=FAINT, alpha=0.6, zorder=0)
        ax.set_xticks(range(len(heads)), list(heads.values()), rotation=40, ha="right")
        label(ax, "", "torque against reference air [%]", air)
    legend(axes[0])
    return drawn
