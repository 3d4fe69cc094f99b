"""Torque of the shipped engines over speed in both fidelities."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from validation.drawing import BLUE, VERMILLION, label, legend, panels
from validation.engines import SHIPPED, Samples, curve, engine, evenly
from validation.folder import Folder, Found
from validation.judgement import Row

FIDELITIES = ("wave", "filling")


def _speeds(name: str) -> tuple[float, ...]:
    return (1000.0, *evenly(2000.0, SHIPPED[name][1], 1000.0))


def tasks(fast: bool) -> list[tuple[str, str]]:
    """Engine and fidelity."""
    names = ("teaching-single",) if fast else tuple(SHIPPED)
    return [(name, fidelity) for name in names for fidelity in FIDELITIES]


def work(task: tuple[str, str]) -> Samples:
    """Torque over speed. [N m]."""
    name, fidelity = task
    case = engine(name, (f"numerics.fidelity={fidelity}", "numerics.max_cycles=80"))
    return curve(case, _speeds(name))["torque"]


def rows(folder: Folder, found: Found) -> list[Row]:
    """Agreement at 1000 rpm, and the loss at the speed of best torque."""
    names = [name for name in SHIPPED if (name, "wave") in found]
    wave, filling = ([found[n, fidelity] for n in names] for fidelity in FIDELITIES)
    best = [int(np.nanargmax(w)) for w in wave]
    lost = [100.0 * (1.0 - f[i] / w[i]) for w, f, i in zip(wave, filling, best, strict=True)]
    return [
        folder.points("low", names, [f[0] for f in filling], [w[0] for w in wave]),
        folder.points("high", names, lost),
    ]


def figure(folder: Folder, found: Found) -> Figure:
    """Both curves of each engine."""
    drawn, axes = panels(2, 3, title=folder.title, width=11.0, height=2.6)
    for panel, name in zip(axes, SHIPPED, strict=False):
        for fidelity, style, colour in zip(
            FIDELITIES, ("o-", "s--"), (BLUE, VERMILLION), strict=True
        ):
            panel.plot(
                _speeds(name), found[name, fidelity], style, color=colour, ms=4, label=fidelity
            )
        panel.set_ylim(bottom=0.0)
        label(panel, "engine speed [rpm]", "torque [N m]", name)
    legend(axes[0])
    axes[-1].set_visible(False)
    return drawn
