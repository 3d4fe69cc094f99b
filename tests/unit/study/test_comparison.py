"""Comparison of curves whose answers can be worked out by hand."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import isnan, pi

import numpy as np
import pytest

from enginesim.base.errors import ResultError
from enginesim.performance import Curve
from enginesim.study.comparison import (
    MESH,
    Comparison,
    Side,
    compare,
    interaction,
)
from enginesim.study.straight_lines import crossovers, mean
from enginesim.study.usage import Weights, Window
from tests.unit.study.results import result

SPEEDS = tuple(float(rpm) for rpm in range(2000, 6001, 500))
NONE = np.zeros(len(SPEEDS))


def curve(torque: Callable[[float], float], speeds: Sequence[float] = SPEEDS) -> Curve:
    return Curve(
        result(rpm, torque=torque(rpm), power=torque(rpm) * rpm * pi / 30) for rpm in speeds
    )


def pair(a: Callable[[float], float], b: Callable[[float], float], **options: object) -> Comparison:
    sides = [Side("A", "first", curve(a)), Side("B", "second", curve(b))]
    return compare(sides, **options)  # type: ignore[arg-type]


def flat(_: float) -> float:
    return 400.0


def line(rpm: float) -> float:
    """Loses 30 N m at 2000 rpm, gains 50 at 6000: crosses at 3500."""
    return 400.0 + (rpm - 3500.0) / 50.0


def test_difference_peaks_and_extremes() -> None:
    found = pair(flat, line)
    assert found.difference(1) == pytest.approx((np.array(SPEEDS) - 3500.0) / 50.0)
    assert found.difference(0) == pytest.approx(NONE)
    assert found.peak(1, "torque") == (6000.0, 450.0)
    assert found.peak(0, "power")[0] == 6000.0
    assert found.peak(1, "power")[1] == pytest.approx(450.0 * 200 * pi)
    assert found.largest(1, "torque", 1.0) == (6000.0, pytest.approx(50.0))
    assert found.largest(1, "torque", -1.0) == (2000.0, pytest.approx(-30.0))
    assert found.largest(0, "torque", 1.0) is None
    with pytest.raises(ResultError, match="torque and power"):
        found.peak(0, "ve")


def test_averages_over_a_window() -> None:
    found = pair(flat, line, window=Window(2250.0, 5750.0))
    assert found.average(0, "torque") == pytest.approx(400.0)
    assert found.average(1, "torque") == pytest.approx(400.0 + (4000.0 - 3500.0) / 50.0)
    # Power of a flat torque is linear in speed: its mean is at the middle of the window.
    assert found.average(0, "power") == pytest.approx(400.0 * 4000.0 * pi / 30)
    assert pair(flat, line).average(1, "torque") == pytest.approx(410.0)


def test_average_over_a_histogram() -> None:
    weights = Weights(((2000.0, 2000.0, 3.0), (3000.0, 4000.0, 6.0), (6000.0, 6000.0, 1.0)))
    found = pair(flat, line, weights=weights)
    expected = (3 * -30.0 + 6 * 0.0 + 1 * 50.0) / 10
    assert found.weighted(1, "torque") - 400.0 == pytest.approx(expected)
    assert found.weighted(0, "torque") == pytest.approx(400.0)
    assert isnan(pair(flat, line).weighted(1, "torque"))


def test_which_is_better_depends_on_the_window() -> None:
    low, high = (pair(flat, line, window=Window(*ends)) for ends in ((2000, 4000), (4000, 6000)))
    assert low.average(1, "torque") < low.average(0, "torque")
    assert high.average(1, "torque") > high.average(0, "torque")


def test_crossover_of_two_lines() -> None:
    (found,) = crossovers(np.array(SPEEDS), pair(flat, line).difference(1), NONE)
    assert found.rpm == pytest.approx(3500.0)
    assert found.low == found.high == found.rpm
    assert found.is_rising


def test_crossover_between_the_speeds_and_its_width() -> None:
    rpm = np.array([2000.0, 3000.0, 4000.0])
    (found,) = crossovers(rpm, np.array([-10.0, -4.0, 6.0]), np.full(3, 1.0))
    assert found.rpm == pytest.approx(3400.0)
    assert found.low == pytest.approx(3300.0)
    assert found.high == pytest.approx(3500.0)
    (found,) = crossovers(rpm, np.array([10.0, 4.0, -6.0]), np.full(3, 1.0))
    assert (found.low, found.rpm, found.high) == pytest.approx((3300.0, 3400.0, 3500.0))
    assert not found.is_rising


def test_two_crossovers() -> None:
    rpm = np.array([1000.0, 2000.0, 3000.0])
    found = crossovers(rpm, np.array([5.0, -5.0, 5.0]), np.zeros(3))
    assert [c.rpm for c in found] == [1500.0, 2500.0]
    assert [c.is_rising for c in found] == [False, True]


@pytest.mark.parametrize(
    "difference",
    [
        [1.0, 0.0, 1.0],  # touches zero
        [5.0, -0.5, 5.0],  # dips below it by less than the error
        [0.5, -0.5, 0.5],  # noise
        [0.0, 0.0, 0.0],
        [5.0, 5.0, -0.5],  # ends within the error
    ],
)
def test_no_crossover(difference: list[float]) -> None:
    rpm = np.array([1000.0, 2000.0, 3000.0])
    assert crossovers(rpm, np.array(difference), np.full(3, 0.6)) == ()


def test_stretch_of_zeros_crosses_in_its_middle() -> None:
    rpm = np.array([1000.0, 2000.0, 3000.0, 4000.0])
    (found,) = crossovers(rpm, np.array([-5.0, 0.0, 0.0, 5.0]), np.zeros(4))
    assert found.rpm == pytest.approx(2500.0)


def test_correction_goes_through() -> None:
    sides = [Side("A", "", curve(flat), factor=1.05), Side("B", "", curve(flat), factor=1.0)]
    found = compare(sides)
    assert found.torque[0] == pytest.approx(np.full(9, 420.0))
    assert found.difference(1) == pytest.approx(np.full(9, -20.0))


def test_numerical_error() -> None:
    sides = [Side(letter, "", curve(flat), tolerance=1e3) for letter in "AB"]
    found = compare(sides)
    displacement = result(3000.0).displacement
    rest = 1e3 * displacement / (4 * pi)
    expected = (2 * rest**2 + (MESH * 400.0) ** 2) ** 0.5
    assert found.error[1] == pytest.approx(np.full(9, expected))
    assert found.error[0] == pytest.approx(NONE)


def test_only_speeds_that_all_have_and_that_became_periodic() -> None:
    broken = Curve([*curve(line, (3000.0, 4000.0, 5000.0)).points, result(4500.0, converged=False)])
    sides = [Side("A", "", curve(flat, (*SPEEDS, 4500.5))), Side("B", "", broken)]
    assert list(compare(sides).rpm) == [3000.0, 4000.0, 5000.0]
    with pytest.raises(ResultError, match="2 engines with 1 speeds"):
        compare([sides[1], Side("C", "", curve(flat, (3000.0,)))])
    with pytest.raises(ResultError, match="1 engines"):
        compare(sides[:1])


def test_window_beyond_the_speeds() -> None:
    with pytest.raises(ResultError, match="window: found 1500 to 3000 rpm; allowed within 2000"):
        pair(flat, line, window=Window(1500.0, 3000.0))
    with pytest.raises(ResultError, match="weights: found 3000 to 7000 rpm"):
        pair(flat, line, weights=Weights(((3000.0, 7000.0, 1.0),)))


def test_parts_that_help_each_other() -> None:
    """Base, two swaps, both together: 10 and 5 alone, 18 together."""
    sides = [
        Side(letter, "", curve(lambda _, more=more: 400.0 + more))
        for letter, more in zip("ABCD", (0.0, 10.0, 5.0, 18.0), strict=True)
    ]
    assert interaction(compare(sides)) == pytest.approx(np.full(9, 3.0))


def test_mean_of_straight_lines() -> None:
    rpm, values = np.array([1000.0, 2000.0, 4000.0]), np.array([0.0, 10.0, 0.0])
    assert mean(rpm, values, 1000.0, 4000.0) == pytest.approx(5.0)
    assert mean(rpm, values, 1500.0, 1500.0) == pytest.approx(5.0)
    assert mean(rpm, values, 1500.0, 2000.0) == pytest.approx(7.5)
