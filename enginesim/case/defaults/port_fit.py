"""Sizes of a port that were not given: the usual ones, or those that what was given needs."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from enginesim.base.units import to_si
from enginesim.case.bench import effective_area
from enginesim.formulas.areas import circle
from enginesim.ports.sheet import needed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from enginesim.case.draft import Draft
    from enginesim.case.head import FlowSheet
    from enginesim.ports.sheet import Side

#: Mean over smallest section of two-valve intake ports, 13 published heads.
MEAN_OVER_SMALLEST: Final = 1.114
#: A mean section below this part of the smallest one is a contradiction.
LEAST_MEAN: Final = 0.9
#: An opening below this part of the smallest section is a contradiction.
LEAST_FLANGE: Final = 0.85
USUAL_REVERSE: Final = 0.9
_USUAL_LENGTH: Final = {"intake": to_si(5.4, "in"), "exhaust": to_si(3.0, "in")}
_BORE_4_IN: Final = to_si(4.0, "in")
_OVER_BEST: Final = 1.15  # smallest section over the effective area of the best flow
_STEP: Final = 1.01  # a size gives way by a per cent at a time: flow sheets are read to about that
_MOST_STEPS: Final = 60  # to nearly twice, or half, the usual size; what needs more is refused
_FEWER_STEPS: Final = 35  # to 1.4 times the usual volume or opening


@dataclass(frozen=True)
class Sizes:
    """
    A port as far as its flow needs it.

    Attributes
    ----------
    sheet : FlowSheet
        Its flow sheet.
    port_area_min : float
        Smallest section. [m2]
    port_length : float
        From flange to valve. [m]
    volume, flange : float or None
        Volume [m3] and area at the flange [m2], where they were given.
    reverse_flow_ratio : float
        Flow the wrong way over flow the right way. [-]
    over_smallest : float
        Mean over smallest section, where no volume was given. [-]
    wider : float
        Opening over the usual one, where none was given. [-]
    valve_diameter, seat_width, seat_angle, stem_diameter : float
        Not looked at here. [m], [m], [rad], [m]
    n_valves : int
        Not looked at here. [-]
    """

    sheet: FlowSheet
    port_area_min: float
    port_length: float
    volume: float | None
    flange: float | None
    reverse_flow_ratio: float
    over_smallest: float = MEAN_OVER_SMALLEST
    wider: float = 1.0
    valve_diameter: float = math.nan
    seat_width: float = math.nan
    seat_angle: float = math.nan
    stem_diameter: float = math.nan
    n_valves: int = 1

    @property
    def port_volume(self) -> float:
        """From flange to valve. [m3]."""
        return self.volume or self.over_smallest * self.port_area_min * self.port_length

    @property
    def port_flange_diameter(self) -> float:
        """Round opening at the flange with the same area. [m]."""
        mean = self.port_volume / self.port_length
        area = self.wider * max(2 * mean - self.port_area_min, self.port_area_min)
        return math.sqrt(4 / math.pi * (self.flange or area))


def usual_length(draft: Draft, side: Side) -> float:
    """
    Length of a port on this bore.

    Parameters
    ----------
    draft : Draft
        With a bore.
    side : str
        ``intake`` or ``exhaust``. [-]

    Returns
    -------
    float
        From the flange to the valve. [m]
    """
    return _USUAL_LENGTH[side] * float(draft.get("block.bore")) / _BORE_4_IN


def best_area(draft: Draft, side: Side) -> float:
    """
    Effective area of the port's best flow.

    Parameters
    ----------
    draft : Draft
        With a flow sheet or a best flow.
    side : str
        ``intake`` or ``exhaust``. [-]

    Returns
    -------
    float
        Largest of the sheet. [m2]
    """
    sheet = draft.part(f"head.{side}.sheet")
    return effective_area(
        max(sheet.flow), sheet.depression, sheet.bench_pressure, sheet.bench_temperature
    )


def usual_area(draft: Draft, side: Side, length: float) -> float:
    """
    Smallest section as it usually is: of the port's volume, without one of its best flow.

    Parameters
    ----------
    draft : Draft
        With a flow sheet or a best flow.
    side : str
        ``intake`` or ``exhaust``. [-]
    length : float
        Of the port. [m]

    Returns
    -------
    float
        Section. [m2]
    """
    volume = draft.maybe(f"head.{side}.port_volume")
    if volume is not None:
        return float(volume) / (MEAN_OVER_SMALLEST * length)
    return _OVER_BEST * best_area(draft, side)


def sizes(draft: Draft, side: Side) -> Sizes:
    """
    Smallest section and length that pass the best flow, as near the usual ones as can be.

    Parameters
    ----------
    draft : Draft
        With a flow sheet or a best flow.
    side : str
        ``intake`` or ``exhaust``. [-]

    Returns
    -------
    Sizes
        Given ones as they are; where these cannot pass the flow, what comes nearest to it.
    """
    sheet, reverse = draft.part(f"head.{side}.sheet"), draft.get(f"head.{side}.reverse_flow_ratio")
    if not sheet.flow or len(sheet.flow) != len(sheet.lift):
        return _started(draft, side, sheet, reverse)
    found = _started(draft, side, sheet, reverse)
    for tried in _tries(draft, side, found):
        found = tried
        if max(needed(found, side)) < found.port_area_min:
            break
    return found


def _started(draft: Draft, side: Side, sheet: FlowSheet, reverse: float) -> Sizes:
    """Given sizes, and the usual ones where they are not refused."""
    port = f"head.{side}"
    volume, area, length, flange = (
        draft.maybe(f"{port}.{name}")
        for name in ("port_volume", "port_area_min", "port_length", "port_flange_diameter")
    )
    opening = None if flange is None else circle(flange)
    long = length or usual_length(draft, side)
    small = area or usual_area(draft, side, long)
    if area is None and opening is not None and opening < LEAST_FLANGE * small:
        small = opening
    return _with_area(Sizes(sheet, small, long, volume, opening, reverse), length is None)


def _with_area(port: Sizes, has_usual_length: bool) -> Sizes:
    """Port whose length gives way where its volume would else be too small for the section."""
    if port.volume is None or not has_usual_length:
        return port
    if port.volume / port.port_length >= LEAST_MEAN * port.port_area_min:
        return port
    return replace(port, port_length=port.volume / (MEAN_OVER_SMALLEST * port.port_area_min))


def _tries(draft: Draft, side: Side, port: Sizes) -> Iterator[Sizes]:
    """The port as it is, then with its free sizes ever farther from the usual ones."""
    yield port
    has_usual_length = not draft.given(f"head.{side}.port_length")
    if not draft.given(f"head.{side}.port_area_min"):
        most = largest(draft, side)
        for _ in range(_MOST_STEPS):
            if port.port_area_min >= most:
                break
            wider = replace(port, port_area_min=min(_STEP * port.port_area_min, most))
            port = _with_area(wider, has_usual_length)
            yield port
    if has_usual_length:
        for _ in range(_MOST_STEPS):
            port = replace(port, port_length=port.port_length / _STEP)
            yield port
    if port.volume is None:
        for _ in range(_FEWER_STEPS):
            port = replace(port, over_smallest=_STEP * port.over_smallest)
            yield port
    if port.flange is None:
        for _ in range(_FEWER_STEPS):
            port = replace(port, wider=_STEP * port.wider)
            yield port


def largest(draft: Draft, side: Side) -> float:
    """
    Largest smallest section that the given sizes of a port leave.

    Parameters
    ----------
    draft : Draft
        The case.
    side : str
        ``intake`` or ``exhaust``. [-]

    Returns
    -------
    float
        The given one; else what the mean section of a given volume and length, and a given
        opening, do not contradict; infinite without any of these. [m2]
    """
    port = f"head.{side}"
    area = draft.maybe(f"{port}.port_area_min")
    if area is not None:
        return float(area)
    volume, length, flange = (
        draft.maybe(f"{port}.{name}")
        for name in ("port_volume", "port_length", "port_flange_diameter")
    )
    mean = volume / length if volume is not None and length is not None else math.inf
    opening = math.inf if flange is None else circle(flange)
    return float(min(mean / LEAST_MEAN, opening / LEAST_FLANGE))


def fitting_flow(draft: Draft, side: Side, sheet: FlowSheet) -> tuple[float, ...]:
    """
    Flows of a sheet that nobody gave, lowered as far as the given sizes of the port make it.

    Parameters
    ----------
    draft : Draft
        The case.
    side : str
        ``intake`` or ``exhaust``. [-]
    sheet : FlowSheet
        The usual flows.

    Returns
    -------
    tuple of float
        As they are where no size was given that stands in the way. [m3/s]
    """
    port = _given_sizes(draft, side, sheet)
    if port is None:
        return sheet.flow
    reverse = draft.maybe(f"head.{side}.reverse_flow_ratio")
    for _ in range(_MOST_STEPS):
        tried = replace(port, sheet=sheet, reverse_flow_ratio=reverse or 0.0)
        if max(needed(tried, side)) < tried.port_area_min:
            break
        sheet = replace(sheet, flow=tuple(flow / _STEP for flow in sheet.flow))
    return sheet.flow


def fitting_reverse(draft: Draft, side: Side) -> float:
    """
    Reverse flow ratio that nobody gave, lowered as far as the given sizes of the port make it.

    Parameters
    ----------
    draft : Draft
        With a flow sheet or a best flow.
    side : str
        ``intake`` or ``exhaust``. [-]

    Returns
    -------
    float
        The usual one where no size was given that stands in the way. [-]
    """
    ratio = USUAL_REVERSE
    port = _given_sizes(draft, side, draft.part(f"head.{side}.sheet"))
    if port is None:
        return ratio
    for _ in range(_MOST_STEPS):
        tried = replace(port, reverse_flow_ratio=ratio)
        if needed(tried, side)[1] < tried.port_area_min:
            break
        ratio /= _STEP
    return ratio


def _given_sizes(draft: Draft, side: Side, sheet: FlowSheet) -> Sizes | None:
    """Port with the largest section that its given sizes leave; None if they leave any."""
    most = largest(draft, side)
    if math.isinf(most) or not sheet.flow:
        return None
    port = f"head.{side}"
    volume, length, flange = (
        draft.maybe(f"{port}.{name}")
        for name in ("port_volume", "port_length", "port_flange_diameter")
    )
    opening = None if flange is None else circle(flange)
    return Sizes(sheet, most, length or usual_length(draft, side), volume, opening, USUAL_REVERSE)
