"""Filling, mixture, fuel and burn: hand-worked numbers."""

from __future__ import annotations

from math import inf, isinf, isnan, pi

import numpy as np
import pytest

from enginesim.performance import breathing, burn, fuel, knock


def test_filling_of_a_known_engine() -> None:
    # 350 cubic inch at 6000 rpm and full density draws 607.6 cfm (350 x 6000 / 3456).
    swept = 350 * 16.387064e-6
    flow = 607.6389 * 0.3048**3 / 60  # m3/s
    per_cycle = flow * 1.2 / (6000 / 120)
    assert breathing.volumetric_efficiency(per_cycle, 1.2, swept) == pytest.approx(1.0, rel=1e-6)


def test_mean_density_is_the_mean_of_the_ratio() -> None:
    p, t = np.array([1e5, 2e5, 1e5]), np.array([300.0, 400.0, 300.0])
    # The last sample repeats the first and must not count twice.
    assert breathing.mean_density(p, t, 287.0) == pytest.approx((1e5 / 300 + 2e5 / 400) / 2 / 287)
    assert breathing.cycle_mean(p) == pytest.approx(1.5e5)


def test_inlet_mach_index() -> None:
    # B 86, S 86, two valves of 33 mm, mean coefficient 0.35, 346 m/s, 6500 rpm: 0.522.
    area = np.array([0.0, 0.2, 0.5, 0.0]) * 2 * pi / 4 * 0.033**2
    mean = breathing.open_mean(area)
    assert mean == pytest.approx(0.35 * 2 * pi / 4 * 0.033**2)
    speed = 0.086 * 6500 / 30
    assert breathing.inlet_mach_index(0.086, speed, mean, 346.0) == pytest.approx(0.522, abs=5e-4)
    assert isinf(breathing.inlet_mach_index(0.086, speed, breathing.open_mean(0 * area), 346.0))


def test_sound_speed_of_air() -> None:
    # 288.15 K, cp 1006.0: 340.41 m/s (CoolProp, 1 atm); ideal gas within 0.1 %.
    assert breathing.sound_speed(287.05, 1006.0 - 287.05, 288.15) == pytest.approx(340.4, rel=1e-3)


def test_fuel_flow_and_consumption() -> None:
    # 301.5 lb/h at 0.45 lb/(hp h) is 670 hp.
    flow, power = 301.5 * 0.45359237 / 3600, 670 * 745.69987158
    pounds = fuel.specific_consumption(flow, power) / 0.45359237 * 745.69987158 * 3600
    assert pounds == pytest.approx(0.45, abs=5e-4)
    assert isnan(fuel.specific_consumption(flow, -1.0))


def test_air_ratio_leaves_water_out() -> None:
    assert fuel.air_ratio(14.6, 1.0, 0.0, 14.6) == pytest.approx(1.0)
    assert fuel.air_ratio(14.6 * 1.01, 1.0, 0.01, 14.6) == pytest.approx(1.0)
    assert fuel.air_ratio(1.0, 0.0, 0.0, 14.6) == inf


def test_direct_injection_loses_air_only() -> None:
    air, kept = fuel.trapped_charge(14.0, 1.0, 0.75)
    assert (air + kept, air / kept) == (pytest.approx(14.25), pytest.approx(14.0))


def test_peak_of_a_cosine_between_samples() -> None:
    angle = np.linspace(-pi, pi, 361)
    place, height = burn.peak(angle, 40e5 * np.cos(angle - 0.2345))
    # Fourth-order term of the cosine over half a degree: 1e-9 relative.
    assert place == pytest.approx(0.2345, abs=1e-5)
    assert height == pytest.approx(40e5, rel=1e-8)


def test_peak_at_an_end_and_on_a_plateau() -> None:
    assert burn.peak(np.arange(3.0), np.array([3.0, 2.0, 1.0])) == (0.0, 3.0)
    assert burn.peak(np.arange(4.0), np.array([1.0, 1.0, 1.0, 1.0])) == (0.0, 1.0)


def test_octane_margin() -> None:
    assert knock.octane_margin(91.0, 1.0) == pytest.approx(0.0, abs=1e-12)
    assert knock.octane_margin(91.0, 0.0) == 91.0
    assert knock.octane_margin(91.0, 1.2) < 0.0
    # 40 atm, 800 K: delays 2.803 ms at 91 octane and 2.405 at 87 (Douaud-Eyzat, computed): held
    # for 2.405 ms the 91 has 4 octane to spare.
    assert knock.octane_margin(91.0, 2.405 / 2.803) == pytest.approx(4.0, abs=0.03)


def test_spread() -> None:
    assert breathing.spread(np.array([3.0])) == 0.0
