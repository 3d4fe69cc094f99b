"""How do torque, power and breathing run over engine speed, as a chart?"""

from __future__ import annotations

from math import ceil, log10
from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.report.drawing import (
    BLUE,
    FAINT,
    GREEN,
    GREY,
    PURPLE,
    SKY,
    VERMILLION,
    foot,
    foot_height,
    head,
    sheet,
    tidy,
)
from enginesim.report.units import scale

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from enginesim.performance import Curve
    from enginesim.report.units import System

#: Speed at which torque in lb-ft and power in hp are the same number: 33000 / (2 pi).
CROSSING: Final = 5252.113
_WIDTH, _MAIN, _SMALL, _GAP, _HEAD = 9.0, 3.6, 1.0, 0.36, 0.75
_LEFT, _RIGHT = 0.085, 0.92
_MARGIN = 0.09  # of the speed axis, on either side: room for the names of the lines

# Fields under the main chart: colour, marker and dash, so that no line is told by colour alone.
_BENEATH: Final = (
    ("ve", "VE", GREEN, "s", "-"),
    ("bsfc", "BSFC", PURPLE, "D", "--"),
    ("manifold_depression", "vacuum", SKY, "^", "-."),
)


# Where the figure of a peak may stand: half widths to the side, points above; the best first.
_PLACES: Final = tuple(
    (aside, above) for above in (17.0, -17.0, 30.0, -30.0) for aside in (0.0, 0.8, -0.8)
)


def curve_figure(curve: Curve, title: str, notes: Sequence[str], system: System) -> Figure:
    """
    Torque and power over speed; volumetric efficiency, consumption and vacuum beneath.

    Parameters
    ----------
    curve : Curve
        Results at two speeds or more.
    title : str
        Name of the engine.
    notes : sequence of str
        Conditions, for the foot of the chart.
    system : {"us", "si"}
        Units: lb-ft and hp on one scale, which cross at 5252 rpm, or N m and kW on two.

    Returns
    -------
    Figure
        Speeds that did not converge are open crosses, and no line is drawn to them.
    """
    beneath = [row for row in _BENEATH if np.isfinite(curve[row[0]]).any()]
    bottom = foot_height(notes) + 0.5
    height = _HEAD + _MAIN + len(beneath) * (_SMALL + _GAP) + bottom
    figure = sheet(_WIDTH, height)
    head(figure, title, "Predicted, not calibrated: torque and power at the flywheel")
    foot(figure, notes)

    def place(top: float, tall: float) -> Axes:
        box = (_LEFT, 1 - (top + tall) / height, _RIGHT - _LEFT, tall / height)
        return figure.add_axes(box)

    main = place(_HEAD, _MAIN)
    _torque_and_power(main, curve, system)
    axes = [main]
    for i, (field, name, colour, marker, dash) in enumerate(beneath):
        small = place(_HEAD + _MAIN + _GAP + i * (_SMALL + _GAP), _SMALL)
        shown = scale(field, system)
        tidy(small)
        _line(small, curve, shown.of(curve[field]), colour, marker, dash, 1.6)
        small.set_title(f"{name}, {shown.symbol}", loc="left", size=9, color=GREY, pad=4)
        small.margins(y=0.18)
        small.locator_params(axis="y", nbins=4)
        axes.append(small)
    _speed_axis(axes, curve["rpm"])
    return figure


def _line(
    axes: Axes,
    curve: Curve,
    values: np.ndarray,
    colour: str,
    marker: str,
    dash: str,
    width: float,
) -> None:
    good = curve["converged"] == 1.0
    rpm = curve["rpm"]
    size = 4.5 if len(rpm) <= 30 else 3.0
    axes.plot(
        *(rpm[good], values[good]),
        color=colour,
        linestyle=dash,
        linewidth=width,
        marker=marker,
        markersize=size,
    )
    if not good.all():
        axes.plot(rpm[~good], values[~good], "x", color=colour, markersize=7, mew=1.6)


def _torque_and_power(main: Axes, curve: Curve, system: System) -> None:
    tidy(main)
    torque_scale, power_scale = scale("torque", system), scale("power", system)
    torque, power = torque_scale.of(curve["torque"]), power_scale.of(curve["power"])
    # One height for both: what is common to both scales is the fraction of the chart.
    if system == "us":
        top = _round_up(1.12 * max(torque.max(), power.max(), 1.0))
        ratio = 1.0
    else:
        top = _round_up(1.12 * max(torque.max(), 1.0))
        ratio = _round_up(1.35 * max(power.max(), 1.0)) / top  # below the torque: room for both
    main.set_ylim(min(0.0, 1.1 * torque.min(), 1.1 * power.min() / ratio), top)
    on_scale = power / ratio
    _line(main, curve, torque, BLUE, "o", "-", 2.6)
    _line(main, curve, on_scale, VERMILLION, "s", "--", 1.5)
    if system == "us":
        main.set_ylabel("torque, lb-ft;  power, hp", color=GREY)
        _crossing(main, curve["rpm"], top)
    else:
        main.set_ylabel("torque, N m", color=BLUE)
        right = main.twinx()
        low, high = main.get_ylim()
        right.set_ylim(low * ratio, high * ratio)
        right.set_ylabel("power, kW", color=VERMILLION)
        right.tick_params(color=GREY, labelsize=9)
        for side in ("top", "left", "bottom"):
            right.spines[side].set_visible(False)
        right.spines["right"].set_color(GREY)

    _end_labels(main, curve["rpm"], torque, on_scale, top)
    good = (curve["converged"] == 1.0) | (curve["converged"].max() == 0.0)
    labels = (
        (torque[good], torque_scale.with_unit(float(curve["torque"][good].max())), BLUE),
        (on_scale[good], power_scale.with_unit(float(curve["power"][good].max())), VERMILLION),
    )
    _peaks(main, curve["rpm"], curve["rpm"][good], labels)
    failed = int((curve["converged"] != 1.0).sum())
    if failed:
        words = f"x  {failed} speed{'s' if failed > 1 else ''} not converged"
        main.text(0.01, 0.03, words, transform=main.transAxes, size=9, color=GREY)


