"""Torque of a V8 with long intake passages of several lengths."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from validation.drawing import COLOURS, MARKS, label, legend, panels
from validation.engines import Samples, crest, curve, engine, evenly
from validation.folder import Folder, Found
from validation.judgement import Row

PORT = 5.2  # part of the passage [in]
LENGTHS = (24.0, 30.0, 36.0)
SPEEDS = evenly(1600.0, 4400.0, 200.0)
#: As engines with such manifolds were: cast exhaust, a cam of 268 deg, one carburettor a bank.
CHANGES = (
    "intake.layout=single plenum",
    "intake.plenum_groups=1 2 3 4 5 6 7 8",
    "intake.plenum_volume=300 in3",
    "intake.bends=90 deg @ 6 in",
    "cam.intake.durations=268 @ 0.006 in, 220 @ 0.050 in",
    "cam.exhaust.durations=268 @ 0.006 in, 220 @ 0.050 in",
    "cam.exhaust.valve_lift=0.444 in",
    "exhaust.layout=log",
    "exhaust.primary_lengths=3 in",
    "exhaust.primary_diameter=1.5 in",
    "exhaust.collector_diameter=2.25 in",
)


def tasks(fast: bool) -> list[float]:
    """Length of the passages."""
    return [] if fast else list(LENGTHS)


def work(task: float) -> Samples:
    """Torque over speed. [N m]."""
    changes = (*CHANGES, f"intake.runner_lengths={task - PORT:g} in")
    return curve(engine("lake-boat-v8", changes), SPEEDS)["torque"]


def rule_rpm(length: float, duration: float = 268.0) -> float:
    """Speed of most torque by the rule; for other lengths than 30 in, by its reading."""
    return 6.195 * (720.0 - duration) * 30.0 / length


def rows(folder: Folder, found: Found) -> list[Row]:
    """Place of the peak."""
    if not found:
        return []
    at = {length: crest(SPEEDS, torque)[0] for length, torque in found.items()}
    return [
        folder.row("rule", at[30.0], rule_rpm(30.0)),
        folder.points(
            "lengths", [f"{n:g} in" for n in at], list(at.values()), [rule_rpm(n) for n in at]
        ),
    ]


def figure(folder: Folder, found: Found) -> Figure:
    """Torque of each length, with the rule's speed."""
    drawn, (axes,) = panels(1, 1, title=folder.title, height=3.8)
    for k, (length, torque) in enumerate(found.items()):
        axes.plot(SPEEDS, torque, f"{MARKS[k]}-", color=COLOURS[k], ms=4, label=f"{length:g} in")
        axes.axvline(rule_rpm(length), color=COLOURS[k], lw=1, ls=":")
    label(axes, "engine speed [rpm]", "torque [N m]", "dotted: the rule")
    axes.set_ylim(bottom=0.8 * float(np.min(found[30.0])))
    legend(axes)
    return drawn
