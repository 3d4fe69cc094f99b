"""Friction and pumping of two engines against three other laws."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.figure import Figure

from enginesim.performance.friction import speed_pressure_mep, total_mep
from validation.drawing import BLUE, GREY, ORANGE, SKY, VERMILLION, label, legend, panels
from validation.engines import Samples, curve, engine, evenly
from validation.folder import Folder, Found
from validation.judgement import Row

V8, FOUR = "lake-boat-v8", "hill-climb-four"
SPEEDS = {V8: evenly(2000.0, 6000.0, 1000.0), FOUR: evenly(2000.0, 7000.0, 1000.0)}
FEET_A_MINUTE = 0.3048 / 60.0
LB_FT_A_CUBIC_INCH = 1.355818 / 16.387064e-6  # torque over displacement [N/m2]


def tasks(fast: bool) -> list[str]:
    """Engine."""
    return [FOUR] if fast else [V8, FOUR]


def work(task: str) -> dict[str, Samples]:
    """Its losses over speed."""
    found = curve(engine(task), SPEEDS[task])
    return {key: found[key] for key in ("rpm", "piston_speed", "fmep", "pmep", "p_max")}


def routine(folder: Folder, speed: Samples) -> Samples:
    """Mean effective pressure of the table at mean piston speeds. [Pa]."""
    table = folder.data()
    places = table["piston speed [ft/min]"] * FEET_A_MINUTE
    pressure = 4.0 * math.pi * LB_FT_A_CUBIC_INCH * table["factor [lb ft/in3]"]
    return np.interp(speed, places, pressure)


def _laws(folder: Folder, name: str, one: dict[str, Samples]) -> Samples:
    if name == V8:
        return routine(folder, one["piston_speed"])
    return np.array([total_mep(rpm) for rpm in one["rpm"]])


def rows(folder: Folder, found: Found) -> list[Row]:
    """Each law at every speed, in bar."""
    answer, places, rubbing, others = [], [], [], []
    for name, one in found.items():
        at = [f"{rpm:.0f} rpm" for rpm in one["rpm"]]
        loss = (one["fmep"] + one["pmep"]) / 1e5
        measure = "routine" if name == V8 else "barnes_moss"
        answer.append(folder.points(measure, at, loss, _laws(folder, name, one) / 1e5))
        places += [f"{name}, {text}" for text in at]
        rubbing += list(one["fmep"] / 1e5)
        others += [
            speed_pressure_mep(p, s) / 1e5
            for p, s in zip(one["p_max"], one["piston_speed"], strict=True)
        ]
    return [*answer, folder.points("chen_flynn", places, rubbing, others)]


def figure(folder: Folder, found: Found) -> Figure:
    """Losses over speed, with the laws."""
    drawn, axes = panels(1, 2, title=folder.title, height=3.8)
    for panel, (name, one) in zip(axes, found.items(), strict=True):
        rpm = one["rpm"]
        law = _laws(folder, name, one) / 1e5
        text = "old correction, V8" if name == V8 else "Barnes-Moss"
        panel.fill_between(rpm, 0.75 * law, 1.25 * law, color=GREY, alpha=0.15, lw=0)
        panel.plot(rpm, law, color=GREY, ls="--", label=f"{text}, +-25 %")
        other = [speed_pressure_mep(p, s) / 1e5
                 for p, s in zip(one["p_max"], one["piston_speed"], strict=True)]  # fmt: skip
        panel.plot(rpm, other, color=ORANGE, ls=":", label="Chen-Flynn, rubbing alone")
        panel.plot(rpm, one["fmep"] / 1e5, "s-", color=SKY, ms=4, label="rubbing and accessories")
        total = (one["fmep"] + one["pmep"]) / 1e5
        panel.plot(rpm, total, "o-", color=BLUE if name == V8 else VERMILLION, ms=5,
                   label="with pumping")  # fmt: skip
        panel.set_ylim(bottom=0.0)
        label(panel, "engine speed [rpm]", "mean effective pressure [bar]", name)
        legend(panel, loc="upper left")
    return drawn
