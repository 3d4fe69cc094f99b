"""
A port's flow sheet: its section along the way, and the valve areas that each flow asks for.

The sheet's flows become areas through a simulated bench with the port duct in place, so that the
port's friction, which the ducts of the simulation have too, is not counted twice.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Literal, Protocol

from enginesim.base.errors import Problem
from enginesim.base.units import shown
from enginesim.formulas.areas import circle
from enginesim.ports.flow_bench import (
    CAST_ROUGHNESS,
    ENTRY_LOSS,
    N_CELL,
    Bench,
    PortDuct,
    blown_area,
    drawn_area,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

Side = Literal["intake", "exhaust"]

_SUSPECTS = "is the depression, the flow's unit, the rounded entry or the smallest section wrong?"


class SheetInput(Protocol):
    """What is needed of a port's flow-bench sheet."""

    @property
    def lift(self) -> Sequence[float]:
        """Valve lifts, rising. [m]."""

    @property
    def flow(self) -> Sequence[float]:
        """Volume flows of the whole port. [m3/s]."""

    @property
    def depression(self) -> float:
        """Pressure difference. [Pa]."""

    @property
    def bench_temperature(self) -> float:
        """Air at the bench. [K]."""

    @property
    def bench_pressure(self) -> float:
        """Barometer at the bench. [Pa]."""

    @property
    def entry(self) -> str:
        """What rounded the open end: "radiused", "clay" or "none"."""


class PortInput(Protocol):
    """What is needed of ``case.head.intake`` and ``case.head.exhaust``; can be hashed."""

    @property
    def n_valves(self) -> int:
        """Valves of this side in each cylinder. [-]."""

    @property
    def valve_diameter(self) -> float:
        """Valve head. [m]."""

    @property
    def seat_width(self) -> float:
        """Width of the seat along its face. [m]."""

    @property
    def seat_angle(self) -> float:
        """Seat from the plane of the valve head. [rad]."""

    @property
    def stem_diameter(self) -> float:
        """Valve stem. [m]."""

    @property
    def sheet(self) -> SheetInput:
        """Flow-bench sheet of the whole port."""

    @property
    def reverse_flow_ratio(self) -> float:
        """Flow the wrong way over flow the right way at one lift. [-]."""

    @property
    def port_length(self) -> float:
        """From flange to valve. [m]."""

    @property
    def port_volume(self) -> float:
        """From flange to valve. [m3]."""

    @property
    def port_area_min(self) -> float:
        """Smallest section. [m2]."""

    @property
    def port_flange_diameter(self) -> float:
        """Round opening at the flange with the same area. [m]."""

    def __hash__(self) -> int: ...


def port_area(port: PortInput, fraction: float) -> float:
    """
    Section of the port along its length: from the flange's to the smallest, at the valve.

    Parameters
    ----------
    port : PortInput
        ``case.head.intake`` or ``case.head.exhaust``.
    fraction : float
        Place along the port, 0 at the flange and 1 at the valve. [-]

    Returns
    -------
    float
        Section. [m2]

    Notes
    -----
    A parabola through both ends with the port's volume; the volume gives way where the section
    would become smaller than the smallest.
    """
    smallest = port.port_area_min
    flange = max(circle(port.port_flange_diameter), smallest)
    bulge = port.port_volume / port.port_length - 0.5 * (flange + smallest)
    bulge = max(bulge, -(flange - smallest) / 6.0)
    return flange + (smallest - flange) * fraction + 6.0 * bulge * fraction * (1.0 - fraction)


def port_duct(port: PortInput, roughness: float = CAST_ROUGHNESS) -> PortDuct:
    """
    The port as the simulated bench sees it.

    Parameters
    ----------
    port : PortInput
        ``case.head.intake`` or ``case.head.exhaust``.
    roughness : float
        Height of the wall's roughness. [m]

    Returns
    -------
    PortDuct
        Sections, length, roughness and entry loss.
    """
    return PortDuct(
        tuple(port_area(port, i / N_CELL) for i in range(N_CELL + 1)),
        port.port_length,
        roughness,
        ENTRY_LOSS[port.sheet.entry],
    )


