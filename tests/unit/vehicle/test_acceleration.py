"""Acceleration times against closed forms of Newton's second law."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from enginesim.base.errors import ResultError
from enginesim.vehicle import Vehicle, accelerate, loads, pulls
from enginesim.vehicle.acceleration import HUNDRED_KM_H, PASSING, QUARTER_MILE, SIXTY_MPH
from enginesim.vehicle.run import Course, drive
from enginesim.vehicle.shifting import best_shifts
from enginesim.vehicle.traction import Driveline

# Nothing that turns, no losses, all the grip in the world: 1000 kg on 0.3 m wheels.
PLAIN = """
[body]
mass = "1000 kg"
drag_area = "{drag}"
rolling_resistance = {rolling}
rotating_mass = 0
[tyres]
diameter = "0.6 m"
rolling_radius = "0.3 m"
grip = {grip}
[gearbox]
gears = {gears}
axle = 3
efficiency = 1
shift_time = "{shift_time}"
engine_inertia = "{inertia}"
[launch]
rpm = 1000
driven_share = 1
[road]
air_density = "1.2 kg/m3"
"""
# The solver's own tolerance is 1e-8; times of several seconds are found to 1e-6 of themselves.
CLOSE = 1e-6


def plain(**given: object) -> Vehicle:
    usual = {"drag": "0 m2", "rolling": 0, "grip": 5, "gears": "[1.0]", "shift_time": "0 s",
             "inertia": "0 kg*m2"}  # fmt: skip
    return loads(PLAIN.format(**{**usual, **given}))


def test_constant_force() -> None:
    """400 N m x 3 / 0.3 m = 4 kN on 1000 kg: 4 m/s2 from rest to any speed."""
    run = accelerate(plain(), [1000, 20000], [400, 400])
    assert run.to_60_mph == pytest.approx(SIXTY_MPH / 4, rel=CLOSE)
    assert run.to_100_km_h == pytest.approx(HUNDRED_KM_H / 4, rel=CLOSE)
    assert run.passing == pytest.approx((PASSING[1] - PASSING[0]) / 4, rel=CLOSE)
    assert run.passing_top == pytest.approx(run.passing, rel=CLOSE)
    assert run.quarter_mile == pytest.approx(math.sqrt(2 * QUARTER_MILE / 4), rel=CLOSE)
    assert run.quarter_mile_speed == pytest.approx(math.sqrt(2 * QUARTER_MILE * 4), rel=CLOSE)


def test_constant_power() -> None:
    """Power P is F v: half the mass times the rise of v squared takes P times the time."""
    power, omega = 100e3, np.linspace(50.0, 2000.0, 20001)
    run = accelerate(plain(), omega * 30 / math.pi, power / omega)
    low, high = PASSING
    # Straight lines between 20,000 points of a hyperbola: below 1e-5 of the torque.
    assert run.passing == pytest.approx(500 * (high**2 - low**2) / power, rel=1e-5)


def test_constant_force_against_the_air() -> None:
    """Terminal speed sqrt(2 F/(rho CdA)); v = v_t tanh(F t/(m v_t)), x by its integral."""
    run = accelerate(plain(drag="2 m2"), [1000, 20000], [400, 400])
    terminal = math.sqrt(2 * 4000 / (1.2 * 2))
    time = 1000 * terminal / 4000 * math.atanh(SIXTY_MPH / terminal)
    assert run.to_60_mph == pytest.approx(time, rel=CLOSE)
    travelled = QUARTER_MILE * 4000 / (1000 * terminal**2)
    time = 1000 * terminal / 4000 * math.acosh(math.exp(travelled))
    assert run.quarter_mile == pytest.approx(time, rel=CLOSE)


def test_rolling_resistance_and_grade_add_up() -> None:
    """4000 N less 0.02 of the weight on 10 % of grade, which is 0.0995 of the weight along it."""
    vehicle = loads(PLAIN.format(drag="0 m2", rolling=0.02, grip=5, gears="[1]", shift_time="0 s",
                                 inertia="0 kg*m2") + 'grade = "10 %"\n')  # fmt: skip
    slope = math.atan(0.1)
    a = 4 - 9.80665 * (0.02 * math.cos(slope) + math.sin(slope))
    run = accelerate(vehicle, [1000, 20000], [400, 400])
    assert run.to_60_mph == pytest.approx(SIXTY_MPH / a, rel=CLOSE)


def test_grip_limits_the_launch() -> None:
    run = accelerate(plain(grip=0.25), [1000, 20000], [400, 400])
    assert run.to_60_mph == pytest.approx(SIXTY_MPH / (0.25 * 9.80665), rel=CLOSE)


def test_the_engine_is_accelerated_once_the_clutch_is_home() -> None:
    """1 kg m2 x (3/0.3 m)^2 adds 100 kg; below 1000 rpm (10.47 m/s) the clutch slips."""
    run = accelerate(plain(inertia="1 kg*m2"), [1000, 20000], [400, 400])
    home = 1000 * math.pi / 30 * 0.3 / 3
    time = 1000 * home / 4000 + 1100 * (SIXTY_MPH - home) / 4000
    assert run.to_60_mph == pytest.approx(time, rel=CLOSE)


def test_a_change_up_costs_its_time() -> None:
    """First gear to 20 m/s with 8 kN, half a second of rolling free, then 4 kN."""
    vehicle = plain(gears="[2.0, 1.0]", shift_time="0.5 s")
    change = 20.0 * 6 / 0.3 * 30 / math.pi
    given = replace(vehicle.gearbox, shift_speed=(change,))
    run = accelerate(replace(vehicle, gearbox=given), [500, 20000], [400, 400])
    assert run.shift_speeds == pytest.approx((change,))
    time = 20.0 / 8 + 0.5 + (SIXTY_MPH - 20.0) / 4
    assert run.to_60_mph == pytest.approx(time, rel=CLOSE)


@pytest.mark.parametrize("top", [72.0, 74.0, 75.0, 76.0, 77.0, 78.0, 79.0, 80.0])
def test_a_run_that_ends_during_a_change_ends_there(top: float) -> None:
    """
    8 kN to the top speed of first gear; the rest of the quarter mile rolls by in a change of two
    seconds, at that speed, and no further gear is driven. Whether a run that went on was ever
    stopped hung on the rounding of the distance: of these speeds, some went on.
    """
    vehicle = plain(gears="[2.0, 1.0]", shift_time="2 s")
    change = top * 6 / 0.3 * 30 / math.pi
    given = replace(vehicle.gearbox, shift_speed=(change,))
    run = accelerate(replace(vehicle, gearbox=given), [500, 40000], [400, 400])
    time = top / 8 + (QUARTER_MILE - 0.5 * top**2 / 8) / top
    assert run.quarter_mile == pytest.approx(time, rel=CLOSE)
    assert run.quarter_mile_speed == pytest.approx(top, rel=CLOSE)
    assert run.time[-1] == pytest.approx(time, rel=CLOSE)
    assert run.distance[-1] == pytest.approx(QUARTER_MILE, rel=CLOSE)
    assert run.speed.max() == pytest.approx(top, rel=CLOSE)


def test_a_mark_that_is_passed_during_a_change_ends_a_run_without_distance() -> None:
    """Downhill the road speed rises with the clutch out: the last mark is passed there."""
    vehicle = loads(PLAIN.format(drag="0 m2", rolling=0, grip=5, gears="[2.0, 1.0]",
                                 shift_time="1 s", inertia="0 kg*m2")
                    + 'grade = "-10 %"\n')  # fmt: skip
    line = Driveline(vehicle, np.array([500, 40000]), np.array([400, 400]))
    change = 20.0 * 6 / 0.3 * 30 / math.pi
    run = drive(line, (change,), Course(speeds=(20.5,)))
    assert run.reached.keys() == {20.5}
    assert run.time[-1] == pytest.approx(20.0 / (8 + 0.9758) + 1.0, rel=1e-4)


def test_gears_run_out_to_the_end_of_a_flat_curve() -> None:
    """8 kN to 6000 rpm, which are 31.4 m/s in first gear, then 4 kN; no time lost."""
    run = accelerate(plain(gears="[2.0, 1.0]"), [1000, 3000, 6000], [400, 400, 400])
    assert run.shift_speeds == pytest.approx((6000.0,))
    change = 6000 * math.pi / 30 * 0.3 / 6
    assert run.to_60_mph == pytest.approx(SIXTY_MPH / 8, rel=CLOSE)
    time = change / 8 + (40 - change) / 4
    assert float(np.interp(40, run.speed, run.time)) == pytest.approx(time, rel=1e-4)


def test_best_change_of_a_falling_torque() -> None:
    """Torque a - b n: the pulls of two gears cross at n = a/(b (1 + r)), r the step between."""
    vehicle = plain(gears="[2.0, 1.2]")
    line = Driveline(vehicle, [1000.0, 9000.0], [500.0, 100.0])
    (change,) = best_shifts(line)
    a, b = 550.0, 0.05
    # 800 road speeds over the common range: the change is one of them.
    assert change == pytest.approx(a / (b * (1 + 0.6)), abs=12.0)


def test_a_rising_torque_is_used_to_the_end() -> None:
    line = Driveline(plain(gears="[2.0, 1.5, 1.0]"), [1000.0, 6000.0], [200.0, 400.0])
    assert best_shifts(line) == pytest.approx((6000.0, 6000.0))


def test_shift_at_any_other_speed_is_slower() -> None:
    vehicle, curve = plain(gears="[2.0, 1.2]"), ([1000.0, 5000.0, 7000.0], [350.0, 400.0, 200.0])
    best = accelerate(vehicle, *curve)
    for change in (4500.0, best.shift_speeds[0] - 300, best.shift_speeds[0] + 300):
        box = replace(vehicle.gearbox, shift_speed=(change,))
        other = accelerate(replace(vehicle, gearbox=box), *curve)
        assert other.quarter_mile > best.quarter_mile


def test_a_speed_that_is_never_reached_is_no_number() -> None:
    """One gear whose engine ends at 12 m/s: the quarter mile is rolled through at that speed."""
    run = accelerate(plain(), [1000, 12.0 * 10 * 30 / math.pi], [400, 400])
    assert math.isnan(run.to_60_mph)
    assert math.isnan(run.passing)
    time = 3.0 + (QUARTER_MILE - 18.0) / 12.0
    assert run.quarter_mile == pytest.approx(time, rel=CLOSE)


def test_top_speed_against_the_air_is_never_passed() -> None:
    """Terminal speed 25.8 m/s; v squared falls short of its square as exp(-2 F x/(m v_t^2))."""
    run = accelerate(plain(drag="10 m2"), [500, 20000], [400, 400])
    assert math.isnan(run.to_60_mph)
    square = 2 * 4000 / 12
    missing = math.exp(-2 * 4000 * QUARTER_MILE / (1000 * square))
    assert run.quarter_mile_speed == pytest.approx(math.sqrt(square * (1 - missing)), rel=CLOSE)


def test_a_hill_too_steep_is_not_climbed() -> None:
    vehicle = loads(PLAIN.format(drag="0 m2", rolling=0, grip=5, gears="[1]", shift_time="0 s",
                                 inertia="0 kg*m2") + 'grade = "30 %"\n')  # fmt: skip
    run = accelerate(vehicle, [1000, 20000], [200, 200])
    assert math.isnan(run.to_60_mph)
    assert math.isnan(run.quarter_mile)


def test_pull_in_each_gear() -> None:
    """400 N m x 2 x 3 / 0.3 m in first, half of it in second; 1000 rpm are 5.24 and 10.47 m/s."""
    first, second = pulls(plain(gears="[2.0, 1.0]"), [1000, 5000], [400, 400])
    assert first.force == pytest.approx(8000.0)
    assert second.force == pytest.approx(4000.0)
    assert (first.speed[0], second.speed[0]) == pytest.approx((math.pi / 0.6, math.pi / 0.3))
    assert second.speed[-1] == pytest.approx(5 * math.pi / 0.3)


@pytest.mark.parametrize(
    "rpm, torque, words",
    [
        ([1000], [400], "two or more"),
        ([1000, 2000], [400], "as many of both"),
        ([2000, 1000], [400, 400], "rising"),
        ([1000, 2000], [400, math.nan], "no number"),
    ],
)
def test_no_curve(rpm: list[float], torque: list[float], words: str) -> None:
    with pytest.raises(ResultError, match=words):
        accelerate(plain(), rpm, torque)


def test_a_limit_below_the_curve() -> None:
    box = replace(plain().gearbox, highest_speed=900.0)
    with pytest.raises(ResultError, match="where the torque curve begins"):
        Driveline(replace(plain(), gearbox=box), [1000.0, 5000.0], [400.0, 400.0])
