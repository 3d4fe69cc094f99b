"""Most power and best torque of random engines, against three sets of data of cars."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from validation.cars_population.engines import drawn
from validation.drawing import BLUE, GREY, VERMILLION, label, legend, panels
from validation.engines import Samples, crest, curve
from validation.folder import Folder, Found
from validation.judgement import Row

if TYPE_CHECKING:
    from enginesim.case import Case

N_ENGINE, CHUNK = 300, 10
#: Parts of the speed of most power at which best torque is looked for.
LOW = (0.66,)
MOST_STEPS = 5
GUESS = 34.0  # [rpm s]: where most power was found in the first engines drawn
BAR, HORSEPOWER, LITRE, CUBIC_INCH = 1e5, 745.7, 1e-3, 16.387064e-6


def tasks(fast: bool) -> list[int]:
    """Seed of the first engine of ten."""
    return [] if fast else list(range(0, N_ENGINE, CHUNK))


def work(task: int) -> list[tuple[float, float, float, float]]:
    """BMEP at most power [bar], best BMEP [bar], their ratio, and piston speed [m/s]; for each."""
    return [one(seed) for seed in range(task, task + CHUNK)]


def one(seed: int) -> tuple[float, float, float, float]:
    """One engine: uphill to most power in steps of an eighth, then below it for best torque."""
    from enginesim.case import assemble

    case = assemble(drawn(seed))
    points: dict[float, dict[str, float]] = {}

    def power(rpm: float) -> float:
        if rpm not in points:
            found = curve(case, [rpm])
            points[rpm] = {k: float(found[k][0]) for k in ("bmep", "power", "piston_speed")}
        return points[rpm]["power"]

    middle = round(_guess(case) / 50.0) * 50.0
    for _ in range(MOST_STEPS):
        around = [round(part * middle / 50.0) * 50.0 for part in (0.88, 1.0, 1.12)]
        best = max(around, key=power)
        if best == middle:
            break
        middle = best
    for part in LOW:
        power(round(part * middle / 50.0) * 50.0)
    good = [rpm for rpm in sorted(points) if math.isfinite(points[rpm]["bmep"])]
    if len(good) < 3:
        return (math.nan,) * 4
    at_power, _ = crest(good, [points[rpm]["power"] for rpm in good])
    bmep = [points[rpm]["bmep"] / BAR for rpm in good]
    at = float(np.interp(at_power, good, bmep))
    return at, max(bmep), at / max(bmep), points[good[0]]["piston_speed"] / good[0] * at_power


def _guess(case: Case) -> float:
    """Speed where the search begins: best flow of a head over a cylinder's displacement. [rpm]."""
    cylinder = 0.25 * math.pi * case.block.bore**2 * case.block.stroke
    return min(max(GUESS * max(case.head.intake.sheet.flow) / cylinder, 3500.0), 6500.0)


def _table(found: Found) -> Samples:
    """Engines that ran, one a row."""
    table = np.array([row for rows in found.values() for row in rows])
    return np.asarray(table[np.isfinite(table).all(axis=1)])


def _bmep_1993(folder: Folder) -> Samples:
    cars = folder.data("cars93.csv")
    work_ = 2.0 * cars["power [hp]"] * HORSEPOWER / (cars["speed [rpm]"] / 60.0)
    return np.asarray(work_ / (cars["displacement [L]"] * LITRE) / BAR)


def _bmep_1990(folder: Folder) -> Samples:
    cars = folder.data("car90.csv")
    work_ = 2.0 * cars["power [hp]"] * HORSEPOWER / (cars["speed [rpm]"] / 60.0)
    return np.asarray(work_ / (cars["displacement [in3]"] * CUBIC_INCH) / BAR)


def _ratios(folder: Folder) -> Samples:
    cars = folder.data("gtcars.csv")
    at_power = cars["power [hp]"] * 5252.113 / cars["speed of most power [rpm]"]
    return np.asarray(at_power / cars["torque [lb ft]"])


def rows(folder: Folder, found: Found) -> list[Row]:
    """Medians and shares."""
    if not found:
        return []
    at_power, best, ratio, speed = _table(found).T
    n = sum(len(rows_) for rows_ in found.values())

    def share(values: Samples, low: float, high: float) -> float:
        return 100.0 * float(((values >= low) & (values <= high)).sum()) / n

    cars = np.concatenate([_bmep_1993(folder), _bmep_1990(folder)])
    low, high = np.percentile(cars, [5.0, 95.0])
    return [
        folder.row("median", float(np.median(at_power)), float(np.median(_bmep_1993(folder)))),
        folder.row("inside", share(at_power, low, high)),
        folder.row("peak", share(best, 8.5, 12.5)),
        folder.row("shape", share(ratio, 0.78, 1.0)),
        folder.row("piston_speed", float(np.median(speed))),
    ]


def figure(folder: Folder, found: Found) -> Figure:
    """Distributions, engines and cars."""
    drawn_, (left, right) = panels(1, 2, title=folder.title, height=3.8)
    at_power, _, ratio, _ = _table(found).T
    for axes, ours, sets in (
        (left, at_power, {"cars of 1993": _bmep_1993(folder), "cars of 1990": _bmep_1990(folder)}),
        (right, ratio, {"sporting cars of 2014-17": _ratios(folder)}),
    ):
        for colour, style, (text, cars) in zip(
            (VERMILLION, GREY), ("--", ":"), sets.items(), strict=False
        ):
            values = np.sort(cars)
            part = (np.arange(len(values)) + 0.5) / len(values)
            axes.plot(values, 100.0 * part, color=colour, ls=style, label=f"{text} ({len(values)})")
        values = np.sort(ours)
        part = (np.arange(len(values)) + 0.5) / len(values)
        axes.plot(values, 100.0 * part, color=BLUE, lw=1.8, label=f"random engines ({len(values)})")
        legend(axes, loc="upper left")
    left.set_xlim(5.0, 13.0)
    right.set_xlim(0.6, 1.1)
    label(left, "mean effective pressure at most power [bar]", "engines below [%]")
    label(right, "torque at most power over best torque", "engines below [%]")
    return drawn_
