"""An invented port and its flow sheet, for tests."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, radians, sqrt

INCH = 0.0254
CFM = 0.3048**3 / 60.0
INH2O = 249.08891  # at 4 degC


@dataclass(frozen=True)
class Sheet:
    lift: tuple[float, ...] = tuple(INCH * h for h in (0.1, 0.2, 0.3, 0.4, 0.5, 0.6))
    flow: tuple[float, ...] = tuple(CFM * q for q in (64.0, 128.0, 184.0, 226.0, 248.0, 258.0))
    depression: float = 28.0 * INH2O
    bench_temperature: float = 293.15
    bench_pressure: float = 101325.0
    entry: str = "radiused"


@dataclass(frozen=True)
class Port:
    n_valves: int = 1
    valve_diameter: float = 2.02 * INCH
    seat_width: float = 0.070 * INCH
    seat_angle: float = radians(45.0)
    stem_diameter: float = 0.342 * INCH
    sheet: Sheet = Sheet()
    reverse_flow_ratio: float = 0.9
    port_length: float = 5.4 * INCH
    port_volume: float = 1.11 * 2.1 * 5.4 * INCH**3
    port_area_min: float = 2.1 * INCH**2
    port_flange_diameter: float = sqrt(4.0 / pi * 1.22 * 2.1) * INCH
