"""Effective area of a port's valves against lift and crank angle, from its flow-bench sheet."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from enginesim.base.errors import CaseError
from enginesim.formulas.areas import circle
from enginesim.ports.flow_bench import CAST_ROUGHNESS, nozzle_flux
from enginesim.ports.sheet import bench_of, refusals, valve_areas
from enginesim.valvetrain.monotone import MonotoneCubic

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.ports.sheet import PortInput, Side

Array = NDArray[np.float64]

# A flow that needs more of the throat's section than this is hardly real (usage of the trade).
SUSPECT_COEFFICIENT = 0.95


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
    last = circle(throat) - circle(stem_diameter)
    on_seat = height < seat_width / (math.sin(seat_angle) * math.cos(seat_angle))
    return np.asarray(np.minimum(np.where(on_seat, first, second), last))


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
    problems = refusals(port, side, roughness)
    if problems:
        raise CaseError(problems)
    forward, reverse = valve_areas(port, side, roughness)
    return np.array(forward), np.array(reverse)


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
    bench = bench_of(sheet)
    flux = nozzle_flux(bench.pressure, bench.temperature, bench.pressure - bench.depression)
    throat = seat_area(
        port.valve_diameter,
        port.valve_diameter,
        port.seat_width,
        port.seat_angle,
        port.stem_diameter,
    )
    return float(max(sheet.flow) * bench.density / flux / (port.n_valves * throat))
