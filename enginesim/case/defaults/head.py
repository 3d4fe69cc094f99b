"""Head: valves, ports and flow that were not given."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from enginesim.base.units import shown, to_si
from enginesim.case.bench import SHAPE_FLOW, SHAPE_LIFT, shape
from enginesim.case.cam import OVERHEAD
from enginesim.case.charge import interpolated
from enginesim.case.defaults.port_fit import (
    MEAN_OVER_SMALLEST,
    USUAL_REVERSE,
    fitting_flow,
    fitting_reverse,
    sizes,
    usual_area,
    usual_length,
)
from enginesim.case.draft import GIVES_WAY, Default, Unresolved
from enginesim.case.head import MOST_ACROSS, MOST_LIFT, SIDE_BY_SIDE, FlowSheet
from enginesim.case.quantities import bounds

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case.draft import Draft
    from enginesim.ports.sheet import Side

_USUAL_DEPRESSION: Final = to_si(28, "inH2O")
_EXHAUST_OVER_INTAKE: Final = 0.75
# Both sides have one stem: 0.341 in (11/32) goes with 2.02 in valves, 0.372 (3/8) with 2.19,
# 6 mm with 35 mm; common practice, no source.
_STEM_OVER_INTAKE: Final = 0.172
# Of the usual valve: 0.54 x bore of a single one, 0.95 x intake (common practice).
_WIDEST: Final = {"intake": 1.08, "exhaust": 1.20}
_VALVE_OVER_BORE: Final = {1: 0.50, 2: 0.40, 3: 0.33}


def _valvetrain(draft: Draft) -> Default:
    is_single = draft.get("head.intake.n_valves") == 1
    if draft.maybe("cam.lifter") in OVERHEAD:  # it moves no push rod
        return Default("sohc" if is_single else "dohc")
    return Default("ohv" if is_single else "dohc")


def _follower(draft: Draft) -> Default:
    lifter = draft.get("cam.lifter")
    return Default(
        "finger" if lifter == "finger" else "roller" if "roller" in lifter else "flat", implied=True
    )


def _exhaust_n_valves(draft: Draft) -> Default:
    return Default(min(draft.get("head.intake.n_valves"), 2))


def _intake_valve(draft: Draft) -> Default:
    usual = _VALVE_OVER_BORE[draft.get("head.intake.n_valves")] * draft.get("block.bore")
    return _fitting_valve(draft, "intake", usual, draft.maybe("head.exhaust.valve_diameter"))


def _exhaust_valve(draft: Draft) -> Default:
    n_in, n_ex = draft.get("head.intake.n_valves"), draft.get("head.exhaust.n_valves")
    intake = draft.get("head.intake.valve_diameter")
    factor = 0.79 if n_in == 1 and n_ex == 1 else 0.86 if n_in == 2 else 1.05
    return _fitting_valve(draft, "exhaust", factor * intake, intake)


def _fitting_valve(draft: Draft, side: Side, usual: float, other: float | None) -> Default:
    """Usual valve, between what the given lift needs and what fits beside the other valve."""
    lift = draft.maybe(f"cam.{side}.valve_lift")
    found, across = usual, MOST_ACROSS * draft.get("block.bore")
    if lift is not None and lift / MOST_LIFT <= _WIDEST[side] * usual:
        found = max(found, lift / MOST_LIFT)
    found = min(found, across / SIDE_BY_SIDE[draft.get(f"head.{side}.n_valves")])
    if other is not None:
        found = min(found, across - other)
    if found == usual or found <= 0:
        return Default(usual)
    return Default(found, source=GIVES_WAY.format(shown(usual, "in")))


def _seat_width(side: str, factor: float) -> Callable[[Draft], Default]:
    return lambda draft: Default(factor * draft.get(f"head.{side}.valve_diameter"))


def _stem(draft: Draft) -> Default:
    thinnest, _ = bounds(draft.field("head.intake.stem_diameter").facts)
    return Default(max(_STEM_OVER_INTAKE * draft.get("head.intake.valve_diameter"), thinnest))


def _peak_depression(side: str) -> Callable[[Draft], Default]:
    return lambda draft: Default(
        _USUAL_DEPRESSION, implied=not draft.given(f"head.{side}.peak_flow")
    )


def _sheet_lift(side: str) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        port = f"head.{side}"
        if draft.given(f"{port}.sheet.flow"):
            raise draft.missing(f"{port}.sheet.lift", "the lifts that belong to sheet.flow")
        if side == "intake" and not draft.given(f"{port}.peak_flow"):
            raise draft.missing(f"{port}.peak_flow", "the best flow, or a sheet of lift and flow")
        diameter = draft.get(f"{port}.valve_diameter")
        return Default(tuple(ratio * diameter for ratio in SHAPE_LIFT))

    return rule


def _sheet_flow(side: Side) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        port = f"head.{side}"
        if draft.given(f"{port}.sheet.lift"):
            raise draft.missing(f"{port}.sheet.flow", "the flow at each lift of the sheet")
        lifts = draft.get(f"{port}.sheet.lift")
        if draft.given(f"{port}.peak_flow"):
            peak = draft.get(f"{port}.peak_flow")
            return Default(tuple(peak * part for part in SHAPE_FLOW))
        usual = tuple(_EXHAUST_OVER_INTAKE * _intake_flow(draft, lift) for lift in lifts)
        rest = ("depression", "bench_temperature", "bench_pressure", "entry")
        others = {name: draft.get(f"{port}.sheet.{name}") for name in rest}
        flows = fitting_flow(draft, side, FlowSheet(lift=lifts, flow=usual, **others))
        if flows == usual:
            return Default(usual)
        return Default(flows, source=GIVES_WAY.format(shown(max(usual), "cfm")))

    return rule


def _intake_flow(draft: Draft, lift: float) -> float:
    """Intake flow at a lift: the sheet between its ends, the usual shape beyond them."""
    lifts, flows = draft.get("head.intake.sheet.lift"), draft.get("head.intake.sheet.flow")
    if len(lifts) != len(flows):
        raise Unresolved
    diameter = draft.get("head.intake.valve_diameter")
    if lift < lifts[0]:
        return float(flows[0] * shape(lift / diameter) / shape(lifts[0] / diameter))
    return interpolated(lift, lifts, flows)


def _sheet_depression(side: str) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        port = f"head.{side}"
        if draft.given(f"{port}.peak_flow") and not draft.given(f"{port}.sheet.flow"):
            return Default(draft.get(f"{port}.peak_depression"), implied=True)
        if side == "exhaust" and not draft.given(f"{port}.sheet.flow"):
            return Default(draft.get("head.intake.sheet.depression"), implied=True)
        return Default(_USUAL_DEPRESSION)

    return rule


def _entry(side: str) -> Callable[[Draft], Default]:
    return lambda _: Default("radiused" if side == "intake" else "none")


def _reverse(side: Side) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        ratio = fitting_reverse(draft, side)
        if ratio == USUAL_REVERSE:
            return Default(ratio)
        return Default(ratio, source=GIVES_WAY.format(USUAL_REVERSE))

    return rule


def _port_length(side: Side) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        usual = usual_length(draft, side)
        found = sizes(draft, side).port_length
        if found == usual:
            return Default(found)
        return Default(found, source=GIVES_WAY.format(shown(usual, "in")))

    return rule


def _port_area_min(side: Side) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        band = None if draft.given(f"head.{side}.port_volume") else "15 %"
        found = sizes(draft, side)
        usual = usual_area(draft, side, found.port_length)
        if found.port_area_min == usual:
            return Default(usual, band=band)
        source = GIVES_WAY.format(shown(usual, "in2"))
        return Default(found.port_area_min, source=source, band=band)

    return rule


def _port_volume(side: Side) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        port = f"head.{side}"
        area, length = draft.get(f"{port}.port_area_min"), draft.get(f"{port}.port_length")
        usual, found = MEAN_OVER_SMALLEST * area * length, sizes(draft, side)
        if found.over_smallest == MEAN_OVER_SMALLEST:
            return Default(usual)
        return Default(found.port_volume, source=GIVES_WAY.format(shown(usual, "cc")))

    return rule


def _port_flange(side: Side) -> Callable[[Draft], Default]:
    def rule(draft: Draft) -> Default:
        port = f"head.{side}"
        smallest = draft.get(f"{port}.port_area_min")
        mean = draft.get(f"{port}.port_volume") / draft.get(f"{port}.port_length")
        usual = math.sqrt(4 / math.pi * max(2 * mean - smallest, smallest))
        wider = sizes(draft, side).wider
        if wider == 1.0:
            return Default(usual)
        return Default(math.sqrt(wider) * usual, source=GIVES_WAY.format(shown(usual, "in")))

    return rule


def _wall(kelvin: float) -> Callable[[Draft], Default]:
    return lambda _: Default(kelvin)


def _rules() -> dict[str, Callable[[Draft], Default]]:
    rules: dict[str, Callable[[Draft], Default]] = {
        "head.valvetrain": _valvetrain,
        "head.follower": _follower,
        "head.exhaust.n_valves": _exhaust_n_valves,
        "head.intake.valve_diameter": _intake_valve,
        "head.exhaust.valve_diameter": _exhaust_valve,
        "head.intake.seat_width": _seat_width("intake", 0.035),
        "head.exhaust.seat_width": _seat_width("exhaust", 0.045),
        "head.intake.wall_temperature": _wall(273.15 + 95),
        "head.exhaust.wall_temperature": _wall(273.15 + 250),
    }
    sides: tuple[Side, Side] = ("intake", "exhaust")
    for side in sides:
        rules |= {
            f"head.{side}.stem_diameter": _stem,
            f"head.{side}.peak_depression": _peak_depression(side),
            f"head.{side}.sheet.lift": _sheet_lift(side),
            f"head.{side}.sheet.flow": _sheet_flow(side),
            f"head.{side}.sheet.depression": _sheet_depression(side),
            f"head.{side}.sheet.entry": _entry(side),
            f"head.{side}.reverse_flow_ratio": _reverse(side),
            f"head.{side}.port_length": _port_length(side),
            f"head.{side}.port_area_min": _port_area_min(side),
            f"head.{side}.port_volume": _port_volume(side),
            f"head.{side}.port_flange_diameter": _port_flange(side),
        }
    return rules


RULES: Final = _rules()
