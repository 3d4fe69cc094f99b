"""Slider-crank kernels against published volumes, an independent formula and differences."""

from __future__ import annotations

import math

import pytest

from enginesim.formulas import crank
from tests.exact import slider_crank

DEG = math.pi / 180.0
BORE, STROKE, ROD = 0.086, 0.086, 0.143
SWEPT = 0.25 * math.pi * BORE**2 * STROKE


@pytest.mark.parametrize(
    "angle,travel,volume,speed_ratio",
    [
        # Heywood, equations 2.4 to 2.11 (from memory), recomputed: compression 10.
        (30.0, 7.3864e-3, 98.41e-6, 0.99228),
        (60.0, 26.4339e-3, 209.06e-6, 1.57219),
        (90.0, 49.6182e-3, 343.729e-6, 1.57080),
        (120.0, 69.4339e-3, 458.83e-6, 1.14851),
        (150.0, 81.8646e-3, 531.04e-6, 0.57852),
        (180.0, 86.0e-3, 555.063e-6, 0.0),
    ],
)
def test_published_places(angle: float, travel: float, volume: float, speed_ratio: float) -> None:
    theta = angle * DEG
    found = crank.volume(theta, BORE, STROKE, ROD, 0.0, SWEPT / 9.0)
    slope = crank.travel_slope(theta, STROKE, ROD, 0.0)
    assert crank.piston_travel(theta, STROKE, ROD, 0.0) == pytest.approx(travel, abs=6e-8)
    assert found == pytest.approx(volume, abs=6e-9)
    assert slope / crank.mean_piston_speed(1.0, STROKE) == pytest.approx(speed_ratio, abs=6e-6)


def test_whole_volumes() -> None:
    # The same engine: 499.557 and 55.506 cm3.
    assert crank.volume(0.0, BORE, STROKE, ROD, 0.0, SWEPT / 9.0) == pytest.approx(
        55.506e-6, abs=6e-10
    )
    span = crank.volume(math.pi, BORE, STROKE, ROD, 0.0, 0.0)
    assert span == pytest.approx(499.557e-6, abs=6e-10)


def test_greatest_speed() -> None:
    # The same engine: 1.64076 of the mean at 74.50 degrees.
    ratios = {
        k: crank.travel_slope(0.01 * k * DEG, STROKE, ROD, 0.0)
        / crank.mean_piston_speed(1.0, STROKE)
        for k in range(7000, 8000)
    }
    best = max(ratios, key=ratios.__getitem__)
    assert 0.01 * best == pytest.approx(74.50, abs=0.01)
    assert ratios[best] == pytest.approx(1.64076, abs=6e-6)


@pytest.mark.parametrize(
    "bore,stroke,rod,compression,closing,dynamic",
    [
        # Dynamic compression ratios, recomputed: inches, degrees after bottom dead centre.
        (4.00, 3.48, 5.7, 10.0, 60.0, 8.2745),
        (4.00, 3.48, 5.7, 9.5, 65.0, 7.5896),
        (0.086, 0.086, 0.143, 10.0, 50.0, 8.7950),
    ],
)
def test_dynamic_compression(
    bore: float, stroke: float, rod: float, compression: float, closing: float, dynamic: float
) -> None:
    clearance = 0.25 * math.pi * bore**2 * stroke / (compression - 1.0)
    closed = crank.volume((closing - 180.0) * DEG, bore, stroke, rod, 0.0, clearance)
    assert closed / clearance == pytest.approx(dynamic, abs=6e-5)


@pytest.mark.parametrize("offset", [-2e-3, 0.0, 1.2e-3])
@pytest.mark.parametrize("theta", [-5.0, -1.1, 0.4, 2.0, 3.9])
def test_offset_moves_the_top_to_zero(offset: float, theta: float) -> None:
    turned = math.asin(offset / (ROD + 0.5 * STROKE))
    expected = slider_crank.displacement(theta + turned, STROKE, ROD, offset)
    assert crank.piston_travel(theta, STROKE, ROD, offset) == pytest.approx(expected, rel=1e-12)
    assert crank.piston_travel(0.0, STROKE, ROD, offset) == pytest.approx(0.0, abs=1e-16)
    assert crank.travel_slope(0.0, STROKE, ROD, offset) == pytest.approx(0.0, abs=1e-15)


@pytest.mark.parametrize("offset", [0.0, 1.5e-3])
@pytest.mark.parametrize("theta", [-2.0, 0.3, 1.7, 4.0])
def test_slopes_are_slopes(offset: float, theta: float) -> None:
    h = 1e-5
    travel = [crank.piston_travel(x, STROKE, ROD, offset) for x in (theta - h, theta + h)]
    volume = [crank.volume(x, BORE, STROKE, ROD, offset, 1e-5) for x in (theta - h, theta + h)]
    # Central differences: their own error is h squared.
    assert crank.travel_slope(theta, STROKE, ROD, offset) == pytest.approx(
        (travel[1] - travel[0]) / (2.0 * h), abs=1e-11
    )
    assert crank.volume_slope(theta, BORE, STROKE, ROD, offset) == pytest.approx(
        (volume[1] - volume[0]) / (2.0 * h), abs=1e-13
    )


def test_period_is_one_turn() -> None:
    for theta in (0.1, 1.0, 2.5):
        ahead = crank.volume(theta + 2.0 * math.pi, BORE, STROKE, ROD, 1e-3, 5e-5)
        assert ahead == pytest.approx(crank.volume(theta, BORE, STROKE, ROD, 1e-3, 5e-5), rel=1e-13)
