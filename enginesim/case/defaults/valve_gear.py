"""Valve gear and clearances: masses and rates that were not given."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from enginesim.case.draft import Default

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case.draft import Draft

_STEEL: Final = 7850.0  # [kg/m3]
_STEM_LENGTH, _HEAD_THICKNESS = 2.4, 0.07  # of the intake valve's diameter
_LIFTER: Final = {
    "hydraulic flat": 0.95,
    "solid flat": 0.8,
    "hydraulic roller": 1.25,
    "solid roller": 1.3,
    "bucket": 1.0,
    "finger": 0.5,
}
_USUAL_INCLINATION: Final = {"dohc": math.radians(20)}


def _is_idle(draft: Draft) -> bool:
    """Whether nothing of the valve gear was given, so that its masses are not worth a line."""
    return not draft.given_under("valve_gear")


def _valve_mass(side: str) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        diameter, stem = (draft.get(f"head.{side}.{of}_diameter") for of in ("valve", "stem"))
        areas = _STEM_LENGTH * stem**2 + _HEAD_THICKNESS * diameter**2
        length = draft.get("head.intake.valve_diameter")
        return Default(_STEEL * 0.25 * math.pi * areas * length, implied=_is_idle(draft))

    return rule


def _of_valve(side: str, factor: float) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        mass = factor * draft.get(f"valve_gear.{side}.valve_mass")
        return Default(mass, implied=_is_idle(draft))

    return rule


def _lifter_mass(draft: Draft) -> Default:
    factor = _LIFTER[draft.get("cam.lifter")]
    return Default(factor * draft.get("valve_gear.intake.valve_mass"), implied=_is_idle(draft))


def _with_push_rods(factor: float) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        has_push_rods = draft.get("head.valvetrain") == "ohv"
        mass = factor * draft.get("valve_gear.intake.valve_mass") if has_push_rods else 0.0
        return Default(mass, implied=_is_idle(draft) or not has_push_rods)

    return rule


def _rate(side: str) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        spring = f"valve_gear.{side}"
        seat, full = (draft.maybe(f"{spring}.{load}_load") for load in ("seat", "open"))
        if seat is None or full is None:
            return Default(None)
        if draft.given(f"{spring}.open_height") or "@" in str(
            draft.document.entries.get(f"{spring}.open_load", "")
        ):
            installed = draft.maybe(f"{spring}.installed_height")
            if installed is None:
                raise draft.missing(
                    f"{spring}.installed_height", "the height that belongs to the seat load"
                )
            travel = installed - draft.get(f"{spring}.open_height")
        else:
            travel = draft.get(f"cam.{side}.valve_lift") - draft.get(f"cam.{side}.lash")
        rate = (full - seat) / travel if travel > 0 else 0.0
        return Default(rate, implied=True)

    return rule


def _inclination(draft: Draft) -> Default:
    usual = _USUAL_INCLINATION.get(draft.get("head.valvetrain"), math.radians(15))
    return Default(usual, implied=not draft.given("clearances.intake_drop"))


def _exhaust_inclination(draft: Draft) -> Default:
    angle = draft.get("clearances.intake_inclination")
    return Default(angle, implied=not draft.given("clearances.exhaust_drop"))


def _rods(draft: Draft) -> Default:
    return Default("steel", implied=not draft.given_under("clearances"))


def _rules() -> dict[str, Callable[[Draft], Default]]:
    rules: dict[str, Callable[[Draft], Default]] = {
        "valve_gear.lifter_mass": _lifter_mass,
        "valve_gear.push_rod_mass": _with_push_rods(0.5),
        "valve_gear.rocker_mass": _with_push_rods(0.35),
        "clearances.intake_inclination": _inclination,
        "clearances.exhaust_inclination": _exhaust_inclination,
        "clearances.rods": _rods,
    }
    for side in ("intake", "exhaust"):
        rules |= {
            f"valve_gear.{side}.valve_mass": _valve_mass(side),
            f"valve_gear.{side}.retainer_mass": _of_valve(side, 0.30),
            f"valve_gear.{side}.spring_mass": _of_valve(side, 0.9),
            f"valve_gear.{side}.rate": _rate(side),
        }
    return rules


RULES: Final = _rules()
