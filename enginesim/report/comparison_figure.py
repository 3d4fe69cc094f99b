"""How do the curves of some engines lie over each other, and how far apart are they?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.report.comparison_text import speed, verdicts
from enginesim.report.drawing import (
    BLUE,
    BROWN,
    FAINT,
    GREEN,
    GREY,
    HALO,
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
from enginesim.report.speed_axis import mark_crossing, place, round_up, speed_axis
from enginesim.report.units import scale

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from enginesim.report.units import System
    from enginesim.study.comparison import Comparison

#: Colour, dash and marker of each side: no line is told by colour alone.
LOOKS: Final = (
    (BLUE, "-", "o"),
    (VERMILLION, "--", "s"),
    (GREEN, "-.", "^"),
    (PURPLE, ":", "D"),
    (ORANGE, (0, (5, 1, 1, 1, 1, 1)), "v"),
    ("#000000", (0, (1, 1)), "x"),
    (SKY, (0, (8, 2)), "P"),
    (BROWN, (0, (3, 1, 1, 1)), "*"),
)
# Half widths of the bands that hold half and nine tenths of a normal distribution, over sigma.
_HALF, _NINE_TENTHS = 0.674, 1.645
_LINE = 0.135  # height of a name at the end of a line, on the page [in]
_WIDTH, _HEAD, _MAIN, _BELOW, _GAP = 9.0, 0.75, 3.7, 1.75, 0.42
_LEFT, _RIGHT = 0.085, 0.92
# Peaks and averages in the chart, in parts of its size: height of a row, distance of the columns,
# width of both, left edges that are tried.
_ROW, _ASIDE, _WIDE, _LEFTS = 0.045, 0.39, 0.62, (0.11, 0.19, 0.27)


@literal()
def comparison_figure(
    comparison: Comparison, title: str, notes: Sequence[str], system: System
) -> Figure:
    """
    Torque and power of all sides, and what each has more or less than the first.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.
    title : str
        What is compared.
    notes : sequence of str
        Conditions, for the foot of the chart.
    system : {"us", "si"}
        Units: lb-ft and hp on one scale, or N m and kW on two.

    Returns
    -------
    Figure
        Torque heavier, power lighter; the band about a difference is its numerical error, or,
        with what was assumed, the two that hold half and nine tenths of all cases.
    """
    lines = [*_who(comparison), *notes]
    height = _HEAD + _MAIN + _GAP + _BELOW + 0.5 + foot_height(lines)
    figure = sheet(_WIDTH, height)
    head(
        figure, title, "Predicted, not calibrated: torque (heavy) and power (light) at the flywheel"
    )
    foot(figure, lines)

    def axes(top: float, tall: float) -> Axes:
        return figure.add_axes((_LEFT, 1 - (top + tall) / height, _RIGHT - _LEFT, tall / height))

    draw_comparison(
        comparison,
        axes(_HEAD, _MAIN),
        axes(_HEAD + _MAIN + _GAP, _BELOW),
        system,
    )
    return figure


def _who(comparison: Comparison) -> list[str]:
    return ["   ".join(f"{side.letter}: {side.label}" for side in comparison.sides)]


def draw_comparison(
    comparison: Comparison, main: Axes, below: Axes, system: System, *, has_figures: bool = True
) -> None:
    """
    Draw the curves into one pair of axes, the differences into another.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.
    main : Axes
        For torque and power.
    below : Axes
        For the differences.
    system : {"us", "si"}
        Units.
    has_figures : bool
        Whether peaks and averages are written among the curves.
    """
    drawn = _curves(main, comparison, system, is_foot_taken=has_figures)
    if has_figures:
        _figures(main, comparison, drawn, system)
    _differences(below, comparison, system)
    for axes in (main, below):
        _window(axes, comparison)
    speed_axis([main, below], comparison.rpm)


def _curves(
    main: Axes, comparison: Comparison, system: System, *, is_foot_taken: bool
) -> list[np.ndarray]:
    """The lines, as heights on the axis."""
    tidy(main)
    torque_scale, power_scale = scale("torque", system), scale("power", system)
    torque, power = torque_scale.of(comparison.torque), power_scale.of(comparison.power)
    if system == "us":
        top, ratio = round_up(1.12 * max(torque.max(), power.max(), 1.0)), 1.0
        main.set_ylabel("torque, lb-ft;  power, hp", color=GREY)
        mark_crossing(main, comparison.rpm, top, is_named_above=is_foot_taken)
    else:
        top = round_up(1.12 * max(torque.max(), 1.0))
        ratio = round_up(1.35 * max(power.max(), 1.0)) / top
        main.set_ylabel("torque, N m", color=GREY)
    main.set_ylim(min(0.0, 1.1 * torque.min(), 1.1 * power.min() / ratio), top)
    if system == "si":
        right = main.twinx()
        right.set_ylim(main.get_ylim()[0] * ratio, top * ratio)
        right.set_ylabel("power, kW", color=GREY)
        right.tick_params(color=GREY, labelsize=9)
        for edge in ("top", "left", "bottom"):
            right.spines[edge].set_visible(False)
        right.spines["right"].set_color(GREY)
    rpm = comparison.rpm
    ends = []
    for i, side in enumerate(comparison.sides):
        colour, dash, marker = LOOKS[i % len(LOOKS)]
        for values, shown, width, size in (
            (torque[i], torque_scale, 2.4, 4.2),
            (power[i] / ratio, power_scale, 1.2, 3.0),
        ):
            main.plot(
                rpm, values, color=colour, linestyle=dash, linewidth=width, marker=marker,
                markersize=size,
            )  # fmt: skip
            at = int(np.argmax(values))
            main.plot(rpm[at], values[at], "o", ms=10, mfc="none", mec=colour, mew=1.4)
            ends.append((f"{side.letter} {shown.symbol}", float(values[-1]), colour))
    name_ends(main, float(rpm[-1]), ends, _apart(main, 0.042))
    return [*torque, *(power / ratio)]


def _apart(axes: Axes, part: float) -> float:
    """Distance of two names, on the axis: part of it, and more where the chart is low."""
    low, high = axes.get_ylim()
    tall = float(axes.bbox.height) / axes.figure.dpi
    return float(max(part, _LINE / tall) * (high - low))


def _figures(
    main: Axes, comparison: Comparison, drawn: Sequence[np.ndarray], system: System
) -> None:
    """Peaks and averages where no line runs; with many engines they are in the table only."""
    n = len(comparison.sides)
    room = _room(main, comparison.rpm, drawn, _ROW * n + 0.06)
    if room is None:
        return
    left, up = room
    window = f"{comparison.window.low:.0f}-{comparison.window.high:.0f}"
    scales = [
        scale("torque", system).finer(comparison.torque),
        scale("power", system).finer(comparison.power),
    ]
    plain = {"facecolor": "white", "edgecolor": "none", "alpha": 0.7, "pad": 0.5}
    for column, (title, across) in enumerate(
        (("peaks", left), (f"averages {window}", left + _ASIDE))
    ):
        main.text(
            across, up + 0.005 + _ROW * n, f"{title} rpm" if column else title, size=8.5,
            color=GREY, transform=main.transAxes, bbox=plain,
        )  # fmt: skip
        for i, side in enumerate(comparison.sides):
            texts = []
            for name, shown in zip(("torque", "power"), scales, strict=True):
                rpm, value = comparison.peak(i, name)
                text = shown.with_unit(comparison.average(i, name), 1)
                peak = shown.with_unit(value)
                texts.append(text if column else f"{peak} @ {rpm:.0f}")
            main.text(
                across, up + _ROW * (n - 1 - i), f"{side.letter}  {',  '.join(texts)}",
                size=8.5, color=LOOKS[i % len(LOOKS)][0], weight="bold", transform=main.transAxes,
                bbox=plain,
            )  # fmt: skip


def _room(
    main: Axes, rpm: np.ndarray, drawn: Sequence[np.ndarray], tall: float
) -> tuple[float, float] | None:
    """Left and lower edge of the lowest place that no line crosses, if there is any."""
    low, high = main.get_ylim()
    fine = np.linspace(rpm[0], rpm[-1], 300)
    x = place(rpm, fine)
    lines = [(np.interp(fine, rpm, values) - low) / (high - low) for values in drawn]
    for up in np.arange(0.03, 0.98 - tall, 0.02):
        for left in _LEFTS:
            within = (x > left - 0.01) & (x < left + _WIDE)
            if not any(np.any((y > up - 0.03) & (y < up + tall) & within) for y in lines):
                return left, float(up)
    return None


def name_ends(axes: Axes, rpm: float, ends: Sequence[tuple[str, float, str]], apart: float) -> None:
    """
    Names at the right ends of lines, kept apart and within the chart.

    Parameters
    ----------
    axes : Axes
        To be changed.
    rpm : float
        Last speed. [rpm]
    ends : sequence of (str, float, str)
        Name, height on the axis [-] and colour of each line.
    apart : float
        Least distance of two names, on the axis. [-]
    """
    ordered = sorted(ends, key=lambda end: end[1])
    heights = [end[1] for end in ordered]
    for _ in range(50):  # push neighbours apart until none overlap
        for j in range(len(heights) - 1):
            short = apart - (heights[j + 1] - heights[j])
            if short > 0:
                heights[j] -= short / 2
                heights[j + 1] += short / 2
    low, high = axes.get_ylim()
    apart = min(apart, (high - low) / max(len(heights) - 1, 1))
    for j in reversed(range(len(heights))):  # and back below the upper end, above the lower one
        heights[j] = min(heights[j], high if j == len(heights) - 1 else heights[j + 1] - apart)
    for j in range(len(heights)):
        heights[j] = max(heights[j], low if j == 0 else heights[j - 1] + apart)
    for (name, _, colour), y in zip(ordered, heights, strict=True):
        axes.annotate(
            name, (rpm, y), xytext=(8, 0), textcoords="offset points", color=colour, va="center",
            size=9, annotation_clip=False,
            path_effects=HALO,
        )  # fmt: skip


def _differences(axes: Axes, comparison: Comparison, system: System) -> None:
    tidy(axes)
    shown = scale("torque", system)
    rpm = comparison.rpm
    axes.axhline(0.0, color="#000000", linewidth=1.0)
    ends = []
    low, high = 0.0, 0.0
    for i in range(1, len(comparison.sides)):
        colour, dash, marker = LOOKS[i % len(LOOKS)]
        values, error = shown.of(comparison.difference(i)), shown.of(comparison.sigma(i))
        # With bands half and nine tenths of all cases, else the numerical error.
        for part in (1.0,) if comparison.band is None else (_NINE_TENTHS, _HALF):
            axes.fill_between(
                rpm, values - part * error, values + part * error, color=colour, alpha=0.2,
                linewidth=0,
            )  # fmt: skip
        axes.plot(
            rpm, values, color=colour, linestyle=dash, linewidth=2.0, marker=marker, markersize=4
        )
        low, high = (
            min(low, float(np.min(values - error))),
            max(high, float(np.max(values + error))),
        )
        letter = comparison.sides[i].letter
        ends.append((f"{letter} - {comparison.sides[0].letter}", float(values[-1]), colour))
        for crossing in comparison.crossovers(i):
            axes.plot(crossing.rpm, 0.0, "|", color=colour, markersize=14, mew=2)
            if len(comparison.sides) > 2:
                continue
            # On the side of the tick that the curve leaves free.
            axes.annotate(
                speed(crossing.rpm), (crossing.rpm, 0.0),
                xytext=(4, -5 if crossing.is_rising else 5), textcoords="offset points",
                va="top" if crossing.is_rising else "bottom", size=8.5, color=colour,
            )  # fmt: skip
    reach = max(high - low, 1.0)
    axes.set_ylim(low - 0.12 * reach, high + 0.12 * reach)
    axes.locator_params(axis="y", nbins=6)
    axes.set_ylabel(f"torque, {shown.symbol}", color=GREY)
    name_ends(axes, float(rpm[-1]), ends, _apart(axes, 0.09))
    first = comparison.sides[0].letter
    title = f"Difference from {first}"
    if len(comparison.sides) == 2:
        title = verdicts(comparison, 1, system)[0].partition(";")[0].rstrip(".")
    axes.set_title(title, loc="left", size=9.5, color=GREY, pad=5)


def _window(axes: Axes, comparison: Comparison) -> None:
    """Shade the window of the averages, where it is not the whole chart."""
    low, high = comparison.window.low, comparison.window.high
    if (low, high) == (comparison.rpm[0], comparison.rpm[-1]):
        return
    axes.axvspan(low, high, color=FAINT, alpha=0.35, linewidth=0, zorder=0.2)
