"""Filling of a single cylinder over speed and length of its intake pipe."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.figure import Figure

from tests.exact.ideal_cycle import engelman_speed
from tests.plain_single import PLAIN
from validation.drawing import BLUE, GREY, VERMILLION, label, panels
from validation.engines import Samples, bell, curve, engine, evenly
from validation.folder import Folder, Found
from validation.judgement import Row

PORT = 100.0  # part of the pipe [mm]
LENGTHS = (200.0, 250.0, 350.0, 450.0, 600.0, 800.0)  # valve to open end [mm]
SPEEDS = evenly(1500.0, 7500.0, 150.0)
OPEN = math.radians(256.0)
SOUND = 352.0  # air of 35 degC, between that outside and the pipe's wall of 40 degC [m/s]
RADIUS = 0.020
BELL = 0.08  # of the speed: wider than a ripple, which is spaced by a seventh to a fifth of it


def tasks(fast: bool) -> list[float]:
    """Length of the pipe."""
    return [] if fast else list(LENGTHS)


def work(task: float) -> Samples:
    """Filling over speed."""
    changes = (*PLAIN, f"intake.runner_lengths={task - PORT:g} mm")
    return curve(engine("teaching-single", changes), SPEEDS)["ve"]


def periods(rpm: float, length: float) -> float:
    """Quarter-wave periods of the pipe [mm] in the time that the valve is closed."""
    closed = (4.0 * math.pi - OPEN) / (rpm * math.pi / 30.0)
    return closed * SOUND / (4.0 * (1e-3 * length + 0.61 * RADIUS))


def lumped_rpm(length: float) -> float:
    """Speed of best filling by the lumped rule."""
    swept = 0.25 * math.pi * 0.086**3
    area = math.pi * RADIUS**2
    return engelman_speed(area, 1e-3 * length, swept, 10.0, SOUND) * 30.0 / math.pi


def _best(ve: Samples) -> float:
    fine = np.linspace(SPEEDS[2], SPEEDS[-3], 500)
    return float(fine[int(bell(np.array(SPEEDS), ve, fine, BELL).argmax())])


def _ripples(ve: Samples, length: float) -> list[float]:
    """Speeds of local peaks that the grid resolves: two and a half steps from one to the next."""
    places = []
    for i in range(1, len(ve) - 1):
        low, here, high = ve[i - 1 : i + 2]
        if here > low and here >= high and here - min(ve[max(i - 3, 0) : i + 4]) > 0.005:
            step = SPEEDS[i + 1] - SPEEDS[i]
            places.append(SPEEDS[i] + 0.5 * step * (high - low) / (2.0 * here - low - high))
    step = SPEEDS[1] - SPEEDS[0]
    return [rpm for rpm in places if rpm / periods(rpm, length) >= 2.5 * step]


def rows(folder: Folder, found: Found) -> list[Row]:
    """Order and place of the peaks."""
    if not found:
        return []
    best = {length: _best(ve) for length, ve in found.items()}
    ripples = [(n, rpm) for n, ve in found.items() for rpm in _ripples(ve, n)]
    count = [periods(rpm, n) for n, rpm in ripples]
    ruled = [n for n in found if n >= 250.0]
    return [
        folder.points(
            "falling", [f"{n:g} mm" for n in list(found)[1:]], np.diff(list(best.values()))
        ),
        folder.points(
            "lumped", [f"{n:g} mm" for n in ruled], [best[n] for n in ruled],
            [lumped_rpm(n) for n in ruled],
        ),
        folder.points(
            "order", [f"{n:g} mm, {rpm:.0f} rpm" for n, rpm in ripples], count, np.round(count)
        ),
    ]  # fmt: skip


def figure(folder: Folder, found: Found) -> Figure:
    """Filling curves one above the other, and where both rules put their peaks."""
    drawn, (left, right) = panels(1, 2, title=folder.title, height=5.0)
    for k, (length, ve) in enumerate(found.items()):
        lift = 0.25 * k
        left.plot(SPEEDS, ve + lift, color=BLUE, lw=1.3)
        left.text(SPEEDS[-1] + 60, ve[-1] + lift, f"{length:g} mm", fontsize=8, va="center")
        for rpm in _ripples(ve, length):
            height = float(np.interp(rpm, SPEEDS, ve)) + lift
            left.plot(rpm, height, "o", color=VERMILLION, ms=4)
        place = lumped_rpm(length)
        if place < SPEEDS[-1]:
            left.plot(place, float(np.interp(place, SPEEDS, ve)) + lift, "|", color="k", ms=14)
    left.set_xlim(SPEEDS[0], SPEEDS[-1] + 800)
    label(left, "engine speed [rpm]", "volumetric efficiency, each 0.25 higher",
          "dots: peaks; bars: lumped rule")  # fmt: skip
    line = np.linspace(190.0, 820.0, 100)
    for order in range(2, 9):
        speed = np.array([periods(1.0, n) for n in line]) / order
        right.plot(line, speed, color=GREY, lw=0.8)
        inside = np.nonzero((speed > 1400) & (speed < 7600))[0]
        if len(inside):
            i = inside[-1]
            right.text(line[i] + 4, speed[i], str(order), fontsize=8, color=GREY, va="center")
    right.plot(line, [lumped_rpm(n) for n in line], color="k", lw=1.4, ls="--")
    for length, ve in found.items():
        for rpm in _ripples(ve, length):
            right.plot(length, rpm, "o", color=VERMILLION, ms=5)
        right.plot(length, _best(ve), "s", mfc="none", mec=BLUE, ms=8)
    right.set_ylim(1400, 7600)
    label(right, "pipe, valve to open end [mm]", "engine speed [rpm]",
          "grey: whole periods; dashed: lumped rule")  # fmt: skip
    return drawn