def _crossing(main: Axes, rpm: np.ndarray, top: float) -> None:
    if not rpm[0] < CROSSING < rpm[-1]:
        return
    main.axvline(CROSSING, color=FAINT, linewidth=1.2, linestyle=":", zorder=0.5)
    main.annotate(
        "5252 rpm:\nlb-ft = hp",
        (CROSSING, 0.015 * top),
        xytext=(4, 0),
        textcoords="offset points",
        size=7.5,
        color=GREY,
    )


def _peaks(
    main: Axes,
    every: np.ndarray,
    rpm: np.ndarray,
    labels: Sequence[tuple[np.ndarray, str, str]],
) -> None:
    """Ring round each highest point, and its figure where it hides neither line nor figure."""
    wide, tall = 72 * _WIDTH * (_RIGHT - _LEFT), 72 * _MAIN  # axes in points
    bottom, top = main.get_ylim()
    (low, high), margin = _ends(every), 1 + 2 * _MARGIN

    def across(x: np.ndarray | float) -> np.ndarray:
        return np.asarray((np.asarray(x) - low) / (high - low) + _MARGIN) / margin * wide

    def up(y: np.ndarray | float) -> np.ndarray:
        return np.asarray((np.asarray(y) - bottom) / (top - bottom) * tall)

    fine = np.linspace(rpm[0], rpm[-1], 400)
    lines = [(across(fine), up(np.interp(fine, rpm, values))) for values, _, _ in labels]
    placed: list[tuple[float, float, float]] = []
    for values, text, colour in labels:
        i = int(np.argmax(values))
        words = f"{text} @ {rpm[i]:.0f}"
        half = 3.1 * len(words)
        for aside, above in _PLACES:
            x = float(np.clip(across(rpm[i]) + aside * half, half, wide - half))
            y = float(up(values[i])) + above
            is_hidden = any(
                bool(np.any((np.abs(px - x) < half + 2) & (np.abs(py - y) < 9))) for px, py in lines
            ) or any(abs(ox - x) < half + oh and abs(oy - y) < 13 for ox, oy, oh in placed)
            if not is_hidden and 8 < y < tall - 4:
                break
        else:
            x, y = float(np.clip(across(rpm[i]), half, wide - half)), float(up(values[i])) + 17
        placed.append((x, y, half))
        main.plot(rpm[i], values[i], "o", ms=10, mfc="none", mec=colour, mew=1.4)
        main.annotate(
            words,
            (x / wide, y / tall),
            xycoords="axes fraction",
            ha="center",
            va="center",
            color=colour,
            weight="bold",
            size=9.5,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 0.5},
        )


def _end_labels(
    main: Axes, rpm: np.ndarray, torque: np.ndarray, power: np.ndarray, top: float
) -> None:
    """Names at the right ends of the two lines, kept apart."""
    low, high = sorted((float(torque[-1]), float(power[-1])))
    apart = 0.06 * top
    shift = max(0.0, (apart - (high - low)) / 2)
    for name, values, other, colour in (
        ("torque", torque, power, BLUE),
        ("power", power, torque, VERMILLION),
    ):
        y = values[-1] + (shift if values[-1] >= other[-1] else -shift)
        main.annotate(
            name,
            (rpm[-1], y),
            xytext=(8, 0),
            textcoords="offset points",
            color=colour,
            va="center",
            size=10,
            annotation_clip=False,
        )


def _ends(rpm: np.ndarray) -> tuple[float, float]:
    """First and last speed of the axis: round numbers."""
    step = _step(rpm)
    return float(np.floor(rpm[0] / step) * step), float(np.ceil(rpm[-1] / step) * step)


def _step(rpm: np.ndarray) -> float:
    span = float(rpm[-1] - rpm[0])
    return 250.0 if span <= 2500 else 500.0 if span <= 6000 else 1000.0


def _speed_axis(axes: Sequence[Axes], rpm: np.ndarray) -> None:
    low, high = _ends(rpm)
    margin = _MARGIN * (high - low)
    for axis in axes:
        axis.set_xticks(np.arange(low, high + 1, _step(rpm)))
        axis.set_xlim(low - margin, high + margin)
        axis.tick_params(labelbottom=axis is axes[-1])
    axes[-1].set_xlabel("engine speed, rpm", color=GREY)


def _round_up(value: float) -> float:
    """Next round number of one and a half digits: the top of a scale."""
    decade = 10.0 ** ceil(log10(value) - 1)
    return ceil(value / decade * 2) / 2 * decade
