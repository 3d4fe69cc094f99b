"""The shipped engines with best spark, and with a spark off it."""

from __future__ import annotations

import math
from pathlib import Path
from typing import NamedTuple

from matplotlib.figure import Figure

from enginesim.base.errors import CycleError
from enginesim.case import load
from enginesim.cycle.curves import simulate, tables_of
from enginesim.performance import summarise
from validation.drawing import COLOURS, GREY, MARKS, ORANGE, SKY, label, legend, panels
from validation.folder import Folder, Found
from validation.judgement import Row

CASES = Path(__file__).parents[2] / "cases"
SPEEDS = {
    "coupe-v6": (3000.0, 5500.0),
    "delivery-six": (3000.0, 4000.0),
    "hill-climb-four": (3000.0, 6500.0),
    "lake-boat-v8": (3000.0, 4750.0),
    "teaching-single": (3000.0, 5500.0),
}
FAST = ("delivery-six", 3000.0)
OFFSETS = (-10.0, -5.0, 5.0)  # later is negative [deg]


class Answer(NamedTuple):
    """Angles in degrees after top dead centre, shares and losses in per cent, pressure in bar."""

    half_burned: float
    peak_angle: float
    early_burn: float
    main_burn: float
    walls: float
    peak: float
    loss: dict[float, float]


def tasks(fast: bool) -> list[tuple[str, float]]:
    """Engine and speed."""
    every = [(name, rpm) for name, speeds in SPEEDS.items() for rpm in speeds]
    return [FAST] if fast else every


def work(task: tuple[str, float]) -> Answer:
    name, rpm = task

    def run(*changes: str) -> dict[str, float]:
        case = load(CASES / f"{name}.toml", changes)
        record = simulate(case, rpm)
        if not record.converged:
            raise CycleError(f"{name} at {rpm:g} rpm: {record.status}")
        result = summarise(case, tables_of(case, rpm), record)
        angles = {k: math.degrees(result[k]) for k in ("spark", "ca10", "ca50", "ca90")}
        rest = {k: float(result[k]) for k in ("torque", "p_max", "heat_walls")}
        return angles | rest | {"theta_p_max": math.degrees(result.theta_p_max)}

    best = run("spark.mode=best")
    loss = {}
    for offset in OFFSETS:
        advance = best["spark"] + offset
        other = run("spark.mode=schedule", f"spark.advance={advance:.6f}")
        loss[offset] = 100.0 * (1.0 - other["torque"] / best["torque"])
    return Answer(
        best["ca50"],
        best["theta_p_max"],
        best["ca10"] + best["spark"],
        best["ca90"] - best["ca10"],
        100.0 * best["heat_walls"],
        best["p_max"] / 1e5,
        loss,
    )


def rows(folder: Folder, found: Found) -> list[Row]:
    """Every measure over all engines and speeds."""
    places = [f"{name} {rpm:g} rpm" for name, rpm in found]

    def all_of(measure: str) -> Row:
        return folder.points(measure, places, [getattr(a, measure) for a in found.values()])

    answer = [all_of(name) for name in ("half_burned", "peak_angle", "early_burn", "main_burn")]
    named = list(zip(places, found.values(), strict=True))
    off = [(f"{place}, {o:+g} deg", a.loss[o]) for place, a in named for o in (-5.0, 5.0)]
    answer += [
        folder.points("five_degrees", [p for p, _ in off], [v for _, v in off]),
        folder.points("is_best", [p for p, _ in off], [-v for _, v in off]),
        folder.points("ten_degrees", places, [a.loss[-10.0] for a in found.values()]),
    ]
    slow = {place: a for place, a in named if " 3000 " in place}
    answer.append(folder.points("walls", list(slow), [a.walls for a in slow.values()]))
    answer.append(all_of("peak"))
    return answer


def figure(folder: Folder, found: Found) -> Figure:
    """Phasing against the bands, and what a spark off the best costs."""
    drawn, (left, right) = panels(1, 2, title=folder.title, height=4.0)
    for measure, colour in (("peak_angle", ORANGE), ("half_burned", SKY)):
        left.axhspan(*folder.limit(measure).bounds[:2], color=colour, alpha=0.2, lw=0, zorder=0)
    for k, name in enumerate(SPEEDS):
        speeds = SPEEDS[name]
        for measure, face in (("half_burned", COLOURS[k]), ("peak_angle", "none")):
            values = [getattr(found[name, rpm], measure) for rpm in speeds]
            left.plot(speeds, values, MARKS[k], color=COLOURS[k], mfc=face, ms=6)
        for rpm in speeds:
            loss = found[name, rpm].loss
            offsets = sorted([*loss, 0.0])
            values = [loss.get(o, 0.0) for o in offsets]
            text = name if rpm == speeds[0] else None
            right.plot(offsets, values, f"{MARKS[k]}-", color=COLOURS[k], ms=4, lw=1, label=text)
    left.plot([], [], "o", color=GREY, label="50 % burned")
    left.plot([], [], "o", color=GREY, mfc="none", label="peak pressure")
    left.set_ylim(0.0, 22.0)
    label(left, "speed [rpm]", "after top dead centre [deg]", "with best spark (shaded: limits)")
    legend(left, loc="upper left", ncols=2)
    right.plot([-5, 5], [folder.limit("five_degrees").bounds[0]] * 2, color=GREY, ls=":")
    label(right, "spark against best [deg]", "torque lost [%]", "off the best (dotted: limit)")
    legend(right)
    return drawn
