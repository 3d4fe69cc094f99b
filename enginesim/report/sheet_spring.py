"""Valve springs as a sheet: force there is against force needed, and how near the coils are."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from enginesim.report.sheet_cautions import cautions
from enginesim.report.sheet_page import Page
from enginesim.report.table import Table
from enginesim.report.units import SCALES, signed
from enginesim.valvetrain.spring import LEAST_TO_BIND
from enginesim.workshop.springs import CUSTOMARY_RESERVE, LOAD_BAND, LOBE_BAND

if TYPE_CHECKING:
    from collections.abc import Callable

    from matplotlib.axes import Axes

    from enginesim.case import Case
    from enginesim.report.units import System
    from enginesim.workshop.springs import SpringSide

SPEEDS: Final = (4000.0, 5000.0, 5500.0, 6000.0, 6500.0, 7000.0, 7500.0)
_HYDRAULIC_GUIDE: Final = (
    "Hydraulic lifters are by custom kept below about 6,500 rpm, whatever the springs; good parts "
    "have gone to 7,500 and more (trade press)."
)


_HIGH_RATIO: Final = (
    "A larger rocker ratio asks for more spring. On the same lobe the valve's acceleration grows "
    "with the ratio; the spring, compressed further, gives more force too, so the figure for a "
    "rigid train hardly moves. Flexing of push rod and lifter counts with the square of the ratio: "
    "more force must be kept to spare, and the limit falls."
)


def spring_page(sides: tuple[SpringSide, SpringSide], case: Case, system: System) -> Page:
    """
    Sheet of the valve springs.

    Parameters
    ----------
    sides : tuple of SpringSide
        Intake and exhaust.
    case : Case
        The engine.
    system : {"us", "si"}
        Units.

    Returns
    -------
    Page
        Ready for a screen or paper.
    """
    notes = [note for side in sides for note in _notes(side, system)]
    notes.append(
        f"Bands: masses as typed or assumed, loads {100 * LOAD_BAND:.0f} % unless typed, and "
        f"{100 * LOBE_BAND:.0f} % for the deceleration over a nose that was fitted to a card "
        "(estimates, 1 sigma). The train is taken as rigid."
    )
    if any(side.spare > CUSTOMARY_RESERVE + 1e-9 for side in sides):
        notes.append(_HIGH_RATIO)
    if "hydraulic" in case.cam.lifter:
        notes.append(_HYDRAULIC_GUIDE)
    return Page(
        kind="spring",
        title="Valve springs",
        engine=case.name,
        tables=(_springs(sides, system), _speeds(sides, system)),
        notes=tuple(notes),
        cautions=cautions("spring"),
        draw=lambda axes: _draw(axes, sides, system),
    )


def _springs(sides: tuple[SpringSide, SpringSide], system: System) -> Table:
    scales = SCALES[system]

    def row(name: str, value: Callable[[SpringSide], float | None], kind: str) -> tuple[str, ...]:
        found = [value(side) for side in sides]
        return (name, *("not given" if v is None else scales[kind].with_unit(v) for v in found))

    def speed(value: float | None, band: float | None) -> str:
        if value is None or band is None:
            return "not checked"
        return f"{value:.0f} +- {band:.0f} rpm" if math.isfinite(value) else "no limit"

    rows = (
        ("moving mass at the valve", *(f"{1e3 * s.mass:.0f} +- {1e3 * s.mass_band:.0f} g"
                                       for s in sides)),
        row("valve lift, net", lambda s: s.lift, "length"),
        row("load on the seat", lambda s: s.seat_force, "force"),
        row("load at full lift", lambda s: s.open_force, "force"),
        row("rate", lambda s: s.rate, "spring rate"),
        row("travel left to coil bind", lambda s: s.to_bind, "length"),
        ("rigid train leaves the cam at", *(speed(s.limit, s.limit_band) for s in sides)),
        ("force to spare, for flexing and surge", *(f"{100 * s.spare:.0f} %" for s in sides)),
        (
            "limit with that to spare",
            *("not checked" if s.usable is None else f"{_below(s.usable)} rpm" for s in sides),
        ),
    )  # fmt: skip
    return Table("Springs", ("", "intake", "exhaust"), ("", "", ""), rows, is_numeric=False)


def _speeds(sides: tuple[SpringSide, SpringSide], system: System) -> Table:
    force = SCALES[system]["force"]
    rows = []
    for rpm in SPEEDS:
        cells = [f"{rpm:.0f}"]
        for side in sides:
            reserve = side.reserve(rpm)
            cells += [
                force.text(side.needed(rpm)),
                "-" if reserve is None else signed(100 * (reserve - 1)),
            ]
        rows.append(tuple(cells))
    labels = ("speed", "intake needs", "to spare", "exhaust needs", "to spare")
    units = ("rpm", force.symbol, "%", force.symbol, "%")
    return Table("Greatest force that holds the valve to the cam", labels, units, tuple(rows))


def _below(rpm: float) -> str:
    """Speed rounded down to 50 rpm: nobody can hold a limit more closely."""
    return f"{50 * math.floor(rpm / 50):.0f}" if math.isfinite(rpm) else "any"


def _notes(side: SpringSide, system: System) -> tuple[str, ...]:
    length = SCALES[system]["length"]
    name = side.side.capitalize()
    if side.limit is None:
        notes = [
            f"{name}: valve control NOT CHECKED. Give valve_gear.{side.side}.seat_load with "
            "open_load or rate, as on the spring's card."
        ]
    elif side.limit_band is None or side.usable is None or math.isinf(side.limit):
        notes = [f"{name}: nothing slows this valve."]
    else:
        notes = [
            f"{name}: take {_below(side.usable)} rpm or less as the limit. The spring just holds a "
            f"rigid train at {side.limit:.0f} +- {side.limit_band:.0f} rpm."
        ]
    if side.to_bind is not None and side.to_bind < LEAST_TO_BIND:
        spare = length.with_unit(side.to_bind)
        notes.append(
            f"{name}: only {spare} to coil bind, customary is {length.with_unit(LEAST_TO_BIND)}."
        )
    return tuple(notes)


def _draw(axes: Axes, sides: tuple[SpringSide, SpringSide], system: System) -> None:
    import numpy as np

    from enginesim.report.drawing import BLUE, GREY, HALO, VERMILLION

    force, side = SCALES[system]["force"], sides[0]
    theta = np.degrees(side.theta)
    highest = 0.0
    for rpm in (4000.0, 5000.0, 6000.0, 7000.0):
        need = force.of(side.mass * side.slowing * (rpm * math.pi / 30) ** 2)
        axes.plot(theta, need, color=GREY, linewidth=1.0)
        i = int(np.argmax(need))
        axes.annotate(f"{rpm:.0f} rpm", (theta[i], need[i]), (0, 2), ha="center", size=8,
                      textcoords="offset points", color=GREY, path_effects=HALO)  # fmt: skip
        highest = max(highest, float(need.max()))
    if side.seat_force is not None and side.rate is not None:
        there = force.of(side.seat_force + side.rate * side.travel)
        axes.plot(theta, there, color=BLUE, linewidth=2.0)
        axes.annotate("spring, intake", (theta[len(theta) // 6], there[len(theta) // 6]), (-4, 6),
                      textcoords="offset points", color=BLUE, size=9, ha="right")  # fmt: skip
        highest = max(highest, float(there.max()))
    else:
        axes.text(0.02, 0.94, "no spring given", transform=axes.transAxes, color=VERMILLION,
                  size=10, va="top")  # fmt: skip
    axes.set_ylim(0, 1.1 * highest)
    axes.set_xlabel("crank angle from the centre of the intake lobe [deg]")
    axes.set_ylabel(f"force [{force.symbol}]")
