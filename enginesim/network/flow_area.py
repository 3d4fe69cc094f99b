"""
Effective area of a port's valves against lift and crank angle, from its flow-bench sheet.

The sheet's flows become areas through a simulated bench with the port duct in place, so that the
port's friction, which the ducts of the simulation have too, is not counted twice.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from enginesim.base.errors import CaseError, Problem
from enginesim.network.flow_bench import (
    CAST_ROUGHNESS,
    ENTRY_LOSS,
    N_CELL,
    Bench,
    PortDuct,
    blown_area,
    drawn_area,
    nozzle_flux,
)
from enginesim.valvetrain.monotone import MonotoneCubic

if TYPE_CHECKING:
    from collections.abc import Sequence

Array = NDArray[np.float64]
Side = Literal["intake", "exhaust"]

# A flow that needs more of the throat's section than this is hardly real (usage of the trade).
SUSPECT_COEFFICIENT = 0.95


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
    """What is needed of ``case.head.intake`` and ``case.head.exhaust``."""

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


def seat_area(
    lift: ArrayLike,
    valve_diameter: float,
    seat_width: float,
    seat_angle: float,
    stem_diameter: float,
) -> Array:
    """
    Smallest geometric section of one valve: seat cone, then wider cone, then throat.

    Parameters
    ----------
    lift : array_like
        Valve lift. [m]
    valve_diameter : float
        Valve head, outside the seat. [m]
    seat_width : float
        Width of the seat. [m]
    seat_angle : float
        Seat from the plane of the valve head. [rad]
    stem_diameter : float
        Valve stem. [m]

    Returns
    -------
    ndarray
        Section. [m2]

    Notes
    -----
    The throat under the seat is as wide as the inner edge of the seat: the valve diameter less
    two widths.

    Source: J. B. Heywood, *Internal Combustion Engine Fundamentals*, 1988, section 6.3.2 (from
    memory; recomputed).
    """
    height = np.maximum(np.asarray(lift, dtype=float), 0.0)
    throat = valve_diameter - 2.0 * seat_width
    middle = valve_diameter - seat_width
    first = (
        math.pi
        * height
        * math.cos(seat_angle)
        * (throat + 0.5 * height * math.sin(2.0 * seat_angle))
    )
    rise = height - seat_width * math.tan(seat_angle)
    second = math.pi * middle * np.sqrt(rise * rise + seat_width * seat_width)
    last = 0.25 * math.pi * (throat**2 - stem_diameter**2)
    on_seat = height < seat_width / (math.sin(seat_angle) * math.cos(seat_angle))
    return np.asarray(np.minimum(np.where(on_seat, first, second), last))


def port_area(port: PortInput, fraction: ArrayLike) -> Array:
    """
    Section of the port along its length: from the flange's to the smallest, at the valve.

    Parameters
    ----------
    port : PortInput
        ``case.head.intake`` or ``case.head.exhaust``.
    fraction : array_like
        Place along the port, 0 at the flange and 1 at the valve. [-]

    Returns
    -------
    ndarray
        Section. [m2]

    Notes
    -----
    A parabola through both ends with the port's volume; the volume gives way where the section
    would become smaller than the smallest.
    """
    s = np.asarray(fraction, dtype=float)
    smallest = port.port_area_min
    flange = max(0.25 * math.pi * port.port_flange_diameter**2, smallest)
    bulge = port.port_volume / port.port_length - 0.5 * (flange + smallest)
    bulge = max(bulge, -(flange - smallest) / 6.0)
    return np.asarray(flange + (smallest - flange) * s + 6.0 * bulge * s * (1.0 - s))


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
        port_area(port, np.linspace(0.0, 1.0, N_CELL + 1)),
        port.port_length,
        roughness,
        ENTRY_LOSS[port.sheet.entry],
    )


def sheet_areas(
    port: PortInput, side: Side, roughness: float = CAST_ROUGHNESS
) -> tuple[Array, Array]:
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
    tuple of ndarray
        Forward and reverse, of all valves of the port. [m2]

    Raises
    ------
    CaseError
        If a flow of the sheet is more than the port can pass at that depression.

    Notes
    -----
    Volume flows are taken at the density of the air in the room. The reverse sheet is the
    sheet times ``reverse_flow_ratio``.
    """
    sheet = port.sheet
    duct = port_duct(port, roughness)
    bench = Bench(sheet.bench_pressure, sheet.bench_temperature, sheet.depression)
    flow = np.asarray(sheet.flow, dtype=float)
    into, out_of = (1.0, port.reverse_flow_ratio)
    if side == "exhaust":
        into, out_of = out_of, into
    drawn = drawn_area(duct, bench, flow * into)
    blown = blown_area(duct, bench, flow * out_of)
    problems = []
    for areas, ratio in ((drawn, into), (blown, out_of)):
        for lift, volume_flow, area in zip(sheet.lift, flow * ratio, areas, strict=True):
            if not area < duct.area[-1]:
                problems.append(_too_much(side, lift, float(volume_flow), port))
    if problems:
        raise CaseError(problems)
    return (drawn, blown) if side == "intake" else (blown, drawn)


