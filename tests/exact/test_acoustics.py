"""Reflection coefficients and pitches against published numbers and impedance matching."""

from __future__ import annotations

import cmath
import math

import pytest
from CoolProp.CoolProp import PropsSI

from tests.exact import acoustics

A = 343.23  # m/s, air at 20 degC


def test_sound_speed_used_is_that_of_air() -> None:
    assert PropsSI("A", "T", 293.15, "P", 101325.0, "Air") == pytest.approx(A, rel=1e-3)


@pytest.mark.parametrize(
    "ratio,reflected,transmitted",
    [
        # Kinsler & Frey, chapter 10 (from memory); recomputed.
        (2.0, -1.0 / 3.0, 2.0 / 3.0),
        (4.0, -0.6, 0.4),
        (0.25, 0.6, 1.6),
        (1.0, 0.0, 1.0),
    ],
)
def test_area_change(ratio: float, reflected: float, transmitted: float) -> None:
    found = acoustics.area_change(1.0, ratio)
    assert found == pytest.approx((reflected, transmitted), abs=1e-14)


@pytest.mark.parametrize("n", [2, 3, 4, 5])
def test_junction_of_equal_pipes(n: int) -> None:
    # (2 - N) / N and 2 / N; five pipes: -0.6, 0.4. Winterbone & Pearson, Theory of Engine
    # Manifold Design (from memory).
    assert acoustics.junction([1e-3] * n) == pytest.approx(((2 - n) / n, 2 / n), abs=1e-14)


def test_junction_keeps_energy() -> None:
    areas = [3e-4, 1e-4, 7e-4]
    found = acoustics.junction(areas)
    out = areas[0] * found.reflected**2 + sum(areas[1:]) * found.transmitted**2
    assert out == pytest.approx(areas[0], rel=1e-14)


@pytest.mark.parametrize(
    "correction,frequency",
    [
        # Recomputed, L 350 mm, radius 20 mm. Corrections: Levine & Schwinger 1948, unflanged;
        # Rayleigh, flanged (both confirmed by public references).
        (0.0, 245.17),
        (acoustics.UNFLANGED, 236.86),
        (acoustics.FLANGED, 234.17),
    ],
)
def test_quarter_wave(correction: float, frequency: float) -> None:
    found = acoustics.quarter_wave(0.35, A, correction * 0.02)
    assert found == pytest.approx(frequency, abs=0.01)


@pytest.mark.parametrize(
    "volume,length,diameter,exact,lumped",
    [
        (5e-3, 0.1, 0.03, 64.80, 64.95),  # recomputed
        (0.5e-3, 0.35, 0.04, 128.03, 146.38),  # recomputed
    ],
)
def test_volume_and_neck(
    volume: float, length: float, diameter: float, exact: float, lumped: float
) -> None:
    area = 0.25 * math.pi * diameter**2
    frequency = acoustics.volume_and_neck(volume, area, length, A)
    assert frequency == pytest.approx(exact, abs=0.01)
    assert acoustics.lumped_resonator(volume, area, length, A) == pytest.approx(lumped, abs=0.01)
    # Impedance of the pipe, open at the far end, and of the volume cancel at resonance
    # (per rho a): i tan(k L) / area and 1 / (i k volume).
    k = 2.0 * math.pi * frequency / A
    pipe, vessel = 1j * cmath.tan(k * length) / area, 1.0 / (1j * k * volume)
    assert abs(pipe + vessel) < 1e-9 * abs(vessel)
