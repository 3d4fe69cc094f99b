"""The card against itself, and against the valves."""

from __future__ import annotations

import math
from itertools import pairwise
from types import SimpleNamespace
from typing import TYPE_CHECKING, Final

from enginesim.base.errors import CaseError
from enginesim.base.units import shown
from enginesim.case.cam import OVERHEAD
from enginesim.case.defaults.cam import MOST_LASH, SAME_HEIGHT, measured_lift
from enginesim.case.head import MOST_LIFT
from enginesim.lobe.follower import FACE_DIAMETER

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case.draft import Draft

_PRINTED_TO: Final = math.radians(1.0)  # cards are rounded to whole degrees
_FACE_STEP: Final = 0.001 * 0.0254  # a face that is needed is told a little too large [m]
_HIGHEST_NEEDED: Final = 0.055 * 0.0254  # a lobe needs one duration near its foot
_EVENTS: Final = {
    "intake_opens": "IO",
    "intake_closes": "IC",
    "exhaust_opens": "EO",
    "exhaust_closes": "EC",
}


def _durations(side: str) -> Callable[[Draft], None]:
    def check(draft: Draft) -> None:
        path = f"cam.{side}.durations"
        pairs = draft.get(path)
        if not pairs:
            return
        given = pairs[1:] if path in draft.assumed else pairs  # the seat may be a default
        lift = draft.get(f"cam.{side}.lobe_lift")
        if draft.get(f"cam.{side}.measured_at") == "valve":  # above the lash, which comes first
            lift = draft.get(f"cam.{side}.valve_lift") - draft.get(f"cam.{side}.lash")
        for height, duration in given:
            if not 0 < height < 0.9 * lift:
                found = f"{shown(duration, 'deg')} at {shown(height, 'in')}"
                allowed = f"heights above 0 and below the lift of {shown(lift, 'in')}"
                draft.report(path, found, allowed)
        for (low, longer), (high, shorter) in pairwise(pairs):
            if high - low < SAME_HEIGHT:
                found = f"two durations at {shown(low, 'in')}"
                draft.report(path, found, "one duration for each height")
            elif shorter >= longer:
                found = (
                    f"{shown(shorter, 'deg')} at {shown(high, 'in')} and "
                    f"{shown(longer, 'deg')} at {shown(low, 'in')}"
                )
                hint = "a lobe is narrower higher up; are the two exchanged?"
                draft.report(path, found, "durations that fall as the height rises", hint)
        if given and given[0][0] > _HIGHEST_NEEDED:
            found = f"{shown(given[0][0], 'in')} as the lowest checking height"
            draft.report(path, found, "one at 0.050 in, 1 mm or lower")

    return check


def _lift(side: str) -> Callable[[Draft], None]:
    def check(draft: Draft) -> None:
        lobe = f"cam.{side}"
        valve, nose = draft.get(f"{lobe}.valve_lift"), draft.get(f"{lobe}.lobe_lift")
        ratio = draft.get(f"{lobe}.rocker_ratio")
        implied = nose * ratio
        both = draft.given(f"{lobe}.valve_lift") and draft.given(f"{lobe}.lobe_lift")
        if both and abs(valve / implied - 1) > 0.005:
            found = f"{shown(valve, 'in')} at the valve, {shown(implied, 'in')} implied by the lobe"
            allowed = f"lobe lift {shown(nose, 'in')} x rocker ratio {ratio:g}"
            hint = f"a ratio of {valve / nose:.3g} would agree"
            far = abs(valve / implied - 1) > 0.03
            (draft.report if far else draft.warn)(f"{lobe}.valve_lift", found, allowed, hint)
        diameter = draft.get(f"head.{side}.valve_diameter")
        part = valve / diameter
        found = f"{shown(valve, 'in')}, {part:.2f} x the valve of {shown(diameter, 'in')}"
        if part > MOST_LIFT * (1 + 1e-12):
            hint = "is it in the unit that is meant?"
            draft.report(f"{lobe}.valve_lift", found, "up to 0.5 x diameter", hint)
        elif part > 0.40 or part < 0.12:
            draft.warn(f"{lobe}.valve_lift", found, "usually 0.2 to 0.35 x diameter")
        lash = draft.get(f"{lobe}.lash")
        if lash > MOST_LASH * valve * (1 + 1e-12):
            draft.report(f"{lobe}.lash", shown(lash, "in"), "less than a fifth of the lift")

    return check