def _too_much(side: Side, lift: float, volume_flow: float, port: PortInput) -> Problem:
    return Problem(
        "",
        f"head.{side}.sheet",
        f"{volume_flow * 1e3:.1f} L/s ({volume_flow / 4.71947443e-4:.0f} cfm) at "
        f"{lift * 1e3:.2f} mm ({lift / 0.0254:.3f} in) lift",
        f"what a smallest section of {port.port_area_min * 1e4:.2f} cm2 "
        f"({port.port_area_min / 0.0254**2:.2f} in2) can pass at "
        f"{port.sheet.depression / 1e3:.2f} kPa",
        "is the depression, the flow's unit, the rounded entry or the smallest section wrong?",
    )


def _between(lift: Sequence[float], area: Array, wanted: ArrayLike) -> Array:
    """Monotone through shut and the sheet's lifts, constant above the last."""
    x, y = np.asarray(lift, dtype=float), np.asarray(area, dtype=float)
    if x[0] > 0.0:
        x, y = np.concatenate([[0.0], x]), np.concatenate([[0.0], y])
    return np.maximum(MonotoneCubic(x, y)(wanted), 0.0)


def effective_areas(
    port: PortInput,
    lift_grid: ArrayLike,
    side: Side,
    roughness: float = CAST_ROUGHNESS,
) -> tuple[Array, Array]:
    """
    Effective areas at any lifts, in both directions.

    Parameters
    ----------
    port : PortInput
        ``case.head.intake`` or ``case.head.exhaust``.
    lift_grid : array_like
        Valve lifts. [m]
    side : str
        "intake" or "exhaust": forward is into or out of the cylinder. [-]
    roughness : float
        Height of the port wall's roughness. [m]

    Returns
    -------
    tuple of ndarray
        Forward and reverse, of all valves of the port. [m2]

    Raises
    ------
    CaseError
        If a flow of the sheet is more than the port can pass at that depression.

    Notes
    -----
    Monotone cubic through the sheet; zero at zero lift; constant above the sheet's last lift.
    """
    forward, reverse = sheet_areas(port, side, roughness)
    lift = port.sheet.lift
    return _between(lift, forward, lift_grid), _between(lift, reverse, lift_grid)


def area_table(
    port: PortInput,
    lift: ArrayLike,
    side: Side,
    roughness: float = CAST_ROUGHNESS,
) -> Array:
    """
    Effective areas over the crank angles of a lift table.

    Parameters
    ----------
    port : PortInput
        ``case.head.intake`` or ``case.head.exhaust``.
    lift : array_like, shape (n,)
        Valve lift at each crank angle, as from ``valvetrain.lift.lift_table``. [m]
    side : str
        "intake" or "exhaust": forward is into or out of the cylinder. [-]
    roughness : float
        Height of the port wall's roughness. [m]

    Returns
    -------
    ndarray, shape (n, 2)
        Forward and reverse. [m2]

    Raises
    ------
    CaseError
        If a flow of the sheet is more than the port can pass at that depression.
    """
    return np.ascontiguousarray(np.stack(effective_areas(port, lift, side, roughness), axis=1))


def throat_coefficient(port: PortInput) -> float:
    """
    Share of the throats' section that the best flow of the sheet needs.

    Parameters
    ----------
    port : PortInput
        ``case.head.intake`` or ``case.head.exhaust``.

    Returns
    -------
    float
        By an isentropic nozzle at the sheet's depression; above `SUSPECT_COEFFICIENT` the sheet
        is doubtful. [-]
    """
    sheet = port.sheet
    bench = Bench(sheet.bench_pressure, sheet.bench_temperature, sheet.depression)
    flux = nozzle_flux(bench.pressure, bench.temperature, bench.pressure - bench.depression)
    throat = seat_area(
        port.valve_diameter,
        port.valve_diameter,
        port.seat_width,
        port.seat_angle,
        port.stem_diameter,
    )
    return float(max(sheet.flow) * bench.density / flux / (port.n_valves * throat))
