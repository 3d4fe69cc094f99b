"""Springs against themselves and against the lift."""

from __future__ import annotations

from typing import TYPE_CHECKING

from enginesim.base.units import shown

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case.draft import Draft


def _loads(side: str) -> Callable[[Draft], None]:
    def check(draft: Draft) -> None:
        spring = f"valve_gear.{side}"
        seat, full = (draft.maybe(f"{spring}.{load}_load") for load in ("seat", "open"))
        if full is not None and seat is None:
            found, hint = "an open load alone", "the rate needs two loads"
            draft.report(f"{spring}.open_load", found, "a seat load beside it", hint)
        if seat is None or full is None:
            return
        if full <= seat:
            found = f"{shown(full, 'lbf')} open, {shown(seat, 'lbf')} on the seat"
            draft.report(f"{spring}.open_load", found, "more than the seat load")
            return
        given, implied = draft.maybe(f"{spring}.rate"), _implied_rate(draft, side)
        if given is not None and implied is not None and abs(given / implied - 1) > 0.05:
            found = f"{shown(given, 'lbf/in')}, while the loads give {shown(implied, 'lbf/in')}"
            draft.report(f"{spring}.rate", found, "one of the two, or both alike within 5 %")

    return check


def _implied_rate(draft: Draft, side: str) -> float | None:
    """Rate from two loads at two heights; None where a height is not known."""
    spring = f"valve_gear.{side}"
    names = ("seat_load", "open_load", "installed_height", "open_height")
    seat, full, installed, height = (draft.maybe(f"{spring}.{name}") for name in names)
    if None in (seat, full, installed, height) or height >= installed:
        return None
    return float((full - seat) / (installed - height))


def _heights(side: str) -> Callable[[Draft], None]:
    def check(draft: Draft) -> None:
        spring = f"valve_gear.{side}"
        names = ("installed_height", "open_height", "bind_height")
        installed, height, bind = (draft.maybe(f"{spring}.{name}") for name in names)
        for name, lower in (("open_height", height), ("bind_height", bind)):
            if installed is not None and lower is not None and lower >= installed:
                found = f"{shown(lower, 'in')}, installed at {shown(installed, 'in')}"
                draft.report(f"{spring}.{name}", found, "less than the installed height")
        if None not in (installed, bind):
            lift = draft.get(f"cam.{side}.valve_lift") - draft.get(f"cam.{side}.lash")
            spare = installed - lift - bind
            if spare <= 0 < installed - bind:
                left = shown(installed - lift, "in")
                found = f"{shown(bind, 'in')}, while full lift leaves {left}"
                hint = "the coils would touch before full lift"
                draft.warn(f"{spring}.bind_height", found, "less than that", hint)

    return check


CHECKS = tuple(make(side) for side in ("intake", "exhaust") for make in (_loads, _heights))
