"""Curves of the shipped engines against published ranges."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from enginesim.base.constants import T_ICE
from validation.drawing import COLOURS, MARKS, band, label, legend, panels
from validation.engines import SHIPPED, Samples, crest, curve, engine, evenly
from validation.folder import Folder, Found
from validation.judgement import Row

STEP = 500.0
TUNED = ("teaching-single", "hill-climb-four")
HEADERS = ("lake-boat-v8",)
KEYS = ("rpm", "bmep", "power", "torque", "ve", "bsfc", "egt", "residual", "heat_walls")


def tasks(fast: bool) -> list[str]:
    """Engine."""
    return ["hill-climb-four"] if fast else list(SHIPPED)


def work(task: str) -> dict[str, Samples]:
    """Its curve."""
    found = curve(engine(task), evenly(*SHIPPED[task], STEP))
    return {key: found[key] for key in KEYS}


def _at_power(found: dict[str, Samples], key: str) -> float:
    return float(np.interp(crest(found["rpm"], found["power"])[0], found["rpm"], found[key]))


def rows(folder: Folder, found: Found) -> list[Row]:
    """Every level of every engine."""
    names = list(found)
    tuned = [n for n in names if n in TUNED]
    headers = [n for n in names if n in HEADERS]
    plain = [n for n in names if n not in (*TUNED, *HEADERS)]

    def best(name: str, key: str) -> float:
        return crest(found[name]["rpm"], found[name][key])[1]

    def each(measure: str, of: list[str], values: list[float]) -> list[Row]:
        return [folder.points(measure, of, values)] if of else []

    at_power = [_at_power(found[n], "bmep") / 1e5 for n in names]
    shape = [p * 1e5 / best(n, "bmep") for p, n in zip(at_power, names, strict=True)]
    not_tuned = [n for n in names if n not in TUNED]
    return [
        *each("best", not_tuned, [best(n, "bmep") / 1e5 for n in not_tuned]),
        *each("best_tuned", tuned, [best(n, "bmep") / 1e5 for n in tuned]),
        *each("at_power", names, at_power),
        *each("shape", names, shape),
        *each("filling", plain, [best(n, "ve") for n in plain]),
        *each("filling_headers", headers, [best(n, "ve") for n in headers]),
        *each("filling_tuned", tuned, [best(n, "ve") for n in tuned]),
        *each("consumption", names, [_at_power(found[n], "bsfc") * 3.6e9 for n in names]),
        *each("exhaust", names, [_at_power(found[n], "egt") - T_ICE for n in names]),
        *each("residual", names, [100.0 * float(np.median(found[n]["residual"])) for n in names]),
        *each(
            "walls", names, [100.0 * float(np.median(found[n]["heat_walls"])) for n in names]
        ),
    ]  # fmt: skip


def figure(folder: Folder, found: Found) -> Figure:
    """Six results of all engines over speed, with the published ranges."""
    drawn, axes = panels(2, 3, title=folder.title, width=11.0, height=2.9)
    shown = (
        ("bmep", 1e-5, 0.0, "BMEP [bar]", (7.1, 11.5)),
        ("ve", 1.0, 0.0, "volumetric efficiency", (0.80, 1.10)),
        ("bsfc", 3.6e9, 0.0, "BSFC [g/kWh]", (274.0, 340.0)),
        ("egt", 1.0, T_ICE, "exhaust [degC]", (800.0, 950.0)),
        ("residual", 100.0, 0.0, "residual gas [%]", (3.0, 7.0)),
        ("heat_walls", 100.0, 0.0, "heat to walls [%]", (15.0, 30.0)),
    )
    for panel, (key, factor, zero, text, (low, high)) in zip(axes, shown, strict=True):
        band(panel, low, high)
        for k, (name, one) in enumerate(found.items()):
            panel.plot(one["rpm"], factor * (one[key] - zero), f"{MARKS[k]}-", color=COLOURS[k],
                       ms=3, lw=1.1, label=name)  # fmt: skip
        label(panel, "engine speed [rpm]", text)
    legend(axes[5], loc="upper right", ncols=2)
    return drawn
