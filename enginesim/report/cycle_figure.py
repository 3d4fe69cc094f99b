"""What goes on in one cylinder over one cycle, as charts?"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from enginesim.report.drawing import (
    BLUE,
    FAINT,
    GREY,
    ORANGE,
    VERMILLION,
    foot,
    foot_height,
    head,
    literal,
    sheet,
    tidy,
)
from enginesim.report.units import SCALES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from enginesim.cycle.record import CycleRecord
    from enginesim.report.units import System

#: Lift from which a valve counts as open: less passes no flow that a chart shows. [m]
OPEN: Final = 1e-5
_DEGREE: Final = 180 / pi
_WIDTH, _HEAD, _GAP = 9.5, 0.85, 0.75
_SQUARE, _LOW = 3.3, 2.6
_LEFT, _RIGHT = 0.09, 0.90


@literal()
def cycle_figure(
    record: CycleRecord, cylinder: int, title: str, notes: Sequence[str], system: System
) -> Figure:
    """
    Indicator diagrams, pressure and lift, valve flows of one cylinder.

    Parameters
    ----------
    record : CycleRecord
        The cycle.
    cylinder : int
        Index of the cylinder, from 0. [-]
    title : str
        Name of the engine.
    notes : sequence of str
        Conditions, for the foot of the chart.
    system : {"us", "si"}
        Units.

    Returns
    -------
    Figure
        Pressure over volume, plain with the pumping loop magnified, and both on logarithmic
        scales; pressure and valve lifts over crank angle with spark and burn; valve flows.
    """
    height = _HEAD + _SQUARE + 2 * (_GAP + _LOW) + 0.5 + foot_height(notes)
    figure = sheet(_WIDTH, height)
    ended = "" if record.converged else "; NOT CONVERGED"
    head(figure, title, f"{record.cylinder_names[cylinder]} at {record.rpm:.0f} rpm{ended}")
    foot(figure, notes)

    def place(left: float, right: float, top: float, tall: float) -> Axes:
        box = (left, 1 - (top + tall) / height, right - left, tall / height)
        return figure.add_axes(box)

    pressure, volume = SCALES[system]["cylinder pressure"], SCALES[system]["volume"]
    p = pressure.of(record.pressure[cylinder])
    v = volume.of(record.volume[cylinder])
    _indicator(place(_LEFT, 0.46, _HEAD, _SQUARE), v, p, volume.symbol, pressure.symbol)
    _logarithmic(place(0.57, _RIGHT, _HEAD, _SQUARE), v, p, volume.symbol, pressure.symbol)
    top = _HEAD + _SQUARE + _GAP
    _pressure_and_lift(place(_LEFT, _RIGHT, top, _LOW), record, cylinder, system)
    _flows(place(_LEFT, _RIGHT, top + _LOW + _GAP, _LOW), record, cylinder, system)
    return figure


def crank_axis(axes: Axes, *, strokes: bool = True) -> None:
    """
    Two turns about a firing top dead centre, marked at the dead centres.

    Parameters
    ----------
    axes : Axes
        To be changed; its horizontal axis is crank angle in degrees.
    strokes : bool
        Whether to name the four strokes along the top.
    """
    axes.set_xlim(-360, 360)
    axes.set_xticks(range(-360, 361, 60))
    axes.set_xlabel("crank angle after firing TDC, deg", color=GREY)
    for angle in (-180, 0, 180):
        axes.axvline(angle, color=GREY, linewidth=0.8, zorder=1.2)
    if strokes:
        for angle, name in ((-270, "intake"), (-90, "compression"), (90, "expansion")):
            _stroke(axes, angle, name)
        _stroke(axes, 270, "exhaust")


def _stroke(axes: Axes, angle: float, name: str) -> None:
    axes.text(
        (angle + 360) / 720,
        1.015,
        name,
        transform=axes.transAxes,
        ha="center",
        va="bottom",
        size=8.5,
        color=GREY,
    )


def _indicator(axes: Axes, v: Any, p: Any, v_unit: str, p_unit: str) -> None:
    tidy(axes)
    axes.plot(v, p, color=BLUE, linewidth=1.8)
    axes.set_xlim(0, 1.03 * v.max())
    axes.set_ylim(0, 1.06 * p.max())
    axes.set_xlabel(f"volume, {v_unit}", color=GREY)
    axes.set_ylabel(f"pressure, {p_unit}", color=GREY)
    # The pumping loop, magnified, in the empty upper right.
    loop = axes.inset_axes((0.42, 0.48, 0.56, 0.44))
    tidy(loop)
    loop.plot(v, p, color=BLUE, linewidth=1.2)
    low = p.min()
    loop.set_xlim(0, 1.03 * v.max())
    loop.set_ylim(0.9 * low, max(2.2 * np.median(p), 2.0 * low))
    loop.tick_params(labelsize=7.5)
    loop.locator_params(nbins=4)
    loop.set_title("pumping loop", size=8.5, color=GREY, pad=3)


def _logarithmic(axes: Axes, v: Any, p: Any, v_unit: str, p_unit: str) -> None:
    tidy(axes)
    axes.plot(v, p, color=BLUE, linewidth=1.6)
    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_xlabel(f"volume, {v_unit} (log)", color=GREY)
    axes.set_ylabel(f"pressure, {p_unit} (log)", color=GREY)
    for axis, values in ((axes.xaxis, v), (axes.yaxis, p)):
        axis.set_major_locator(_one_two_five(values.min(), values.max()))
        axis.set_major_formatter("{x:g}")
        axis.set_minor_formatter("")
    axes.grid(visible=True, which="minor", color=FAINT, linewidth=0.4)
    axes.set_title("straight lines: polytropic compression and expansion", size=8, color=GREY)


def _one_two_five(low: float, high: float) -> Any:
    """Ticks at 1, 2, 5 times powers of ten: few numbers on a short logarithmic axis."""
    from matplotlib.ticker import FixedLocator

    decades = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
    ticks = [m * 10.0**d for d in decades for m in (1, 2, 5)]
    return FixedLocator([t for t in ticks if 0.8 * low <= t <= 1.25 * high])


def _pressure_and_lift(axes: Axes, record: CycleRecord, cylinder: int, system: System) -> None:
    shown = SCALES[system]["cylinder pressure"]
    angle, p_si = record.of_cylinder("pressure", cylinder)
    degrees, p = angle * _DEGREE, shown.of(p_si)
    tidy(axes)
    crank_axis(axes)
    axes.plot(degrees, p, color=BLUE, linewidth=2.0)
    axes.set_ylabel(f"pressure, {shown.symbol}", color=BLUE)
    axes.set_ylim(0, 1.18 * p.max())

    marks = [("spark", -record.spark, "*")]
    for name, angles in (("10 %", record.ca10), ("50 %", record.ca50), ("90 %", record.ca90)):
        marks.append((name, float(angles[cylinder]), "o"))
    for name, place, marker in marks:
        if not np.isfinite(place):
            continue
        height = float(np.interp(place, angle, p_si))
        at = float(shown.of(height))
        axes.plot(place * _DEGREE, at, marker, color=VERMILLION, ms=9 if marker == "*" else 5)
        is_rising = place < angle[int(np.argmax(p_si))]
        axes.annotate(
            f"{name} {place * _DEGREE:.0f}°".replace("-", "\N{MINUS SIGN}"),
            (place * _DEGREE, at),
            xytext=(-9 if is_rising else 9, 2),
            textcoords="offset points",
            ha="right" if is_rising else "left",
            va="center",
            size=8.5,
            color=VERMILLION,
        )
    lifts = (("intake_lift", "intake", BLUE, "--"), ("exhaust_lift", "exhaust", VERMILLION, ":"))
    if record.intake_lift is None or record.exhaust_lift is None:
        return
    length = SCALES[system]["length"]
    right = axes.twinx()
    highest = 0.0
    for name, side, colour, dash in lifts:
        lift_angle, lift_si = record.of_cylinder(name, cylinder)
        lift = length.of(lift_si)
        lift = np.where(lift_si > OPEN, lift, np.nan)
        right.plot(lift_angle * _DEGREE, lift, color=colour, linestyle=dash, linewidth=1.5)
        top = int(np.nanargmax(lift))
        highest = max(highest, float(lift[top]))
        right.annotate(
            f"{side} valve",
            (lift_angle[top] * _DEGREE, lift[top]),
            xytext=(0, 4),
            textcoords="offset points",
            ha="center",
            size=8.5,
            color=colour,
        )
    right.set_ylim(0, 2.2 * highest)  # the lower half, clear of the pressure's peak
    right.set_ylabel(f"valve lift, {length.symbol}", color=GREY)
    right.tick_params(color=GREY, labelsize=9)
    for side in ("top", "left", "bottom"):
        right.spines[side].set_visible(False)
    right.spines["right"].set_color(GREY)


def _flows(axes: Axes, record: CycleRecord, cylinder: int, system: System) -> None:
    shown = SCALES[system]["valve flow"]
    tidy(axes)
    crank_axis(axes)
    axes.axhline(0, color=GREY, linewidth=0.8)
    for name, label, colour, dash in (
        ("intake_flow", "intake, into the cylinder", BLUE, "-"),
        ("exhaust_flow", "exhaust, out of it", VERMILLION, "--"),
    ):
        angle, flow_si = record.of_cylinder(name, cylinder)
        degrees, flow = angle * _DEGREE, shown.of(flow_si)
        axes.plot(degrees, flow, color=colour, linestyle=dash, linewidth=1.7)
        back = np.where(flow < 0.0, flow, 0.0)
        axes.fill_between(degrees, back, color=ORANGE, alpha=0.5, linewidth=0)
        top = int(np.argmax(flow))
        axes.annotate(
            label,
            (float(np.clip(degrees[top], -285, 285)), flow[top]),
            xytext=(0, 4),
            textcoords="offset points",
            ha="center",
            size=9,
            color=colour,
        )
    low = min(record.intake_flow[cylinder].min(), record.exhaust_flow[cylinder].min(), 0.0)
    high = max(record.intake_flow[cylinder].max(), record.exhaust_flow[cylinder].max())
    axes.set_ylim(float(shown.of(1.15 * low - 0.02 * high)), float(shown.of(1.18 * high)))
    axes.set_ylabel(f"valve flow, {shown.symbol}", color=GREY)
    if (record.intake_flow[cylinder] < 0).any() or (record.exhaust_flow[cylinder] < 0).any():
        axes.text(
            0.5,
            0.92,
            "filled: flow backwards",
            transform=axes.transAxes,
            ha="center",
            size=8.5,
            color=GREY,
        )