def _beyond_sheet(side: str) -> Callable[[Draft], None]:
    def check(draft: Draft) -> None:
        if not draft.given(f"head.{side}.sheet.lift"):
            return
        top = max(draft.get(f"head.{side}.sheet.lift"))
        valve = draft.get(f"cam.{side}.valve_lift")
        if valve > 1.1 * top:
            found = f"{shown(valve, 'in')}, the flow sheet ends at {shown(top, 'in')}"
            hint = "flow beyond the sheet is taken as level"
            draft.warn(f"cam.{side}.valve_lift", found, "a lift on the sheet", hint)

    return check


def _hydraulic_lash(side: str) -> Callable[[Draft], None]:
    def check(draft: Draft) -> None:
        lash, lifter = draft.get(f"cam.{side}.lash"), draft.get("cam.lifter")
        if "hydraulic" in lifter and lash > 0:
            draft.warn(f"cam.{side}.lash", shown(lash, "in"), "0 with a hydraulic lifter")

    return check


def _table(side: str) -> Callable[[Draft], None]:
    def check(draft: Draft) -> None:
        table = f"cam.{side}.lift_table"
        if not draft.given_under(table):
            return
        angles, lifts = draft.get(f"{table}.angle"), draft.get(f"{table}.lift")
        if len(angles) != len(lifts) or len(angles) < 9:
            found = f"{len(angles)} angles and {len(lifts)} lifts"
            draft.report(f"{table}.lift", found, "as many of both, nine or more")
            return
        if any(b <= a for a, b in pairwise(angles)):
            draft.report(f"{table}.angle", "angles that do not rise", "ascending angles")
        if max(lifts[0], lifts[-1]) > 0.02 * max(lifts):
            found = f"{shown(max(lifts[0], lifts[-1]), 'in')} at an end"
            draft.report(f"{table}.lift", found, "a closed valve at both ends")
        _lift_beside(draft, side)
        if draft.given(f"cam.{side}.durations"):
            hint = "the lift table says both"
            draft.report(f"cam.{side}.durations", "durations beside a lift table", "one of them",
                         hint)  # fmt: skip

    return check


def _followed(side: str) -> Callable[[Draft], None]:
    """Whether there is a lobe with the card's numbers, and whether its follower stays on it."""

    def check(draft: Draft) -> None:
        path = f"cam.{side}.durations"
        # numpy, which a card that is wrong anyway need not wait for
        if draft.problems or not draft.get(path):
            return
        from enginesim.lobe.shape import card_lobe

        names = ("durations", "measured_at", "lobe_lift", "rocker_ratio", "lash")
        card = SimpleNamespace(**{name: draft.get(f"cam.{side}.{name}") for name in names})
        lifter, face = draft.get("cam.lifter"), draft.get("cam.face_diameter")
        try:
            lobe = card_lobe(card, lifter, face, path=f"cam.{side}")
        except CaseError as error:
            for problem in error.problems:
                draft.report(problem.path, problem.found, problem.allowed, problem.hint)
            return
        if not lobe.is_within_limit:
            found = f"{shown(lobe.lobe_lift, 'in')} of lobe lift in these durations"
            kind = lifter if lifter == "bucket" else f"{lifter} lifter"
            allowed = f"what a {kind} with a face of {shown(face, 'in')} can follow"
            needed = math.ceil(lobe.face_needed / _FACE_STEP) * _FACE_STEP
            hint = (
                f"the lobe runs off the edge of the face: it takes one of {shown(needed, 'in')}, "
                "or a roller; results are as with that"
            )
            draft.warn(path, found, allowed, hint)

    return check


