"""Curves with plenums of three sizes, and with three entries."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from validation.drawing import COLOURS, GREY, MARKS, label, legend, panels
from validation.engines import Samples, crest, curve, engine, evenly
from validation.folder import Folder, Found
from validation.judgement import Row

PLENUMS = {"coupe-v6": 3.5, "delivery-six": 3.0}  # as shipped [L]
SIZES = (0.5, 1.0, 2.0)
ENTRIES = ("sharp", "radiused", "bell-mouth")
STACKS = {
    "teaching-single": evenly(2500.0, 6500.0, 500.0),
    "hill-climb-four": evenly(3500.0, 7500.0, 500.0),
}
SPEEDS = {
    "coupe-v6": evenly(1500.0, 5500.0, 500.0),
    "delivery-six": evenly(1500.0, 5000.0, 500.0),
    **STACKS,
}


def tasks(fast: bool) -> list[tuple[str, str]]:
    """Engine and change."""
    stacks = [(name, entry) for name in STACKS for entry in ENTRIES]
    if fast:
        return stacks[:3]
    return [*((name, f"{size:g}") for name in PLENUMS for size in SIZES), *stacks]


def work(task: tuple[str, str]) -> Samples:
    """Torque over speed. [N m]."""
    name, change = task
    if name in STACKS:
        changes = (f"intake.entry={change}",)
    else:
        changes = (f"intake.plenum_volume={PLENUMS[name] * float(change):.2f} L",)
    return curve(engine(name, changes), SPEEDS[name])["torque"]


def _gain(new: Samples, old: Samples) -> Samples:
    return np.asarray(100.0 * (new / old - 1.0))


def rows(folder: Folder, found: Found) -> list[Row]:
    """Sizes of the changes."""
    stacks = [name for name in STACKS if (name, "sharp") in found]
    best = [
        100.0
        * (
            crest(SPEEDS[name], found[name, "bell-mouth"])[1]
            / crest(SPEEDS[name], found[name, "sharp"])[1]
            - 1.0
        )
        for name in stacks
    ]
    steps = [(name, k) for name in stacks for k in (0, 1)]
    gains = [_gain(found[n, ENTRIES[k + 1]], found[n, ENTRIES[k]]).mean() for n, k in steps]
    answer = [
        folder.points("bell_mouth", stacks, best),
        folder.points("ordered", [f"{n}, {ENTRIES[k + 1]}" for n, k in steps], gains),
    ]
    plenums = [name for name in PLENUMS if (name, "2") in found]
    if plenums:
        doubled = [float(np.abs(_gain(found[n, "2"], found[n, "1"])).max()) for n in plenums]
        answer.append(folder.points("plenum", plenums, doubled))
    return answer


def figure(folder: Folder, found: Found) -> Figure:
    """Change of torque over speed."""
    drawn, axes = panels(2, 2, title=folder.title, height=2.9)
    for panel, name in zip(axes, SPEEDS, strict=True):
        is_plenum = name in PLENUMS
        before = "1" if is_plenum else "sharp"
        for k, change in enumerate(("0.5", "2") if is_plenum else ENTRIES[1:]):
            text = f"plenum x {change}" if is_plenum else f"{change} for sharp"
            gain = _gain(found[name, change], found[name, before])
            panel.plot(SPEEDS[name], gain, f"{MARKS[k]}-", color=COLOURS[k], ms=4, label=text)
        panel.axhline(0.0, color=GREY, lw=0.8)
        label(panel, "engine speed [rpm]", "torque, change [%]", name)
        legend(panel)
    return drawn