def bench_of(sheet: SheetInput) -> Bench:
    """
    The bench that a sheet was written at.

    Parameters
    ----------
    sheet : SheetInput
        Flow-bench sheet.

    Returns
    -------
    Bench
        Its air and pressure difference.
    """
    return Bench(sheet.bench_pressure, sheet.bench_temperature, sheet.depression)


@lru_cache(maxsize=256)  # a case is checked and then run, and most of a study share their heads
def valve_areas(
    port: PortInput, side: Side, roughness: float = CAST_ROUGHNESS
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """
    Effective areas at the lifts of the sheet, in both directions.

    Parameters
    ----------
    port : PortInput
        ``case.head.intake`` or ``case.head.exhaust``.
    side : str
        "intake" or "exhaust": forward is into or out of the cylinder. [-]
    roughness : float
        Height of the port wall's roughness. [m]

    Returns
    -------
    tuple of tuple of float
        Forward and reverse, of all valves of the port; no number, or more than the smallest
        section, where the port cannot pass the flow. [m2]

    Notes
    -----
    Volume flows are taken at the density of the air in the room. The reverse sheet is the
    sheet times ``reverse_flow_ratio``.
    """
    duct, bench = port_duct(port, roughness), bench_of(port.sheet)
    into, out_of = _ratios(port, side)
    drawn = tuple(drawn_area(duct, bench, flow * into) for flow in port.sheet.flow)
    blown = tuple(blown_area(duct, bench, flow * out_of) for flow in port.sheet.flow)
    return (drawn, blown) if side == "intake" else (blown, drawn)


def _ratios(port: PortInput, side: Side) -> tuple[float, float]:
    """What of the sheet's flow goes into the cylinder, and out of it."""
    ratios = 1.0, port.reverse_flow_ratio
    return ratios if side == "intake" else ratios[::-1]


def needed(port: PortInput, side: Side, roughness: float = CAST_ROUGHNESS) -> tuple[float, float]:
    """
    Effective areas that the best flow of the sheet asks for, in both directions.

    Parameters
    ----------
    port : PortInput
        ``case.head.intake`` or ``case.head.exhaust``.
    side : str
        "intake" or "exhaust": forward is into or out of the cylinder. [-]
    roughness : float
        Height of the port wall's roughness. [m]

    Returns
    -------
    tuple of float
        Forward and reverse; no number, or more than the smallest section, where the port cannot
        pass the flow. [m2]
    """
    duct, bench = port_duct(port, roughness), bench_of(port.sheet)
    into, out_of = _ratios(port, side)
    best = max(port.sheet.flow)
    drawn, blown = drawn_area(duct, bench, best * into), blown_area(duct, bench, best * out_of)
    return (drawn, blown) if side == "intake" else (blown, drawn)


def refusals(
    port: PortInput,
    side: Side,
    roughness: float = CAST_ROUGHNESS,
    *,
    place: str = "",
    hint: str = _SUSPECTS,
) -> tuple[Problem, ...]:
    """
    Flows of the sheet that the port cannot pass.

    Parameters
    ----------
    port : PortInput
        ``case.head.intake`` or ``case.head.exhaust``.
    side : str
        "intake" or "exhaust". [-]
    roughness : float
        Height of the port wall's roughness. [m]
    place, hint : str
        Where the sheet stands and what may be wrong, for the message. [-]

    Returns
    -------
    tuple of Problem
        One for each flow and direction; none if the sheet fits the port.
    """
    forward, reverse = valve_areas(port, side, roughness)
    found = []
    for areas, ratio in ((forward, 1.0), (reverse, port.reverse_flow_ratio)):
        for lift, flow, area in zip(port.sheet.lift, port.sheet.flow, areas, strict=True):
            if not area < port.port_area_min:
                found.append(_too_much(port, side, lift, flow * ratio, place, hint))
    return tuple(found)


def _too_much(
    port: PortInput, side: Side, lift: float, flow: float, place: str, hint: str
) -> Problem:
    def both(value: float, si: str, us: str) -> str:
        return f"{shown(value, si)} ({shown(value, us)})"

    return Problem(
        place,
        f"head.{side}.sheet",
        f"{both(flow, 'L/s', 'cfm')} at {both(lift, 'mm', 'in')} lift",
        f"what a smallest section of {both(port.port_area_min, 'cm2', 'in2')} can pass at "
        f"{shown(port.sheet.depression, 'kPa')}",
        hint,
    )
