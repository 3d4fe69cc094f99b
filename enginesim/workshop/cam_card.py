"""
What does the whole cam card say, at every checking height, and where does it contradict itself?

Source: definition of the terms of the trade; docs/theory/valvetrain.md, equations 1 to 3.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from enginesim.base.constants import CYCLE_ANGLE
from enginesim.base.errors import CaseError
from enginesim.valvetrain import lift_curves
from enginesim.valvetrain.card import PRINT_TOLERANCE, Events, advance, exhaust_centreline

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.valvetrain import LiftCurves
    from enginesim.valvetrain.motion import ValveMotion

_INCH: Final = 0.0254
#: Heights at which cams are compared, besides those of the card itself.
USUAL_HEIGHTS: Final = tuple(h * _INCH for h in (0.006, 0.020, 0.050, 0.100, 0.200))
_SAME_HEIGHT: Final = 2e-5  # a metric and an inch card round differently [m]
_LIMITS: Final = (0.006 * _INCH, 0.050 * _INCH)


@dataclass(frozen=True, slots=True)
class CardRow:
    """
    Events at one checking height.

    Attributes
    ----------
    height : float
        Rise of the lifter, or of the valve where the card is measured there. [m]
    is_given : bool
        Whether the card has durations at that height; the others follow from the lobe that was
        fitted to it.
    events : Events
        The four events.
    """

    height: float
    is_given: bool
    events: Events


@dataclass(frozen=True, slots=True)
class Contradiction:
    """
    A printed event that the rest of the card does not agree with.

    Attributes
    ----------
    name : str
        ``IO``, ``IC``, ``EO`` or ``EC``.
    printed, implied : float
        As printed, and as durations, separation and centreline give it. [rad]
    duration : float
        Duration of that lobe that would agree with the printed event, all else kept. [rad]
    centreline : float
        Centreline of that lobe that would. [rad]
    """

    name: str
    printed: float
    implied: float
    duration: float
    centreline: float


@dataclass(frozen=True, slots=True)
class CamCard:
    """
    A cam card, complete.

    Attributes
    ----------
    rows : tuple of CardRow
        From the lowest checking height up.
    lobe_separation, intake_centreline, exhaust_centreline, advance : float
        Ground in and installed; the exhaust centreline is before top dead centre. [rad]
    spread : tuple of float or None
        Duration at 0.006 in less that at 0.050 in, intake and exhaust. [rad]
    lift_at_top : tuple of float
        Valve lift at the top dead centre of gas exchange, intake and exhaust. [m]
    net_lift : tuple of float
        Valve lift less lash. [m]
    contradictions : tuple of Contradiction
        Where a printed event disagrees.
    curves : LiftCurves
        The lifts.
    """

    rows: tuple[CardRow, ...]
    lobe_separation: float
    intake_centreline: float
    exhaust_centreline: float
    advance: float
    spread: tuple[float, float] | None
    lift_at_top: tuple[float, float]
    net_lift: tuple[float, float]
    contradictions: tuple[Contradiction, ...]
    curves: LiftCurves


def cam_card(case: Case) -> CamCard:
    """
    Everything that follows from a case's cam card.

    Parameters
    ----------
    case : Case
        Loaded leniently, if its card may contradict itself.

    Returns
    -------
    CamCard
        Events at the heights of the card and at the usual ones, and the contradictions.

    Raises
    ------
    CaseError
        If no lobe can have the numbers given.
    """
    cam, curves = case.cam, lift_curves(case)
    rows = tuple(_rows(case, curves))
    half = 0.5 * CYCLE_ANGLE
    motions = (curves.intake_motion, curves.exhaust_motion)
    return CamCard(
        rows=rows,
        lobe_separation=cam.lobe_separation,
        intake_centreline=cam.intake_centreline,
        exhaust_centreline=exhaust_centreline(cam.lobe_separation, cam.intake_centreline),
        advance=advance(cam.lobe_separation, cam.intake_centreline),
        spread=_spread(rows),
        lift_at_top=(float(motions[0].lift(half)), float(motions[1].lift(half))),
        net_lift=(motions[0].peak, motions[1].peak),
        contradictions=_contradictions(case, rows),
        curves=curves,
    )


def _rows(case: Case, curves: LiftCurves) -> list[CardRow]:
    given = [height for lobe in (case.cam.intake, case.cam.exhaust) for height, _ in lobe.durations]
    if case.cam.events is not None:
        given.append(case.cam.events.height)
    heights: list[float] = []
    for height in (*given, *USUAL_HEIGHTS):
        if all(abs(height - other) > _SAME_HEIGHT for other in heights):
            heights.append(height)
    rows = []
    for height in sorted(heights):
        at = case.cam.intake.measured_at
        try:
            events = events_at(curves.intake_motion, curves.exhaust_motion, height, at)
        except CaseError:
            continue  # a small lobe does not reach every usual height
        is_given = any(abs(height - own) <= _SAME_HEIGHT for own in given)
        rows.append(CardRow(height, is_given, events))
    return rows


def events_at(intake: ValveMotion, exhaust: ValveMotion, height: float, at: str) -> Events:
    """
    The four events of two valves at a checking height.

    Parameters
    ----------
    intake, exhaust : ValveMotion
        Of one cylinder.
    height : float
        Checking height. [m]
    at : str
        ``lifter`` or ``valve``. [-]

    Returns
    -------
    Events
        On the sides of the dead centres where cards have them.

    Raises
    ------
    CaseError
        If a lift does not pass the height.
    """
    opens_in, closes_in = intake.events(height, at)
    opens_ex, closes_ex = exhaust.events(height, at)
    if not (closes_in > opens_in and closes_ex > opens_ex):
        raise CaseError([])
    return Events(
        io=2 * math.pi - opens_in,
        ic=closes_in - 3 * math.pi,
        eo=math.pi - opens_ex,
        ec=closes_ex - 2 * math.pi,
    )


def _spread(rows: tuple[CardRow, ...]) -> tuple[float, float] | None:
    """Seat to 0.050 in, of both lobes."""
    found = [
        row.events for limit in _LIMITS for row in rows if abs(row.height - limit) <= _SAME_HEIGHT
    ]
    if len(found) != len(_LIMITS):
        return None
    low, high = found
    return (
        low.duration_intake - high.duration_intake,
        low.duration_exhaust - high.duration_exhaust,
    )


def _contradictions(case: Case, rows: tuple[CardRow, ...]) -> tuple[Contradiction, ...]:
    printed = case.cam.events
    if printed is None:
        return ()
    row = next(row for row in rows if abs(row.height - printed.height) <= _SAME_HEIGHT)
    implied, cam = row.events, case.cam
    centre = {"I": cam.intake_centreline,
              "E": exhaust_centreline(cam.lobe_separation, cam.intake_centreline)}  # fmt: skip
    durations = {"I": implied.duration_intake, "E": implied.duration_exhaust}
    # Printed event, implied event, and what a centreline later by one degree does to it.
    events = {
        "IO": (printed.intake_opens, implied.io, -1.0),
        "IC": (printed.intake_closes, implied.ic, 1.0),
        "EO": (printed.exhaust_opens, implied.eo, 1.0),
        "EC": (printed.exhaust_closes, implied.ec, -1.0),
    }
    return tuple(
        Contradiction(
            name=name,
            printed=event,
            implied=wanted,
            duration=durations[name[0]] + 2.0 * (event - wanted),
            centreline=centre[name[0]] + sign * (event - wanted),
        )
        for name, (event, wanted, sign) in events.items()
        if event is not None and abs(event - wanted) > PRINT_TOLERANCE * (1 + 1e-9)
    )
