"""How do the waves ahead of the intake valve of two engines differ, and when does it close?"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.base.errors import ResultError
from enginesim.report.comparison_figure import LOOKS
from enginesim.report.cycle_figure import OPEN, crank_axis
from enginesim.report.drawing import GREY, foot, foot_height, head, literal, sheet, tidy
from enginesim.report.units import SCALES
from enginesim.report.wave_figure import diagram_of, in_own_time

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from enginesim.cycle.record import CycleRecord, Tract
    from enginesim.report.units import System

_DEGREE: Final = 180 / pi
_WIDTH, _HEAD, _MAP, _GAP, _TRACE = 12.0, 1.0, 3.5, 0.75, 2.6
_LEFT, _RIGHT, _BETWEEN = 0.06, 0.9, 0.05


@literal()
def valve_pressure_figure(
    records: Sequence[CycleRecord],
    names: Sequence[str],
    title: str,
    notes: Sequence[str],
    system: System,
    cylinder: int = 0,
) -> Figure:
    """
    Wave diagrams of two intake tracts side by side, and the pressures at both valves.

    Parameters
    ----------
    records : sequence of CycleRecord
        Two cycles at one speed, with traces.
    names : sequence of str
        What the two engines are.
    title : str
        What is compared.
    notes : sequence of str
        Conditions, for the foot of the chart.
    system : {"us", "si"}
        Units.
    cylinder : int
        Index of the cylinder to draw, from 0. [-]

    Returns
    -------
    Figure
        Both diagrams on one scale of colours and of length; below, the pressure in the cell next
        to the intake valve, with opening and closing of each engine's valve.

    Raises
    ------
    ResultError
        If a record was kept without traces, or has no such tract.
    """
    tracts = [_tract(record, cylinder) for record in records]
    shown = SCALES[system]["duct pressure"]
    height = _HEAD + _MAP + _GAP + _TRACE + 0.5 + foot_height(notes)
    figure = sheet(_WIDTH, height)
    rpm = records[0].rpm
    head(
        figure, title, f"Waves ahead of the intake valve of cylinder {cylinder + 1}, {rpm:.0f} rpm"
    )
    foot(figure, notes)

    def place(left: float, right: float, top: float, tall: float) -> Axes:
        return figure.add_axes((left, 1 - (top + tall) / height, right - left, tall / height))

    half = (_RIGHT - _LEFT - _BETWEEN) / 2
    drawn = [in_own_time(record, tract) for record, tract in zip(records, tracts, strict=True)]
    means = [float(np.mean(p[:, :-1])) for _, p in drawn]
    abouts = [shown.of(p) - shown.of(mean) for (_, p), mean in zip(drawn, means, strict=True)]
    limit = max(float(np.max(np.abs(about))) for about in abouts)
    longest = max(tract.marks[-1][1] for tract in tracts)
    for k, (tract, (degrees, _), about) in enumerate(zip(tracts, drawn, abouts, strict=True)):
        left = _LEFT + k * (half + _BETWEEN)
        axes = place(left, left + half, _HEAD, _MAP)
        mesh = diagram_of(axes, tract, degrees, about, system, limit)
        axes.set_ylim(0, 1.02 * float(SCALES[system]["length"].of(longest)))
        axes.set_title(names[k], loc="left", size=10, color=LOOKS[k][0], weight="bold", pad=16)
        axes.set_xlabel("")
        _open_bar(axes, records[k], cylinder, LOOKS[k][0])
        if k:
            axes.set_ylabel("")
            bar = figure.colorbar(mesh, cax=place(_RIGHT + 0.012, _RIGHT + 0.024, _HEAD, _MAP))
            bar.set_label(f"pressure about its mean, {shown.symbol}", color=GREY, size=9)
            bar.ax.tick_params(labelsize=9, color=GREY)
            bar.outline.set_edgecolor(GREY)
    trace = place(_LEFT, _RIGHT, _HEAD + _MAP + _GAP, _TRACE)
    tidy(trace)
    for k, ((degrees, p), record) in enumerate(zip(drawn, records, strict=True)):
        colour, dash, _ = LOOKS[k]
        trace.plot(
            degrees, shown.of(p[0]), color=colour, linestyle=dash, linewidth=1.8, label=names[k]
        )
        _events(trace, record, cylinder, colour, names[k][:1], k)
    trace.legend(loc="upper right", fontsize=9, edgecolor="none", framealpha=0.85)
    trace.set_ylabel(f"at the intake valve, {shown.symbol}", color=GREY)
    crank_axis(trace, strokes=False)
    return figure


def _tract(record: CycleRecord, cylinder: int) -> Tract:
    for tract in record.tracts:
        if tract.side == "intake" and tract.cylinder == cylinder:
            return tract
    raise ResultError(
        f"record at {record.rpm:g} rpm: found no traces of the intake of cylinder {cylinder + 1}"
    )


def _opening(record: CycleRecord, cylinder: int) -> tuple[np.ndarray, np.ndarray] | None:
    """Crank angle of the cylinder [deg], and whether its intake valve is open there."""
    if record.intake_lift is None:
        return None
    angle, lift = record.of_cylinder("intake_lift", cylinder)
    return angle * _DEGREE, lift > OPEN


def _open_bar(axes: Axes, record: CycleRecord, cylinder: int, colour: str) -> None:
    found = _opening(record, cylinder)
    if found is None:
        return
    degrees, is_open = found
    axes.fill_between(
        degrees, 0.0, 0.022, where=is_open.tolist(), transform=axes.get_xaxis_transform(),
        color=colour, linewidth=0, zorder=3,
    )  # fmt: skip


def _events(
    axes: Axes, record: CycleRecord, cylinder: int, colour: str, letter: str, row: int
) -> None:
    found = _opening(record, cylinder)
    if found is None:
        return
    degrees, is_open = found
    steps = np.diff(is_open.astype(int))
    for event, mark in ((1, "IO"), (-1, "IC")):
        for i in np.flatnonzero(steps == event):
            at = float(degrees[i + (event == 1)])
            axes.axvline(at, color=colour, linewidth=1.0, linestyle=(0, (3, 2)))
            axes.annotate(
                f"{letter} {mark}", (at, 1.0), xycoords=("data", "axes fraction"),
                xytext=(0, 2 + 10 * row), textcoords="offset points", ha="center", va="bottom",
                size=9, color=colour,
            )  # fmt: skip
