"""Curves before and after a part is exchanged."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from validation.drawing import COLOURS, GREY, MARKS, label, legend, panels
from validation.engines import Samples, crest, curve, engine, evenly
from validation.folder import Folder, Found
from validation.judgement import Row

SIX, V8 = "delivery-six", "lake-boat-v8"
SPEEDS = {SIX: evenly(1500.0, 5750.0, 250.0), V8: evenly(2000.0, 6500.0, 500.0)}
#: Valve to plenum 550 and 250 mm: 110 mm of it is port.
SWAPS: dict[tuple[str, str], tuple[str, ...]] = {
    (SIX, "550 mm"): (),
    (SIX, "250 mm"): ("intake=parts/intake-short-runner.toml",),
    (SIX, "675 mm"): ("intake.runner_lengths=565 mm",),
    (V8, "as shipped"): (),
    (V8, "rockers 1.6"): (
        "cam.intake.rocker_ratio=1.6",
        "cam.exhaust.rocker_ratio=1.6",
        "cam.intake.valve_lift=0.4736 in",
        "cam.exhaust.valve_lift=0.4971 in",
    ),
    (V8, "228 deg on 114"): (
        "cam=parts/cam-228.toml",
        "cam.lobe_separation=114",
        "cam.intake_centreline=110",
    ),
    (V8, "single plane"): ("intake=parts/intake-single-plane.toml",),
}


def tasks(fast: bool) -> list[tuple[str, str]]:
    """Engine and part."""
    return [] if fast else list(SWAPS)


def work(task: tuple[str, str]) -> dict[str, Samples]:
    """Torque [N m] and power [W] over speed."""
    found = curve(engine(task[0], SWAPS[task]), SPEEDS[task[0]])
    return {key: found[key] for key in ("rpm", "torque", "power")}


def _gain(new: dict[str, Samples], old: dict[str, Samples], key: str = "torque") -> Samples:
    return np.asarray(100.0 * (new[key] / old[key] - 1.0))


def _crossing(rpm: Samples, gain: Samples) -> float:
    """Highest speed at which the change turns from loss to gain or back. [rpm]."""
    turns = np.nonzero(np.sign(gain[1:]) != np.sign(gain[:-1]))[0]
    if not len(turns):
        return float("nan")
    i = int(turns[-1])
    return float(rpm[i] + (rpm[i + 1] - rpm[i]) * gain[i] / (gain[i] - gain[i + 1]))


def rows(folder: Folder, found: Found) -> list[Row]:
    """Every size against what is told."""
    if not found:
        return []
    long, short, longer = (found[SIX, size] for size in ("550 mm", "250 mm", "675 mm"))
    runner = _gain(long, short)
    peaks = {k: crest(f["rpm"], f["torque"]) for k, f in
             (("long", long), ("short", short), ("longer", longer))}  # fmt: skip
    most = {k: crest(f["rpm"], f["power"])[1] for k, f in (("long", long), ("short", short))}
    base, rocker, wide, plane = (
        found[V8, part] for part in ("as shipped", "rockers 1.6", "228 deg on 114", "single plane")
    )
    low = np.array(SPEEDS[V8]) <= 5000.0
    planes = _gain(plane, base)
    at_power = crest(base["rpm"], base["power"])[1]
    return [
        folder.row("runner_torque", 100 * (peaks["long"][1] / peaks["short"][1] - 1)),
        folder.row("runner_peak", peaks["long"][0] - peaks["short"][0]),
        folder.row("runner_power", 100 * (most["long"] / most["short"] - 1)),
        folder.row("runner_cross", _crossing(long["rpm"], runner)),
        folder.row("runner_low", float(np.interp(2500.0, SPEEDS[SIX], runner))),
        folder.row("runner_more", peaks["longer"][0] - peaks["long"][0]),
        folder.row("rocker", 100 * (crest(rocker["rpm"], rocker["power"])[1] / at_power - 1)),
        folder.row("wide_cam_top", float(_gain(wide, base)[-1])),
        folder.row("wide_cam_below", float((_gain(wide, base)[low] < 0.0).mean())),
        folder.row("planes_cross", _crossing(base["rpm"], planes)),
        folder.row("planes_low", float(planes[low].min())),
        folder.row("planes_power", 100 * (crest(plane["rpm"], plane["power"])[1] / at_power - 1)),
    ]


def figure(folder: Folder, found: Found) -> Figure:
    """Torque of the six with its runners; changes of the V8."""
    drawn, (left, right) = panels(1, 2, title=folder.title, height=3.8)
    for k, part in enumerate(("550 mm", "250 mm", "675 mm")):
        left.plot(SPEEDS[SIX], found[SIX, part]["torque"], f"{MARKS[k]}-", color=COLOURS[k], ms=4,
                  label=f"{part} from valve to plenum")  # fmt: skip
    label(left, "engine speed [rpm]", "torque [N m]", SIX)
    legend(left, loc="lower left")
    for k, part in enumerate(("rockers 1.6", "228 deg on 114", "single plane")):
        gain = _gain(found[V8, part], found[V8, "as shipped"])
        right.plot(SPEEDS[V8], gain, f"{MARKS[k]}-", color=COLOURS[k], ms=4, label=part)
    right.axhline(0.0, color=GREY, lw=0.8)
    label(right, "engine speed [rpm]", "torque, change [%]", V8)
    legend(right)
    return drawn
