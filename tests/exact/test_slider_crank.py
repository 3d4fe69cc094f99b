"""Slider-crank against published volumes and speeds, and against differentiation."""

from __future__ import annotations

import math

import pytest
from scipy.optimize import minimize_scalar

from tests.exact import slider_crank

BORE, STROKE, ROD, RATIO = 0.086, 0.086, 0.143, 10.0

# Heywood, equations 2.4 to 2.11 (from memory); recomputed. Degrees, mm, cm3, speed / mean speed.
TABLE = [
    (30, 7.3864, 98.41, 0.99228),
    (60, 26.4339, 209.06, 1.57219),
    (90, 49.6182, 343.729, 1.57080),
    (120, 69.4339, 458.83, 1.14851),
    (150, 81.8646, 531.04, 0.57852),
    (180, 86.0, 555.06, 0.0),
]


@pytest.mark.parametrize("degrees,way,volume,speed", TABLE)
def test_table(degrees: float, way: float, volume: float, speed: float) -> None:
    theta = math.radians(degrees)
    assert slider_crank.displacement(theta, STROKE, ROD) == pytest.approx(way * 1e-3, abs=6e-8)
    found = slider_crank.volume(theta, BORE, STROKE, ROD, RATIO)
    assert found == pytest.approx(volume * 1e-6, abs=6e-9)
    assert slider_crank.speed_ratio(theta, STROKE, ROD) == pytest.approx(speed, abs=6e-6)


def test_whole_volumes() -> None:
    # Recomputed.
    swept = slider_crank.swept_volume(BORE, STROKE)
    assert swept == pytest.approx(499.557e-6, rel=1e-6)
    assert slider_crank.volume(0.0, BORE, STROKE, ROD, RATIO) == pytest.approx(55.506e-6, rel=1e-5)
    assert slider_crank.volume(math.pi, BORE, STROKE, ROD, RATIO) == pytest.approx(
        RATIO / (RATIO - 1.0) * swept, rel=1e-12
    )


def test_greatest_speed() -> None:
    # Recomputed: 1.64076 times the mean at 74.50 degrees.
    best = minimize_scalar(
        lambda theta: -slider_crank.speed_ratio(theta, STROKE, ROD),
        bounds=(1.0, 1.6),
        method="bounded",
        options={"xatol": 1e-9},
    )
    assert -best.fun == pytest.approx(1.64076, abs=1e-5)
    assert math.degrees(best.x) == pytest.approx(74.50, abs=0.01)


@pytest.mark.parametrize("theta", [0.3, 1.7, 4.0])
def test_speed_is_the_slope_of_the_way(theta: float) -> None:
    step = 1e-6
    slope = slider_crank.displacement(theta + step, STROKE, ROD) - slider_crank.displacement(
        theta - step, STROKE, ROD
    )
    # Mean speed is two strokes a turn.
    assert slope / (2.0 * step) * math.pi / STROKE == pytest.approx(
        slider_crank.speed_ratio(theta, STROKE, ROD), abs=1e-8
    )


def test_offset_lengthens_the_way_and_moves_its_top() -> None:
    offset = 1.2e-3
    way = [slider_crank.displacement(0.001 * k, STROKE, ROD, offset) for k in range(6284)]
    assert min(way) == pytest.approx(0.0, abs=2e-8)  # the top lies between two of the angles
    assert min(way) >= 0.0
    longest = math.sqrt((ROD + 0.5 * STROKE) ** 2 - offset**2) - math.sqrt(
        (ROD - 0.5 * STROKE) ** 2 - offset**2
    )
    assert max(way) == pytest.approx(longest, rel=1e-7)
    assert longest > STROKE
