"""What does each cause add to or take from the torque, speed by speed, as a chart?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from matplotlib.patches import PathPatch
from matplotlib.path import Path

from enginesim.report.cause_names import share
from enginesim.report.drawing import (
    BLUE,
    BROWN,
    FAINT,
    GREEN,
    GREY,
    ORANGE,
    PURPLE,
    SKY,
    VERMILLION,
    foot,
    foot_height,
    head,
    literal,
    sheet,
    tidy,
)
from enginesim.report.units import scale

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from enginesim.performance.attribution import Attribution
    from enginesim.report.units import System

# Bars from the axis outwards: name, colour and hatch.
_LOOKS: Final = (
    ("wave at closing", BLUE, ""),
    ("intake valve", SKY, "//"),
    ("throttle and runner", GREEN, ""),
    ("heating", ORANGE, "\\\\"),
    ("backflow", PURPLE, ""),
    ("residual gas", BROWN, ".."),
    ("size and air", FAINT, "xx"),
    ("burning", VERMILLION, ""),
    ("wall heat", "#F0E442", "//"),
    ("pumping", GREY, ""),
    ("friction", "#A6A6A6", ".."),
    ("not split", "#FFFFFF", ""),
)
_WIDTH, _HEAD, _MAIN = 9.0, 0.75, 4.3
_LEFT, _RIGHT = 0.085, 0.76


@literal()
def reason_figure(
    causes: Sequence[Attribution],
    title: str,
    below: str,
    notes: Sequence[str],
    system: System,
) -> Figure:
    """
    Shares of the causes as bars, one on the other, and their sum as a line.

    Parameters
    ----------
    causes : sequence of Attribution
        One for each speed.
    title : str
        What is compared.
    below : str
        Line under the title.
    notes : sequence of str
        Sentences and conditions, for the foot of the chart.
    system : {"us", "si"}
        Units.

    Returns
    -------
    Figure
        Gains above zero, losses below; the line is gains less losses.
    """
    height = _HEAD + _MAIN + 0.6 + foot_height(notes)
    figure = sheet(_WIDTH, height)
    head(figure, title, below)
    foot(figure, notes)
    axes = figure.add_axes((_LEFT, 1 - (_HEAD + _MAIN) / height, _RIGHT - _LEFT, _MAIN / height))
    draw_reasons(causes, axes, system)
    return figure


def draw_reasons(causes: Sequence[Attribution], axes: Axes, system: System) -> None:
    """
    Draw the bars into axes.

    Parameters
    ----------
    causes : sequence of Attribution
        One for each speed.
    axes : Axes
        To be changed.
    system : {"us", "si"}
        Units.
    """
    tidy(axes)
    shown = scale("torque", system)
    rpm = np.array([one.rpm for one in causes])
    total = shown.of([one.total for one in causes])
    above, under = np.zeros(len(rpm)), np.zeros(len(rpm))
    gaps = np.diff(rpm)
    width = 0.72 * float(gaps.min()) if len(gaps) else 100.0
    largest = max(abs(part) for one in causes for part in one.parts.values()) or 1.0
    for name, colour, hatch in _LOOKS:
        worth = shown.of([share(one.parts, name) for one in causes])
        if np.max(np.abs(worth)) < 0.02 * float(shown.of(largest)):
            continue
        floor = np.where(worth >= 0, above, under)
        axes.add_patch(
            PathPatch(
                _bars(rpm, width, floor, floor + worth), facecolor=colour, hatch=hatch,
                edgecolor="white", linewidth=0.4, label=name, zorder=2,
            )
        )  # fmt: skip
        above += np.maximum(worth, 0.0)
        under += np.minimum(worth, 0.0)
    axes.axhline(0.0, color="#000000", linewidth=1.0, zorder=3)
    axes.plot(rpm, total, color="white", linewidth=4.0, zorder=4, solid_capstyle="round")
    axes.plot(
        rpm, total, color="#000000", linewidth=1.8, marker="o", markersize=6.5, zorder=5,
        markeredgecolor="white", markeredgewidth=1.0, label="all together",
    )  # fmt: skip
    axes.set_ylabel(f"torque, {shown.symbol}", color=GREY)
    axes.set_xlabel("engine speed, rpm", color=GREY)
    reach = float(np.max(above) - np.min(under)) or 1.0
    axes.set_ylim(float(np.min(under)) - 0.06 * reach, float(np.max(above)) + 0.06 * reach)
    axes.legend(
        loc="center left", bbox_to_anchor=(1.01, 0.5), frameon=False, fontsize=8.5,
        labelspacing=0.7, reverse=True,
    )  # fmt: skip


def _bars(rpm: np.ndarray, width: float, low: np.ndarray, high: np.ndarray) -> Path:
    """Outline of all bars of a cause: drawn at once, which is much quicker than one by one."""
    left, right = rpm - width / 2, rpm + width / 2
    corners = np.stack([left, low, right, low, right, high, left, high, left, low], axis=1)
    return Path.make_compound_path_from_polys(corners.reshape(len(rpm), 5, 2))
