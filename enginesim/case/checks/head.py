"""Valves, ports and flow sheets."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from enginesim.base.units import shown
from enginesim.case.bench import effective_area
from enginesim.case.defaults.port_fit import LEAST_FLANGE, LEAST_MEAN
from enginesim.case.head import MOST_ACROSS, SIDE_BY_SIDE
from enginesim.formulas.areas import circle, curtain_area, throat_area
from enginesim.ports.sheet import refusals

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case.draft import Draft
    from enginesim.ports.sheet import Side

_NUMBERS: Final = {2: "two", 3: "three"}
_MOST_CD: Final = 0.95
_SIDES: Final[tuple[Side, Side]] = ("intake", "exhaust")


def _valves_fit(draft: Draft) -> None:
    bore = draft.get("block.bore")
    intake, exhaust = (draft.get(f"head.{s}.valve_diameter") for s in ("intake", "exhaust"))
    n_in, n_ex = (draft.get(f"head.{s}.n_valves") for s in ("intake", "exhaust"))
    across = {"intake and exhaust": intake + exhaust}
    for n, which, diameter in ((n_in, "intake", intake), (n_ex, "exhaust", exhaust)):
        if n > 1:
            across[f"{_NUMBERS[n]} {which}"] = SIDE_BY_SIDE[n] * diameter
    for which, width in across.items():
        found = f"{which} valves of {shown(width, 'in')} together"
        room = f"the bore of {shown(bore, 'in')}"
        hint = f"intake {shown(intake, 'in')}, exhaust {shown(exhaust, 'in')}"
        side = "exhaust" if which.endswith(" exhaust") and " and " not in which else "intake"
        if width > MOST_ACROSS * bore * (1 + 1e-12):
            draft.report(f"head.{side}.valve_diameter", found, f"no more than {room}", hint)
        elif width > 0.98 * bore:
            draft.warn(f"head.{side}.valve_diameter", found, f"less than {room}", hint)


def _exhaust_smaller(draft: Draft) -> None:
    intake, exhaust = (draft.get(f"head.{s}.valve_diameter") for s in ("intake", "exhaust"))
    same = draft.get("head.intake.n_valves") == draft.get("head.exhaust.n_valves")
    if same and exhaust > intake:
        found = f"{shown(exhaust, 'in')}, larger than the intake's {shown(intake, 'in')}"
        draft.warn("head.exhaust.valve_diameter", found, "usually smaller", "exchanged?")


def _stem(side: str) -> Callable[[Draft], None]:
    def check(draft: Draft) -> None:
        stem = draft.get(f"head.{side}.stem_diameter")
        valve = draft.get(f"head.{side}.valve_diameter")
        if stem >= 0.5 * valve:
            found = f"{shown(stem, 'in')} in a valve of {shown(valve, 'in')}"
            draft.report(f"head.{side}.stem_diameter", found, "less than half of it")
        seat = draft.get(f"head.{side}.seat_width")
        if seat > 0.15 * valve:
            found = f"{shown(seat, 'in')} on a valve of {shown(valve, 'in')}"
            draft.report(f"head.{side}.seat_width", found, "up to 0.15 x valve")

    return check


def _sheet(side: str) -> Callable[[Draft], None]:
    def check(draft: Draft) -> None:
        path = f"head.{side}.sheet"
        lifts, flows = draft.get(f"{path}.lift"), draft.get(f"{path}.flow")
        if len(lifts) != len(flows):
            found = f"{len(flows)} flows for {len(lifts)} lifts"
            draft.report(f"{path}.flow", found, "one flow for each lift")
            return
        rising = all(a < b for a, b in pairwise(lifts))
        if not rising:
            before, after = next((a, b) for a, b in pairwise(lifts) if b <= a)
            found = f"{shown(after, 'in')} after {shown(before, 'in')}"
            draft.report(f"{path}.lift", found, "lifts that rise", "a slip of the pen, or unsorted")
        zero = next((i for i, flow in enumerate(flows) if flow <= 0 and lifts[i] > 0), None)
        if zero is not None:
            found = f"no flow at {shown(lifts[zero], 'in')}"
            draft.report(f"{path}.flow", found, "a positive flow at every lift above 0")
        if len(lifts) < 2:
            draft.report(f"{path}.lift", "one lift", "at least two", "one figure: use peak_flow")
        if rising and zero is None:
            _falling(draft, path, lifts, flows)
            _plausible_flow(draft, side, lifts, flows)

    return check


def _falling(draft: Draft, path: str, lifts: tuple[float, ...], flows: tuple[float, ...]) -> None:
    for i, (a, b) in enumerate(pairwise(flows)):
        if b < 0.9 * a:
            found = f"{shown(b, 'cfm')} at {shown(lifts[i + 1], 'in')} after {shown(a, 'cfm')}"
            draft.warn(f"{path}.flow", found, "flow that rises or stays", "a slip of the pen?")
            return


def _plausible_flow(
    draft: Draft, side: str, lifts: tuple[float, ...], flows: tuple[float, ...]
) -> None:
    """Flow that would need a discharge coefficient above 0.95."""
    port, sheet = f"head.{side}", f"head.{side}.sheet"
    n, diameter = draft.get(f"{port}.n_valves"), draft.get(f"{port}.valve_diameter")
    throat = n * throat_area(
        diameter,
        draft.get(f"{port}.seat_width"),
        draft.get(f"{port}.seat_angle"),
        draft.get(f"{port}.stem_diameter"),
    )
    depression, pressure, temperature = (
        draft.get(f"{sheet}.{key}") for key in ("depression", "bench_pressure", "bench_temperature")
    )
    for lift, flow in zip(lifts, flows, strict=True):
        if lift <= 0:
            continue
        area = min(n * curtain_area(diameter, lift), throat)
        cd = effective_area(flow, depression, pressure, temperature) / area
        if cd > _MOST_CD:
            where = f"{shown(flow, 'cfm')} at {shown(lift, 'in')}"
            found = f"{where}, a discharge coefficient of {cd:.2f}"
            key = "sheet.flow" if draft.given(f"{sheet}.flow") else "peak_flow"
            hint = "is the depression right? is the valve larger? flow claimed, not measured?"
            draft.warn(f"{port}.{key}", found, f"at most {_MOST_CD} of valve throat or curtain",
                       hint)  # fmt: skip
            return


def _port(side: str) -> Callable[[Draft], None]:
    def check(draft: Draft) -> None:
        port = f"head.{side}"
        smallest = draft.get(f"{port}.port_area_min")
        mean = draft.get(f"{port}.port_volume") / draft.get(f"{port}.port_length")
        if mean < LEAST_MEAN * smallest:
            found = f"a mean section of {shown(mean, 'in2')}"
            allowed = f"more than the smallest one, {shown(smallest, 'in2')}"
            hint = "volume = mean section x length"
            draft.report(f"{port}.port_volume", found, allowed, hint)
        elif mean > 2.5 * smallest:
            found = f"a mean section {mean / smallest:.1f} x the smallest one"
            draft.warn(f"{port}.port_volume", found, "usually 1.0 to 1.5")
        flange = circle(draft.get(f"{port}.port_flange_diameter"))
        if flange < LEAST_FLANGE * smallest:
            found = f"an opening of {shown(flange, 'in2')}"
            allowed = f"at least the smallest section, {shown(smallest, 'in2')}"
            draft.report(f"{port}.port_flange_diameter", found, allowed)

    return check


def _passes(side: Side) -> Callable[[Draft], None]:
    """The bench that a run works the valves' areas out with: what it refuses is refused here."""

    def check(draft: Draft) -> None:
        path = f"head.{side}"
        port = draft.part(path)
        if len(port.sheet.lift) != len(port.sheet.flow):
            return
        is_given = draft.given(f"{path}.port_area_min")
        place = draft.document.place(f"{path}.port_area_min" if is_given else f"{path}.sheet")
        mean, opening = port.port_volume / port.port_length, circle(port.port_flange_diameter)
        hint = "is the smallest section, the depression or the flow's unit wrong?"
        if not is_given:
            hint = (
                f"volume over length is {shown(mean, 'in2')}, the opening {shown(opening, 'in2')}: "
                "is one of these, the depression or the flow's unit wrong?"
            )
        draft.problems += refusals(port, side, place=place, hint=hint)

    return check


def _two_figures(side: str) -> Callable[[Draft], None]:
    def check(draft: Draft) -> None:
        port = f"head.{side}"
        peak = draft.maybe(f"{port}.peak_flow")
        if peak is None or not draft.given(f"{port}.sheet.flow"):
            return
        sheet = max(draft.get(f"{port}.sheet.flow"))
        depression = draft.get(f"{port}.sheet.depression")
        scaled = peak * math.sqrt(depression / draft.get(f"{port}.peak_depression"))
        if abs(scaled / sheet - 1) > 0.05:
            found = f"{shown(peak, 'cfm')}, while the sheet's best is {shown(sheet, 'cfm')}"
            draft.report(f"{port}.peak_flow", found, "one of the two", "the sheet is enough")

    return check


CHECKS = (
    _valves_fit,
    _exhaust_smaller,
    *(make(side) for side in _SIDES for make in (_stem, _sheet, _port,
                                                                _passes, _two_figures)),
)  # fmt: skip
