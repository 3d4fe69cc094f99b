"""Are strong and weak cycles told from a drift, from a swing that dies and from scatter?"""

from __future__ import annotations

import numpy as np
import pytest

from enginesim.cycle.alternation import Alternation, mean_of
from tests.records import record


def logistic(r: float, skipped: int, n: int = 8, x: float = 0.3) -> list[float]:
    """Iterates of x -> r x (1 - x): periods double at 3 and 3.449, no order at 3.9."""
    for _ in range(skipped):
        x = r * x * (1.0 - x)
    found = []
    for _ in range(n):
        found.append(x)
        x = r * x * (1.0 - x)
    return found


def seen(*series: list[float]) -> Alternation:
    watch = Alternation()
    for work in zip(*series, strict=True):
        watch.add(np.array(work))
    return watch


@pytest.mark.parametrize("r", [3.2, 3.4])
def test_a_period_of_two_lasts(r: float) -> None:
    assert seen(logistic(r, 60)).is_lasting


def test_cylinders_that_swing_against_each_other_are_seen_though_their_sum_is_still() -> None:
    series = logistic(3.3, 61)
    other = [1.2 - x for x in series]
    assert seen(series, other).is_lasting


@pytest.mark.parametrize(
    "series",
    [
        logistic(2.6, 3),  # swings by -0.6 a time: gone by itself
        logistic(3.2, 400)[::2] * 2,  # every second only: at rest
        [1.0 + 0.5 * 0.8**k for k in range(8)],  # creeps
        logistic(3.9, 60),  # no order
        [1.0 + 1e-4 * (-1) ** k for k in range(8)],  # too small for a name
    ],
    ids=["dies", "rests", "creeps", "scatters", "tiny"],
)
def test_anything_else_is_no_lasting_swing(series: list[float]) -> None:
    assert not seen(series).is_lasting


def test_too_few_cycles_say_nothing() -> None:
    watch = seen(logistic(3.3, 60, n=4))
    assert not watch.is_lasting
    assert not watch.is_scattered


@pytest.mark.parametrize("skipped", [40, 50, 60])
def test_scatter_goes_nowhere_and_does_not_shrink(skipped: int) -> None:
    assert seen(logistic(3.9, skipped), logistic(3.95, skipped + 7)).is_scattered


@pytest.mark.parametrize(
    "series",
    [
        [1.0 + 0.9**k for k in range(8)],
        logistic(2.6, 3),
        [1.0 + 1e-3 * (-1) ** k for k in range(8)],
    ],
    ids=["creeps", "dies", "tiny"],
)
def test_what_settles_is_no_scatter(series: list[float]) -> None:
    assert not seen(series).is_scattered


def test_the_mean_of_two_cycles_has_the_mean_of_each_number_and_the_swing() -> None:
    weak = record(work=np.full(4, 300.0), spark=0.5, mass_error=-3e-13, imbalance=1e-5)
    strong = record(work=np.full(4, 420.0), spark=0.5, mass_error=1e-13, imbalance=8e-5)
    mean = mean_of(weak, strong)
    assert mean.work == pytest.approx(np.full(4, 360.0))
    assert mean.swing == pytest.approx(np.full(4, 60.0))
    assert mean.pressure == pytest.approx(0.5 * (weak.pressure + strong.pressure))
    assert mean.theta is strong.theta
    assert mean.spark == 0.5
    assert (mean.mass_error, mean.imbalance) == (-3e-13, 8e-5)
    assert mean.exhaust_mass == pytest.approx(weak.exhaust_mass)
