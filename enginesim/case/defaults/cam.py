"""Cam: what the card leaves out."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from enginesim.base.units import shown
from enginesim.case.draft import GIVES_WAY, Default
from enginesim.case.quantities import bounds
from enginesim.lobe.follower import FACE_DIAMETER

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case.draft import Draft

_INCH: Final = 0.0254
#: Part of the valve lift that the lash may take.
MOST_LASH: Final = 0.2
#: Checking heights that differ by less are the same. [m]
SAME_HEIGHT: Final = 1e-5
_SEAT_HEIGHT: Final = 0.006 * _INCH
_KNOWN_SEAT: Final = 0.021 * _INCH  # a card with a lower checking height needs no default
_SEAT_SPREAD: Final = {"solid flat": math.radians(38)}
_USUAL_SPREAD: Final = math.radians(46)
_SPREAD_HEIGHT: Final = 0.050 * _INCH
_LASH: Final = {"solid flat": 0.020, "solid roller": 0.020, "bucket": 0.008}
_RATIO: Final = {"bucket": 1.0, "finger": 1.6}


def usual_ratio(lifter: str) -> float:
    """
    Rocker ratio that goes with a lifter.

    Parameters
    ----------
    lifter : str
        Value of ``cam.lifter``. [-]

    Returns
    -------
    float
        Valve lift over lobe lift. [-]
    """
    return _RATIO.get(lifter, 1.5)


def _lifter(draft: Draft) -> Default:
    kinds = {"ohv": "hydraulic flat", "sohc": "finger", "dohc": "bucket"}
    return Default(kinds[draft.get("head.valvetrain")])


def _face_diameter(draft: Draft) -> Default:
    return Default(FACE_DIAMETER.get(draft.get("cam.lifter")))


def _intake_centreline(draft: Draft) -> Default:
    separation = draft.get("cam.lobe_separation")
    if draft.given("cam.advance"):
        return Default(separation - draft.get("cam.advance"), implied=True)
    opens, closes = (draft.maybe(f"cam.events.intake_{event}") for event in ("opens", "closes"))
    if opens is not None and closes is not None:
        return Default(0.5 * (math.pi + closes - opens), implied=True)
    opens, closes = (draft.maybe(f"cam.events.exhaust_{event}") for event in ("opens", "closes"))
    if opens is not None and closes is not None:
        return Default(2 * separation - 0.5 * (math.pi + opens - closes), implied=True)
    return Default(separation - math.radians(4))


def _measured_at(draft: Draft) -> Default:
    at_valve = draft.get("cam.lifter") in ("bucket", "finger")
    return Default("valve" if at_valve else "lifter")


def _rocker_ratio(side: str) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        valve, nose = (draft.maybe(f"cam.{side}.{lift}_lift") for lift in ("valve", "lobe"))
        low, high = bounds(draft.field(f"cam.{side}.rocker_ratio").facts)
        if valve is not None and nose is not None and low <= valve / nose <= high:
            return Default(valve / nose, implied=True)
        return Default(usual_ratio(draft.get("cam.lifter")))

    return rule


def _lash(side: str) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        usual = _LASH.get(draft.get("cam.lifter"), 0.0) * _INCH
        table = f"cam.{side}.lift_table"
        if draft.given_under(table):  # the lift of the table is what the lash leaves
            lift = max(draft.get(f"{table}.lift"))
        else:
            lift = draft.get(f"cam.{side}.valve_lift")
        most = MOST_LASH * lift
        if usual <= most:
            return Default(usual)
        return Default(most, source=GIVES_WAY.format(shown(usual, "in")))

    return rule


def _durations(side: str) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        lobe = f"cam.{side}"
        if draft.given_under(f"{lobe}.lift_table"):
            return Default((), implied=True)
        raise draft.missing(f"{lobe}.durations", 'durations, such as "214 deg @ 0.050 in"')

    return rule


def _with_seat(side: str) -> Callable[[Draft, Any], Any]:
    """The given durations, and that at the seat if the card does not have it."""

    def complete(draft: Draft, pairs: tuple[tuple[float, float], ...]) -> Any:
        path = f"cam.{side}.durations"
        pairs = tuple(sorted(pairs))
        if not pairs or pairs[0][0] <= _KNOWN_SEAT:
            return pairs
        lifter = draft.get("cam.lifter")
        spread = _SEAT_SPREAD.get(lifter, _USUAL_SPREAD)
        printed = _printed(draft, side)
        if printed is not None and printed[0] < pairs[0][0] - SAME_HEIGHT:
            return (printed, *pairs)
        height, duration = pairs[0]
        # near the seat, lift grows as the square of the angle
        part = (height - _SEAT_HEIGHT) / (_SPREAD_HEIGHT - _SEAT_HEIGHT)
        seat = duration + spread * min(part, 1.0) ** 0.5
        facts = draft.field(path).facts
        us, si = (
            f"{shown(seat, 'deg')} @ {shown(_SEAT_HEIGHT, unit)}, added to the card"
            for unit in ("in", "mm")
        )
        draft.assume(path, (us, si), facts.source, facts.band, seat)
        return ((_SEAT_HEIGHT, seat), *pairs)

    return complete


def _printed(draft: Draft, side: str) -> tuple[float, float] | None:
    """Height and duration of the events printed on the card; None without both of them."""
    opens, closes = (draft.maybe(f"cam.events.{side}_{event}") for event in ("opens", "closes"))
    if opens is None or closes is None:
        return None
    return draft.get("cam.events.height"), opens + math.pi + closes


def _valve_lift(side: str) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        lobe = f"cam.{side}"
        if draft.given_under(f"{lobe}.lift_table"):
            return Default(measured_lift(draft, side), implied=True)
        if not draft.given(f"{lobe}.lobe_lift"):
            raise draft.missing(f"{lobe}.valve_lift", "the valve lift, or the lobe lift")
        lift = draft.get(f"{lobe}.lobe_lift") * draft.get(f"{lobe}.rocker_ratio")
        return Default(lift, implied=True)

    return rule


def measured_lift(draft: Draft, side: str) -> float:
    """
    Gross valve lift of a measured table, with the rockers that the engine has.

    Parameters
    ----------
    draft : Draft
        With a lift table.
    side : str
        ``intake`` or ``exhaust``. [-]

    Returns
    -------
    float
        Its top and the lash, times the ratio over that of the table. [m]
    """
    lobe = f"cam.{side}"
    top = max(draft.get(f"{lobe}.lift_table.lift")) + draft.get(f"{lobe}.lash")
    ratio = draft.get(f"{lobe}.rocker_ratio") / draft.get(f"{lobe}.lift_table.rocker_ratio")
    return float(top * ratio)


def _measured_ratio(side: str) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        if draft.given_under(f"cam.{side}.lift_table"):
            return Default(draft.get(f"cam.{side}.rocker_ratio"))
        return Default(None)

    return rule


def _lobe_lift(side: str) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        lobe = f"cam.{side}"
        lift = draft.get(f"{lobe}.valve_lift") / draft.get(f"{lobe}.rocker_ratio")
        return Default(lift, implied=True)

    return rule


def _events_height(draft: Draft) -> Default:
    return Default(_SPREAD_HEIGHT if draft.given_under("cam.events") else None)


def _table_column(side: str, column: str) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        table = f"cam.{side}.lift_table"
        if draft.given_under(table):
            raise draft.missing(f"{table}.{column}")
        return Default(None)

    return rule


def _rules() -> dict[str, Callable[[Draft], Default]]:
    rules: dict[str, Callable[[Draft], Default]] = {
        "cam.lifter": _lifter,
        "cam.face_diameter": _face_diameter,
        "cam.intake_centreline": _intake_centreline,
        "cam.events.height": _events_height,
    }
    for side in ("intake", "exhaust"):
        rules |= {
            f"cam.{side}.durations": _durations(side),
            f"cam.{side}.measured_at": _measured_at,
            f"cam.{side}.rocker_ratio": _rocker_ratio(side),
            f"cam.{side}.lash": _lash(side),
            f"cam.{side}.valve_lift": _valve_lift(side),
            f"cam.{side}.lobe_lift": _lobe_lift(side),
            f"cam.{side}.lift_table.angle": _table_column(side, "angle"),
            f"cam.{side}.lift_table.lift": _table_column(side, "lift"),
            f"cam.{side}.lift_table.rocker_ratio": _measured_ratio(side),
        }
    return rules


RULES: Final = _rules()
COMPLETIONS: Final[dict[str, Callable[[Draft, Any], Any]]] = {
    f"cam.{side}.durations": _with_seat(side) for side in ("intake", "exhaust")
}
