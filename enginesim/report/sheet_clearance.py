"""Valve to piston as a sheet: how near, where, and how far the cam may be moved."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from enginesim.report.sheet_cautions import cautions
from enginesim.report.sheet_page import Page
from enginesim.report.table import Table
from enginesim.report.units import SCALES, signed
from enginesim.workshop.piston_room import CHANGES

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from enginesim.case import Case
    from enginesim.report.units import System
    from enginesim.workshop.piston_room import ValveRoom


def clearance_page(rooms: tuple[ValveRoom, ValveRoom], case: Case, system: System) -> Page:
    """
    Sheet of piston-to-valve clearance.

    Parameters
    ----------
    rooms : tuple of ValveRoom
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
    return Page(
        kind="clearance",
        title="Lift and piston-to-valve clearance",
        engine=case.name,
        tables=(_valves(rooms, case, system), _changes(rooms, system)),
        notes=tuple(note for room in rooms for note in _notes(room, system)),
        cautions=cautions("clearance"),
        draw=lambda axes: _draw(axes, rooms, system),
    )


def _place(angle: float) -> str:
    degrees = math.degrees(angle)
    return f"{abs(degrees):.0f} deg {'after' if degrees >= 0 else 'before'} TDC"


def _valves(rooms: tuple[ValveRoom, ValveRoom], case: Case, system: System) -> Table:
    length = SCALES[system]["length"]

    def row(name: str, values: list[float | None], gap: str = "not given") -> tuple[str, ...]:
        return (name, *(gap if v is None else length.with_unit(v) for v in values))

    angles = (case.clearances.intake_inclination, case.clearances.exhaust_inclination)
    rows = (
        row("valve lift, net", [room.lift for room in rooms]),
        ("stem from the bore's axis", *(f"{math.degrees(a):.0f} deg" for a in angles)),
        row("room at TDC, valve shut (measured)", [room.drop for room in rooms]),
        row("room that the minimum needs", [room.needed_drop for room in rooms]),
        row("least clearance", [room.clearance for room in rooms], "not checked"),
        ("where", *(_place(room.angle) for room in rooms)),
        row(f"customary minimum, {case.clearances.rods} rods", [room.least for room in rooms]),
    )
    return Table("Valves", ("", "intake", "exhaust"), ("", "", ""), rows, is_numeric=False)


def _changes(rooms: tuple[ValveRoom, ValveRoom], system: System) -> Table:
    length = SCALES[system]["length"]
    known = all(room.drop is not None for room in rooms)
    rows = []
    for i, change in enumerate(CHANGES):
        cells = []
        for room in rooms:
            taken = room.changes[i]
            value = room.drop - taken if room.drop is not None and known else taken + room.least
            short = known and value < room.least
            cells.append(length.text(value) + ("*" if short else ""))
        rows.append((signed(math.degrees(change)), *cells))
    title = (
        "Clearance with the cam moved (* below the customary minimum)"
        if known
        else "Room at TDC that the customary minimum needs, with the cam moved"
    )
    symbol = length.symbol
    return Table(title, ("advance", "intake", "exhaust"), ("deg", symbol, symbol), tuple(rows))


def _notes(room: ValveRoom, system: System) -> tuple[str, ...]:
    length = SCALES[system]["length"]
    wrong = "advanced" if room.side == "intake" else "retarded"
    right = "retard" if room.side == "intake" else "advance"
    if room.clearance is None or room.change_left is None:
        return (
            f"{room.side.capitalize()}: clearance NOT CHECKED. Measure how far the shut valve can "
            f"drop at top dead centre and give it as clearances.{room.side}_drop; "
            f"{length.with_unit(room.needed_drop)} or more keeps the customary minimum.",
        )
    if room.clearance < 0:
        return (
            f"{room.side.capitalize()}: THE VALVE MEETS THE PISTON, "
            f"by {length.with_unit(-room.clearance)}, {_place(room.angle)}.",
        )
    least = length.with_unit(room.least)
    if math.isnan(room.change_left):
        return (f"{room.side.capitalize()}: within 40 deg of change the minimum is not met.",)
    left = math.degrees(room.change_left)
    if left < 0:
        return (
            f"{room.side.capitalize()}: {length.with_unit(room.clearance)} is less than the "
            f"customary {least}; {-left:.1f} deg of {right} would restore it.",
        )
    return (
        f"{room.side.capitalize()}: the cam may be {wrong} by {left:.1f} deg until the customary "
        f"{least} is reached.",
    )


def _draw(axes: Axes, rooms: tuple[ValveRoom, ValveRoom], system: System) -> None:
    import numpy as np

    from enginesim.report.drawing import BLUE, GREY, HALO, VERMILLION

    length = SCALES[system]["length"]
    known = all(room.drop is not None for room in rooms)
    for room, colour, dash in zip(rooms, (BLUE, VERMILLION), ("-", "--"), strict=True):
        theta = np.degrees(room.theta)
        if known and room.drop is not None:
            shown = length.of(room.drop - room.path)
            axes.axhline(float(length.of(room.least)), color=colour, linestyle=":", linewidth=1.0)
            mark = length.of(room.drop + room.least - room.needed_drop)
        else:
            shown = length.of(room.path)
            mark = length.of(room.needed_drop - room.least)
        axes.plot(theta, shown, color=colour, linestyle=dash, linewidth=1.8, label=room.side)
        axes.plot([math.degrees(room.angle)], [mark], "o", color=colour, markersize=5)
        text = f"{room.side} {float(mark):.3f}"
        away = (8, -12) if room.side == "intake" else (-8, -12)
        side = "left" if room.side == "intake" else "right"
        axes.annotate(text, (math.degrees(room.angle), float(mark)), away, ha=side,
                      textcoords="offset points", color=colour, size=9,
                      path_effects=HALO)  # fmt: skip
    axes.axvline(0, color=GREY, linewidth=0.8)
    axes.set_xlim(-40, 40)
    near = np.abs(np.degrees(rooms[0].theta)) <= 40
    paths = np.concatenate([room.path[near] for room in rooms])
    if known:
        tops = [room.drop for room in rooms if room.drop is not None]
        axes.set_ylim(min(0.0, float(length.of(min(tops) - paths.max()))) - 0.02 * _unit(system),
                      float(length.of(max(tops) - paths.min())))  # fmt: skip
        axes.set_ylabel(f"clearance [{length.symbol}]")
    else:
        axes.set_ylim(float(length.of(max(paths.min(), -0.012))),
                      1.25 * float(length.of(paths.max())))  # fmt: skip
        axes.set_ylabel(f"room taken at TDC [{length.symbol}]")
    axes.set_xlabel("crank angle after top dead centre of gas exchange [deg]")


def _unit(system: System) -> float:
    return 1.0 if system == "us" else 25.4
