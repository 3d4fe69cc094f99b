"""Curves of two engines over length and diameter of their primaries."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.figure import Figure

from validation.drawing import COLOURS, GREY, MARKS, label, legend, panels
from validation.engines import Samples, bell, crest, curve, engine, evenly
from validation.folder import Folder, Found
from validation.judgement import Row

V8, FOUR = "lake-boat-v8", "hill-climb-four"
SPEEDS = {V8: evenly(2500.0, 6500.0, 250.0), FOUR: evenly(3500.0, 8000.0, 250.0)}
AS_SHIPPED = "as shipped"
#: Lengths three quarters and nine eighths or more of the shipped ones, diameters 8 to 10 % less
#: and 16 % more.
CHANGES = {
    V8: {
        "short": "exhaust.primary_lengths=26 in",
        "long": "exhaust.primary_lengths=39 in",
        "narrow": "exhaust.primary_diameter=1.40 in",
        "wide": "exhaust.primary_diameter=1.775 in",
    },
    FOUR: {
        "short": "exhaust.primary_lengths=600 mm",
        "long": "exhaust.primary_lengths=900 mm",
        "narrow": "exhaust.primary_diameter=36 mm",
        "wide": "exhaust.primary_diameter=45.7 mm",
    },
}
#: Bore, stroke and inside diameter of the primaries [in].
SIZES = {V8: (3.940, 3.150, 1.525), FOUR: (85 / 25.4, 88 / 25.4, 39 / 25.4)}
RIPPLE = 0.06  # bell that takes the ripples of single reflections off, part of the speed


def tasks(fast: bool) -> list[tuple[str, str]]:
    """Engine and change."""
    if fast:
        return []
    return [(name, change) for name in SPEEDS for change in (AS_SHIPPED, *CHANGES[name])]


def work(task: tuple[str, str]) -> dict[str, Samples]:
    """Torque [N m] and power [W] over speed."""
    name, change = task
    changes = (CHANGES[name][change],) if change in CHANGES[name] else ()
    found = curve(engine(name, changes), SPEEDS[name])
    return {key: found[key] for key in ("rpm", "torque", "power")}


def rule_rpm(name: str) -> float:
    """Speed of most torque by the area rule."""
    bore, stroke, diameter = SIZES[name]
    cylinder = 0.25 * math.pi * bore**2 * stroke
    return 0.25 * math.pi * diameter**2 * 88200.0 / cylinder


def _peak(found: dict[str, Samples], what: str) -> float:
    """Speed at which a curve is highest, its ripples taken off. [rpm]."""
    fine = np.linspace(found["rpm"][0], found["rpm"][-1], 400)
    return crest(fine, bell(found["rpm"], found[what], fine, RIPPLE))[0]


def rows(folder: Folder, found: Found) -> list[Row]:
    """Directions, and the rule."""
    names = [name for name in SPEEDS if (name, AS_SHIPPED) in found]
    if not names:
        return []
    below: list[float] = []
    above: list[float] = []
    torque: list[float] = []
    power: list[float] = []
    for name in names:
        peak = crest(SPEEDS[name], found[name, AS_SHIPPED]["torque"])[0]
        gain = 100.0 * (found[name, "long"]["torque"] / found[name, "short"]["torque"] - 1.0)
        rpm = np.array(SPEEDS[name])
        below.append(gain[rpm < peak].mean())
        above.append(gain[rpm > peak].mean())
        for what, places in (("torque", torque), ("power", power)):
            places.append(_peak(found[name, "wide"], what) - _peak(found[name, "narrow"], what))
    at = [_peak(found[name, AS_SHIPPED], "torque") for name in names]
    return [
        folder.points("length_low", names, below),
        folder.points("length_high", names, above),
        folder.points("diameter_power", names, power),
        folder.points("diameter_torque", names, torque),
        folder.points("rule", names, at, [rule_rpm(name) for name in names]),
    ]


def figure(folder: Folder, found: Found) -> Figure:
    """Torque over speed: lengths above, diameters below."""
    drawn, axes = panels(2, 2, title=folder.title, height=3.1)
    for column, name in enumerate(SPEEDS):
        for row, pair in enumerate((("short", "long"), ("narrow", "wide"))):
            panel = axes[2 * row + column]
            for k, change in enumerate((AS_SHIPPED, *pair)):
                text = CHANGES[name].get(change, f"exhaust.{AS_SHIPPED}").partition(".")[2]
                panel.plot(
                    SPEEDS[name], found[name, change]["torque"], f"{MARKS[k]}-",
                    color=COLOURS[k], ms=3, lw=1.1, label=text.replace("_", " "),
                )  # fmt: skip
            panel.axvline(rule_rpm(name), color=GREY, lw=1, ls=":")
            label(panel, "engine speed [rpm]", "torque [N m]", f"{name} (dotted: area rule)")
            legend(panel)
    return drawn
