"""How do the waves run between a valve and the far end of its tract?"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.base.errors import ResultError
from enginesim.report.cycle_figure import OPEN, crank_axis
from enginesim.report.drawing import (
    BLUE,
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
    from matplotlib.collections import QuadMesh
    from matplotlib.figure import Figure

    from enginesim.cycle.record import CycleRecord, Samples, Tract
    from enginesim.report.units import System

_DEGREE: Final = 180 / pi
_WIDTH, _HEAD, _MAP, _TRACE, _GAP = 9.5, 0.95, 4.3, 1.9, 0.55
_LEFT, _RIGHT = 0.09, 0.86


@literal()
def wave_figure(
    record: CycleRecord, tract: Tract, title: str, notes: Sequence[str], system: System
) -> Figure:
    """
    Wave diagram of one tract, and the pressure at its valve.

    Parameters
    ----------
    record : CycleRecord
        A cycle with traces.
    tract : Tract
        One of the record's.
    title : str
        Name of the engine.
    notes : sequence of str
        Conditions, for the foot of the chart.
    system : {"us", "si"}
        Units.

    Returns
    -------
    Figure
        Crank angle to the right, distance from the valve upwards, colour for pressure about its
        mean over the whole diagram; a wave that leaves the valve slopes up, one that comes back
        slopes down. Under it the pressure in the cell next to the valve.

    Raises
    ------
    ResultError
        If the record was kept without traces.
    """
    if record.duct_pressure is None:
        raise ResultError(f"record at {record.rpm:g} rpm: found no traces for a wave diagram")
    degrees, p = in_own_time(record, tract)
    shown = SCALES[system]["duct pressure"]
    height = _HEAD + _MAP + _GAP + _TRACE + 0.5 + foot_height(notes)
    figure = sheet(_WIDTH, height)
    cylinder = record.cylinder_names[tract.cylinder]
    head(figure, title, f"Waves in the {tract.side} tract of {cylinder} at {record.rpm:.0f} rpm")
    foot(figure, notes)

    def place(left: float, right: float, top: float, tall: float) -> Axes:
        box = (left, 1 - (top + tall) / height, right - left, tall / height)
        return figure.add_axes(box)

    mean = float(np.mean(p[:, :-1]))
    diagram = place(_LEFT, _RIGHT, _HEAD, _MAP)
    mesh = diagram_of(diagram, tract, degrees, shown.of(p) - shown.of(mean), system)
    bar = figure.colorbar(mesh, cax=place(_RIGHT + 0.025, _RIGHT + 0.045, _HEAD, _MAP))
    bar.set_label(f"pressure about its mean, {shown.with_unit(mean)}", color=GREY, size=9)
    bar.ax.tick_params(labelsize=9, color=GREY)
    bar.outline.set_edgecolor(GREY)

    trace = place(_LEFT, _RIGHT, _HEAD + _MAP + _GAP, _TRACE)
    tidy(trace)
    trace.plot(degrees, shown.of(p[0]), color=BLUE, linewidth=1.6)
    trace.axhline(float(shown.of(mean)), color=GREY, linewidth=0.9, linestyle=":")
    trace.set_ylabel(f"at the valve, {shown.symbol}", color=GREY)
    crank_axis(trace, strokes=False)
    diagram.set_xlabel("")
    diagram.tick_params(labelbottom=False)
    _events(record, tract, diagram, trace)
    return figure


def in_own_time(record: CycleRecord, tract: Tract) -> tuple[Samples, Samples]:
    """
    Pressure along a tract in its cylinder's own time.

    Parameters
    ----------
    record : CycleRecord
        A cycle with traces.
    tract : Tract
        One of the record's.

    Returns
    -------
    angle : ndarray, shape (n_sample,)
        Crank angle from the cylinder's firing top dead centre. [deg]
    p : ndarray, shape (n_cell, n_sample)
        Pressure, the cell next to the valve first. [Pa]
    """
    angle = record.cylinder_angle(tract.cylinder)[:-1]
    order = np.argsort(angle, kind="stable")
    own = angle[order]
    every = record.duct_pressure
    p = np.empty((0, 0)) if every is None else every[tract.cells][:, :-1][:, order]
    closed = np.concatenate([p, p[:, :1]], axis=1)
    return np.append(own, own[0] + 4 * pi) * _DEGREE, closed


def diagram_of(
    axes: Axes,
    tract: Tract,
    degrees: Samples,
    about: Samples,
    system: System,
    limit: float | None = None,
) -> QuadMesh:
    """
    Draw a wave diagram into axes.

    Parameters
    ----------
    axes : Axes
        To be changed.
    tract : Tract
        Where the cells lie.
    degrees : ndarray, shape (n_sample,)
        Crank angle. [deg]
    about : ndarray, shape (n_cell, n_sample)
        Pressure about its mean, in the unit shown. [-]
    system : {"us", "si"}
        Units of length.
    limit : float, optional
        End of the colours, in the same unit; the largest value if left out. [-]

    Returns
    -------
    QuadMesh
        For a scale of colours.
    """
    from matplotlib.colors import LinearSegmentedColormap

    length = SCALES[system]["length"]
    far = tract.marks[-1][1] if tract.marks else float(tract.distance[-1])
    inner = 0.5 * (tract.distance[1:] + tract.distance[:-1])
    edges = length.of(np.concatenate([[0.0], inner, [max(far, float(tract.distance[-1]))]]))
    half = 0.5 * np.diff(degrees, append=2 * degrees[-1] - degrees[-2])
    sides = np.concatenate([[degrees[0] - half[0]], degrees + half])
    limit = limit or float(np.max(np.abs(about))) or 1.0
    colours = LinearSegmentedColormap.from_list("waves", [BLUE, "#FFFFFF", ORANGE])
    mesh = axes.pcolormesh(
        sides, edges, about, cmap=colours, vmin=-limit, vmax=limit, rasterized=True
    )
    crank_axis(axes)
    axes.set_ylim(0, edges[-1])
    axes.set_ylabel(f"distance from the valve, {length.symbol}", color=GREY)
    axes.tick_params(color=GREY, labelsize=9)
    for i, (name, distance) in enumerate(tract.marks):
        y = float(length.of(distance))
        is_end = i == len(tract.marks) - 1
        if not is_end:
            axes.axhline(y, color=GREY, linewidth=0.9, linestyle=(0, (6, 4)))
        axes.annotate(
            name,
            (4, y),  # where both valves are shut: no bar hides a low joint
            xytext=(0, -3 if is_end else 3),
            textcoords="offset points",
            va="top" if is_end else "bottom",
            size=8.5,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.75, "pad": 1.0},
        )
    return mesh


def _events(record: CycleRecord, tract: Tract, diagram: Axes, trace: Axes) -> None:
    """Bars where each valve is open, and its opening and closing."""
    bars = (
        ("intake", record.intake_lift, BLUE, 0.0, "I"),
        ("exhaust", record.exhaust_lift, VERMILLION, 0.022, "E"),
    )
    for side, lift, colour, bottom, letter in bars:
        if lift is None:
            continue
        angle, values = record.of_cylinder(f"{side}_lift", tract.cylinder)
        is_open = values > OPEN
        degrees = angle * _DEGREE
        diagram.fill_between(
            degrees,
            bottom,
            bottom + 0.02,
            where=is_open.tolist(),
            transform=diagram.get_xaxis_transform(),
            color=colour,
            linewidth=0,
            zorder=3,
        )
        if side != tract.side:
            continue
        steps = np.diff(is_open.astype(int))
        for event, mark in ((1, "O"), (-1, "C")):
            for i in np.flatnonzero(steps == event):
                at = float(degrees[i + (event == 1)])
                for axes in (diagram, trace):
                    axes.axvline(at, color=colour, linewidth=1.0, linestyle=(0, (3, 2)))
                trace.annotate(
                    f"{letter}{mark}",
                    (at, 1.0),
                    xycoords=("data", "axes fraction"),
                    xytext=(0, 2),
                    textcoords="offset points",
                    ha="center",
                    va="bottom",
                    size=9,
                    color=colour,
                )
    diagram.annotate(
        "valves open: exhaust over intake",
        (1.0, 0.05),
        xycoords="axes fraction",
        xytext=(-4, 0),
        textcoords="offset points",
        ha="right",
        va="bottom",
        size=8,
        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.75, "pad": 1.0},
    )