def _lift_beside(draft: Draft, side: str) -> None:
    """A lift that was given beside the table: it is looked at, but the table is run."""
    lobe, measured = f"cam.{side}", measured_lift(draft, side)
    ratio = draft.get(f"{lobe}.rocker_ratio")
    for name, factor in (("valve_lift", 1.0), ("lobe_lift", ratio)):
        lift = draft.maybe(f"{lobe}.{name}")
        if lift is not None and abs(lift * factor / measured - 1) > 0.03:
            found = f"{shown(lift, 'in')} beside a lift table"
            allowed = f"{shown(measured / factor, 'in')}, top and lash of the table, or no lift"
            draft.report(f"{lobe}.{name}", found, allowed, "the lift table says both")


def _centreline(draft: Draft) -> None:
    separation, centre = draft.get("cam.lobe_separation"), draft.get("cam.intake_centreline")
    advance = draft.maybe("cam.advance")
    if advance is not None and abs(separation - centre - advance) > math.radians(0.25):
        found = f"{math.degrees(advance):g} deg, {math.degrees(separation - centre):g} implied"
        agreeing = math.degrees(separation - advance)
        hint = f"give one of the two; cam.intake_centreline={agreeing:.6g} would agree"
        draft.report("cam.advance", found, "lobe separation less intake centerline", hint)
    if abs(separation - centre) > math.radians(15):
        found = f"{math.degrees(centre):g} deg with a separation of {math.degrees(separation):g}"
        draft.warn("cam.intake_centreline", found, "usually within 8 deg of the separation")


def _printed_events(draft: Draft) -> None:
    """Events on the card against durations, separation and centreline."""
    if not draft.given_under("cam.events"):
        return
    height = draft.get("cam.events.height")
    intake = _at(draft.get("cam.intake.durations"), height)
    exhaust = _at(draft.get("cam.exhaust.durations"), height)
    if intake is None or exhaust is None:
        found = f"events at {shown(height, 'in')}"
        hint = "give a duration at that height to have them compared"
        draft.warn("cam.events.height", found, "a height with a duration", hint)
        return
    centre = draft.get("cam.intake_centreline")
    other = 2 * draft.get("cam.lobe_separation") - centre
    implied = (
        0.5 * intake - centre,
        0.5 * intake + centre - math.pi,
        0.5 * exhaust + other - math.pi,
        0.5 * exhaust - other,
    )
    for (name, short), value in zip(_EVENTS.items(), implied, strict=True):
        printed = draft.maybe(f"cam.events.{name}")
        if printed is not None and abs(printed - value) > _PRINTED_TO * (1 + 1e-9):
            found = (
                f"{short} {math.degrees(printed):.4g} printed, {math.degrees(value):.4g} implied"
            )
            allowed = "what durations, lobe separation and intake centreline imply, within 1 deg"
            hint = "the card contradicts itself: a misprint, or another checking height"
            note = draft.warn if draft.document.is_lenient else draft.report
            note(f"cam.events.{name}", found, allowed, hint)


def _at(pairs: tuple[tuple[float, float], ...], height: float) -> float | None:
    return next((d for h, d in pairs if abs(h - height) < SAME_HEIGHT), None)


def _lifter_fits(draft: Draft) -> None:
    lifter, kind = draft.get("cam.lifter"), draft.get("head.valvetrain")
    overhead = lifter in OVERHEAD
    if overhead and kind == "ohv":
        draft.report("cam.lifter", repr(lifter), "a lifter that moves a push rod, with ohv")
    if not overhead and kind == "dohc":
        draft.warn("cam.lifter", repr(lifter), "usually bucket or finger with two cams overhead")
    if draft.given("cam.face_diameter") and lifter not in FACE_DIAMETER:
        found = shown(draft.get("cam.face_diameter"), "in")
        draft.warn("cam.face_diameter", found, f"none: a {lifter} has no flat face")


CHECKS = (
    *(make(side) for side in ("intake", "exhaust") for make in (_durations, _lift, _beyond_sheet,
                                                                _hydraulic_lash, _table,
                                                                _followed)),
    _centreline,
    _printed_events,
    _lifter_fits,
)  # fmt: skip
