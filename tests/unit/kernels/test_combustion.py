"""Laminar burning velocity, burn schedule and what the flame consumes."""

from __future__ import annotations

import math

import numpy as np
import pytest

from enginesim.formulas import wiebe
from enginesim.kernels import combustion
from enginesim.kernels import cylinder_layout as at
from tests.cylinders import DEG, engine, omega

ATMOSPHERE = 101325.0


def test_flame_speed_worked() -> None:
    # Rhodes & Keck's correlation (from memory), recomputed: 600 K, 10 atm, stoichiometric.
    par = engine()
    found = combustion.flame_speed(par, 1.0, 0.0, 10.0 * ATMOSPHERE, 600.0)
    assert found == pytest.approx(0.791, abs=6e-4)


def test_dilution_worked() -> None:
    par = engine()
    clean = combustion.flame_speed(par, 1.0, 0.0, 1e6, 650.0)
    assert combustion.flame_speed(par, 1.0, 0.10, 1e6, 650.0) / clean == pytest.approx(
        0.650, abs=6e-4
    )


def test_flame_is_fastest_a_little_rich_at_the_reference_state() -> None:
    par = engine()
    speeds = {
        k: combustion.flame_speed(par, 0.01 * k, 0.0, ATMOSPHERE, 298.0) for k in range(70, 150)
    }
    best = max(speeds, key=speeds.__getitem__)
    assert (best, speeds[best]) == (113, pytest.approx(0.263))


@pytest.mark.parametrize("phi,residual", [(0.4, 0.0), (1.0, 0.45), (2.2, 0.1)])
def test_no_flame_outside_the_correlation(phi: float, residual: float) -> None:
    assert combustion.flame_speed(engine(), phi, residual, 1e6, 650.0) == 0.0


def schedule(par: np.ndarray, rpm: float, speed: float) -> tuple[float, float, float]:
    """Delay to 10 %, duration from 10 to 90 %, and the beginning after the spark, all in deg."""
    start, length = combustion.burn_schedule(par, -0.4, omega(rpm), speed)
    at_10, at_90 = (wiebe.position(x, par[at.P_WIEBE_A], par[at.P_WIEBE_M]) for x in (0.1, 0.9))
    return (
        (start + at_10 * length + 0.4) / DEG,
        (at_90 - at_10) * length / DEG,
        (start + 0.4) / DEG,
    )


def test_base_point_gives_the_base_angles() -> None:
    par = engine(flame_base=0.7, speed_exponent=0.3, flame_exponent=0.5)
    delay, duration, start = schedule(par, 3000.0, 0.7)
    assert (delay, duration) == (pytest.approx(22.0), pytest.approx(25.0))
    # By hand: 22 - 25 * 0.2762 / 0.4960.
    assert start == pytest.approx(8.08, abs=0.01)


def test_angles_follow_their_powers() -> None:
    par = engine(flame_base=0.7, speed_exponent=0.3, flame_exponent=0.5)
    delay, duration, _ = schedule(par, 6000.0, 0.35)
    factor = 2.0**0.3 * 2.0**0.5
    assert (delay, duration) == (pytest.approx(22.0 * factor), pytest.approx(25.0 * factor))


def test_nothing_burns_before_the_spark() -> None:
    delay, duration, start = schedule(engine(delay=5.0 * DEG), 3000.0, 1.0)
    assert start == pytest.approx(0.0, abs=1e-12)
    assert delay == pytest.approx(25.0 * 0.2762 / 0.4960, abs=0.01)
    assert duration == pytest.approx(25.0)


def test_a_flame_that_would_not_burn_is_only_very_slow() -> None:
    par = engine(flame_exponent=0.5)
    assert schedule(par, 3000.0, 0.0) == schedule(par, 3000.0, combustion.SLOWEST)
    assert schedule(par, 3000.0, 0.0)[1] == pytest.approx(25.0 * math.sqrt(20.0))


@pytest.mark.parametrize(
    "air,fuel,efficiency,burned",
    [
        (20.0, 1.0, 1.0, (20.0, 1.0)),  # in proportion
        (20.0, 1.0, 0.97, (19.4, 0.97)),  # part of both is left
        (30.0, 1.0, 1.0, (20.0, 1.0)),  # air is left
        (20.0, 1.5, 0.97, (20.0, 1.0)),  # fuel is left: no air for it
        (20.0, 0.0, 1.0, (0.0, 0.0)),
        (20.0, -1e-18, 1.0, (0.0, 0.0)),
    ],
)
def test_consumed(air: float, fuel: float, efficiency: float, burned: tuple[float, float]) -> None:
    assert combustion.consumed(air, fuel, 0.05, efficiency) == pytest.approx(burned)


def test_a_gas_without_fuel_does_not_burn() -> None:
    assert combustion.consumed(1.0, 1.0, 0.0, 1.0) == (0.0, 0.0)
