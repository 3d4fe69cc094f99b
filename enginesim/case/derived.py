"""What follows from a case without simulating anything."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from enginesim.case.bench import effective_area
from enginesim.case.reading import load
from enginesim.formulas.areas import circle, curtain_area, throat_area
from enginesim.formulas.crank import swept_volume, trapped_ratio

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from enginesim.base.errors import Problem
    from enginesim.case.head import Port
    from enginesim.case.reading import Changes
    from enginesim.case.tree import Assumed, Case


@dataclass(frozen=True, slots=True)
class PortAreas:
    """
    Areas of one side of one cylinder.

    Attributes
    ----------
    valve, throat, curtain : float
        Valve heads, openings inside the seats, curtains at full lift; all valves. [m2]
    port_min, flange : float
        Smallest and outer section of the port. [m2]
    effective : float
        Ideal nozzle with the best flow of the sheet. [m2]
    lift_ratio : float
        Full lift over valve diameter. [-]
    """

    valve: float
    throat: float
    curtain: float
    port_min: float
    flange: float
    effective: float
    lift_ratio: float


@dataclass(frozen=True, slots=True)
class Derived:
    """
    Derived numbers of a case.

    Attributes
    ----------
    case : Case
        The case itself.
    displacement, swept_volume, clearance_volume : float
        Of the engine, and of one cylinder. [m3]
    pieces : mapping of str to float
        What the clearance volume is made of, as far as given. [m3]
    trapped_ratio : float
        Compression ratio from the closing of the intake valve at its seat. [-]
    rod_ratio : float
        Connecting rod over stroke. [-]
    intake, exhaust : PortAreas
        Of one cylinder.
    stroke_of_speed : float
        Mean piston speed at 1000 rpm. [m/s]
    bank_intervals : tuple of tuple of float
        Crank angle between firings in each bank. [rad]
    """

    case: Case
    displacement: float
    swept_volume: float
    clearance_volume: float
    pieces: Mapping[str, float]
    trapped_ratio: float
    rod_ratio: float
    intake: PortAreas
    exhaust: PortAreas
    stroke_of_speed: float
    bank_intervals: tuple[tuple[float, ...], ...]

    @property
    def assumed(self) -> tuple[Assumed, ...]:
        """Every default that was used."""
        return self.case.assumed

    @property
    def warnings(self) -> tuple[Problem, ...]:
        """What is doubtful but not wrong."""
        return self.case.warnings


def check(path: str | Path, overrides: Changes = ()) -> Derived:
    """
    Derived numbers of a case file.

    Parameters
    ----------
    path : str or Path
        The case.
    overrides : mapping, str or iterable of str
        As in `load`.

    Returns
    -------
    Derived
        Numbers that need no simulation.

    Raises
    ------
    CaseError
        With every problem, if there is any.
    """
    return derive(load(path, overrides))


def derive(case: Case) -> Derived:
    """
    Derived numbers of a case.

    Parameters
    ----------
    case : Case
        Any.

    Returns
    -------
    Derived
        Numbers that need no simulation.
    """
    block = case.block
    swept = swept_volume(block.bore, block.stroke)
    clearance = swept / (block.compression_ratio - 1)
    return Derived(
        case=case,
        displacement=block.n_cylinders * swept,
        swept_volume=swept,
        clearance_volume=clearance,
        pieces=_pieces(case),
        trapped_ratio=_trapped_ratio(case),
        rod_ratio=block.rod_length / block.stroke,
        intake=_areas(case.head.intake, case.cam.intake.valve_lift),
        exhaust=_areas(case.head.exhaust, case.cam.exhaust.valve_lift),
        stroke_of_speed=2 * block.stroke * 1000 / 60,
        bank_intervals=_bank_intervals(case),
    )


def _pieces(case: Case) -> dict[str, float]:
    block = case.block
    if block.chamber_volume is None or block.gasket_bore is None:
        return {}
    return {
        "chamber": block.chamber_volume,
        "gasket": circle(block.gasket_bore) * (block.gasket_thickness or 0.0),
        "deck": circle(block.bore) * (block.deck_clearance or 0.0),
        "dish": block.dish_volume or 0.0,
        "crevice": block.crevice_volume,
    }


def _trapped_ratio(case: Case) -> float:
    """Compression ratio from intake closing, at the lowest height of the card."""
    cam, block = case.cam, case.block
    if cam.intake.durations:
        half = 0.5 * cam.intake.durations[0][1]
    elif cam.intake.lift_table is not None:
        half = cam.intake.lift_table.angle[-1]
    else:
        return block.compression_ratio
    closes = cam.intake_centreline + half
    return trapped_ratio(
        block.compression_ratio, closes - math.pi, block.stroke, block.rod_length, block.pin_offset
    )


def _areas(port: Port, lift: float) -> PortAreas:
    n, sheet = port.n_valves, port.sheet
    best = max(range(len(sheet.flow)), key=lambda i: sheet.flow[i])
    return PortAreas(
        valve=n * circle(port.valve_diameter),
        throat=n
        * throat_area(port.valve_diameter, port.seat_width, port.seat_angle, port.stem_diameter),
        curtain=n * curtain_area(port.valve_diameter, lift),
        port_min=port.port_area_min,
        flange=circle(port.port_flange_diameter),
        effective=effective_area(
            sheet.flow[best], sheet.depression, sheet.bench_pressure, sheet.bench_temperature
        ),
        lift_ratio=lift / port.valve_diameter,
    )


def _bank_intervals(case: Case) -> tuple[tuple[float, ...], ...]:
    block = case.block
    when, angle = {}, 0.0
    for cylinder, interval in zip(block.firing_order, block.firing_intervals, strict=True):
        when[cylinder] = angle
        angle += interval
    result = []
    for bank in block.banks:
        angles = sorted(when[cylinder] for cylinder in bank)
        following = [*angles[1:], angles[0] + 4 * math.pi]
        result.append(tuple(b - a for a, b in zip(angles, following, strict=True)))
    return tuple(result)
