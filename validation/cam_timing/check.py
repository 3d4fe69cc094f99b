"""Curves of two engines with one thing changed in their cams."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from matplotlib.figure import Figure

from validation.drawing import COLOURS, GREY, MARKS, label, legend, panels
from validation.engines import Samples, crest, curve, engine, evenly
from validation.folder import Folder, Found
from validation.judgement import Row

V8, FOUR = "lake-boat-v8", "hill-climb-four"
SPEEDS = {V8: evenly(2000.0, 6500.0, 500.0), FOUR: evenly(3000.0, 8000.0, 500.0)}
IDLE = 900.0

#: Changes to each engine; the lifts of its card in the order intake, exhaust.
AS_SHIPPED = {
    V8: (112.0, 107.0, "0.444 in", "0.466 in", "0.4884 in", "0.5126 in"),
    FOUR: (106.0, 104.0, "9.0 mm", "8.64 mm", "10.0 mm", "9.6 mm"),
}
BASE, LATER, WIDE, LIFT = "as shipped", "later", "wide", "lift"
LOW_LIFT = "less lift"
CAMS = ("204", "214", "228")


def tasks(fast: bool) -> list[tuple[str, str]]:
    """Engine and change."""
    if fast:
        return [(FOUR, BASE), (FOUR, LATER)]
    return [
        *((name, change) for name in SPEEDS for change in (BASE, LATER, WIDE, LIFT, LOW_LIFT)),
        *((V8, cam) for cam in CAMS),
        *((name, f"{change}, idle") for name in SPEEDS for change in (BASE, WIDE)),
    ]


def _changes(name: str, change: str) -> tuple[str, ...]:
    separation, centre, *lifts = AS_SHIPPED[name]
    if change == LATER:
        return (f"cam.lobe_separation={separation + 3}", f"cam.intake_centreline={centre + 6}")
    if change == WIDE:
        return (f"cam.lobe_separation={separation + 6}", f"cam.intake_centreline={centre + 6}")
    if change in (LIFT, LOW_LIFT):
        low = 0 if change == LOW_LIFT else 2
        return (
            f"cam.intake.valve_lift={lifts[low]}",
            f"cam.exhaust.valve_lift={lifts[low + 1]}",
        )
    return (f"cam=parts/cam-{change}.toml",) if change in CAMS else ()


def work(task: tuple[str, str]) -> dict[str, Samples]:
    """Torque [N m], power [W] and residual over speed."""
    name, change = task
    kind, _, idle = change.partition(", ")
    changes = _changes(name, kind)
    if idle:
        changes += ("throttle.opening=0.03",)
    found = curve(engine(name, changes), (IDLE,) if idle else SPEEDS[name])
    return {key: found[key] for key in ("rpm", "torque", "power", "residual")}


def _gain(new: dict[str, Samples], old: dict[str, Samples]) -> Samples:
    return np.asarray(100.0 * (new["torque"] / old["torque"] - 1.0))


def rows(folder: Folder, found: Found) -> list[Row]:
    """Directions of all changes."""
    names = [name for name in SPEEDS if (name, LATER) in found]
    later = [_gain(found[n, LATER], found[n, BASE]) for n in names]
    answer = [
        folder.points("later_low", names, [g[:2].mean() for g in later]),
        folder.points("later_high", names, [g[-2:].mean() for g in later]),
    ]
    if (V8, WIDE) not in found:
        return answer

    def residual(name: str, suffix: str) -> float:
        new, old = (found[name, f"{c}{suffix}"]["residual"] for c in (WIDE, BASE))
        return float(new.mean() / old.mean())

    def peakedness(name: str, change: str) -> float:
        torque = found[name, change]["torque"]
        return float(100.0 * torque.max() / torque.mean())

    cams = [found[V8, cam] for cam in CAMS]
    steps = [f"{new} for {old}" for old, new in pairwise(CAMS)]
    gains = [_gain(new, old) for old, new in pairwise(cams)]
    lift = [_gain(found[n, LIFT], found[n, LOW_LIFT]) for n in names]
    return [
        *answer,
        folder.points("wide_idle", names, [residual(n, ", idle") for n in names]),
        folder.points("wide_residual", names, [residual(n, "") for n in names]),
        folder.points(
            "wide_flat", names, [peakedness(n, WIDE) - peakedness(n, BASE) for n in names]
        ),
        folder.points("lift_high", names, [g[-2:].mean() for g in lift]),
        folder.points("family_low", steps, [g[:2].mean() for g in gains]),
        folder.points("family_high", steps, [g[-2:].mean() for g in gains]),
        folder.points(
            "family_speed", steps, np.diff([crest(c["rpm"], c["power"])[0] for c in cams])
        ),
    ]


def figure(folder: Folder, found: Found) -> Figure:
    """Change of torque over speed, one panel an engine, and the family of cams."""
    drawn, axes = panels(1, 3, title=folder.title, width=11.0, height=3.6)
    changes = {
        LATER: (BASE, "closing 6 deg later"),
        WIDE: (BASE, "separation 6 deg wider"),
        LIFT: (LOW_LIFT, "lift +10 %"),
    }
    for panel, name in zip(axes, SPEEDS, strict=False):
        for k, (change, (before, text)) in enumerate(changes.items()):
            gain = _gain(found[name, change], found[name, before])
            panel.plot(SPEEDS[name], gain, f"{MARKS[k]}-", color=COLOURS[k], ms=4, label=text)
        panel.axhline(0.0, color=GREY, lw=0.8)
        label(panel, "engine speed [rpm]", "torque, change [%]", name)
        legend(panel)
    for k, cam in enumerate(CAMS):
        torque = found[V8, cam]["torque"]
        axes[2].plot(SPEEDS[V8], torque, f"{MARKS[k]}-", color=COLOURS[k], ms=4, label=f"{cam} deg")
    label(axes[2], "engine speed [rpm]", "torque [N m]", f"{V8}: duration at 0.050 in")
    legend(axes[2])
    return drawn
