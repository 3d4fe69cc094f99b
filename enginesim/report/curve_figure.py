"""How do torque, power and breathing run over engine speed, as a chart?"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.base.quantity import quantities
from enginesim.performance import Curve, Performance
from enginesim.performance.quoting import quoted
from enginesim.report.drawing import (
    BLUE,
    GREEN,
    GREY,
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
from enginesim.report.speed_axis import mark_crossing, mark_peaks, round_up, speed_axis
from enginesim.report.units import scale

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from enginesim.report.units import System

_WIDTH, _MAIN, _SMALL, _GAP, _HEAD = 9.0, 3.6, 1.0, 0.36, 0.75
_LEFT, _RIGHT = 0.085, 0.92

# Fields under the main chart: colour, marker and dash, so that no line is told by colour alone.
_BENEATH: Final = (
    ("ve", "VE", GREEN, "s", "-"),
    ("bsfc", "BSFC", PURPLE, "D", "--"),
    ("manifold_depression", "vacuum", SKY, "^", "-."),
)


@literal()
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
        Speeds that did not converge are crosses at the foot of the chart: they have no figures.
    """
    every, curve = curve["rpm"], curve.quotable or _without_figures(curve)
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
    _torque_and_power(main, every, curve, system)
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
    speed_axis(axes, every)
    return figure


def _without_figures(curve: Curve) -> Curve:
    """A curve of which no speed converged: gaps in place of figures."""
    names = [name for name in quantities(Performance) if isinstance(curve.points[0][name], float)]
    return Curve(replace(p, **{name: quoted(p, name) for name in names}) for p in curve.points)


def _line(
    axes: Axes,
    curve: Curve,
    values: np.ndarray,
    colour: str,
    marker: str,
    dash: str,
    width: float,
) -> None:
    rpm = curve["rpm"]
    size = 4.5 if len(rpm) <= 30 else 3.0
    axes.plot(
        *(rpm, values),
        color=colour,
        linestyle=dash,
        linewidth=width,
        marker=marker,
        markersize=size,
    )


def _not_converged(main: Axes, rpm: np.ndarray) -> None:
    """Crosses at the foot of the chart, and how many they are."""
    at_foot = main.get_xaxis_transform()
    main.plot(rpm, np.full(len(rpm), 0.02), "x", color=GREY, markersize=7, mew=1.6,
              transform=at_foot)  # fmt: skip
    words = f"x  {len(rpm)} speed{'s' if len(rpm) > 1 else ''} not converged"
    main.text(0.01, 0.05, words, transform=main.transAxes, size=9, color=GREY)


def _torque_and_power(main: Axes, every: np.ndarray, curve: Curve, system: System) -> None:
    tidy(main)
    failed = np.setdiff1d(every, curve["rpm"][np.isfinite(curve["torque"])])
    if len(failed) == len(every):
        main.set_yticks([])
        _not_converged(main, failed)
        return
    torque_scale, power_scale = (
        scale(name, system).finer(curve[name]) for name in ("torque", "power")
    )
    torque, power = torque_scale.of(curve["torque"]), power_scale.of(curve["power"])
    # One height for both: what is common to both scales is the fraction of the chart.
    if system == "us":
        top = round_up(1.12 * max(torque.max(), power.max(), 1.0))
        ratio = 1.0
    else:
        top = round_up(1.12 * max(torque.max(), 1.0))
        ratio = round_up(1.35 * max(power.max(), 1.0)) / top  # below the torque: room for both
    main.set_ylim(min(0.0, 1.1 * torque.min(), 1.1 * power.min() / ratio), top)
    on_scale = power / ratio
    _line(main, curve, torque, BLUE, "o", "-", 2.6)
    _line(main, curve, on_scale, VERMILLION, "s", "--", 1.5)
    if system == "us":
        main.set_ylabel("torque, lb-ft;  power, hp", color=GREY)
        mark_crossing(main, every, top)
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
    labels = (
        (torque, torque_scale.with_unit(float(curve["torque"].max())), BLUE),
        (on_scale, power_scale.with_unit(float(curve["power"].max())), VERMILLION),
    )
    size = (72 * _WIDTH * (_RIGHT - _LEFT), 72 * _MAIN)
    mark_peaks(main, size, every, curve["rpm"], labels)
    if len(failed):
        _not_converged(main, failed)


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
