"""Going down to the least of a smooth function, within limits."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize

from enginesim.study.descent import Floats, least

WIDE = np.full(3, 10.0)


def valley(x: Floats) -> tuple[float, Floats]:
    """A bent, narrow valley (Rosenbrock's), least at one everywhere."""
    rise, off = x[1:] - x[:-1] ** 2, 1.0 - x[:-1]
    slope = np.zeros(len(x))
    slope[:-1] = -400.0 * x[:-1] * rise - 2.0 * off
    slope[1:] += 200.0 * rise
    return float(np.sum(100.0 * rise**2 + off**2)), slope


def test_bent_valley() -> None:
    place, value = least(valley, np.array([-1.2, 1.0, -0.5]), -WIDE, WIDE)
    assert place == pytest.approx(np.ones(3), abs=1e-3)
    assert value < 1e-6


@pytest.mark.parametrize("seed", range(20))
def test_within_limits_as_scipy(seed: int) -> None:
    """Bowls, bent at random, whose least lies beyond a limit more often than not."""
    rng = np.random.default_rng(seed)
    shape = rng.normal(size=(5, 5))
    bend, pull = shape @ shape.T + 0.1 * np.eye(5), 3.0 * rng.normal(size=5)
    low, high = -rng.random(5), rng.random(5)

    def bowl(x: Floats) -> tuple[float, Floats]:
        return float(0.5 * x @ bend @ x + pull @ x), bend @ x + pull

    place, value = least(bowl, np.zeros(5), low, high)
    limits = list(zip(low, high, strict=True))
    other = minimize(bowl, np.zeros(5), method="L-BFGS-B", jac=True, bounds=limits)
    assert np.all((low <= place) & (place <= high))
    # Both stop where a step gains 1e-9 of the value, which a few steps may make some times that.
    assert value == pytest.approx(other.fun, rel=1e-7)


def test_a_place_that_is_least_is_left_alone() -> None:
    calls = []

    def flat(x: Floats) -> tuple[float, Floats]:
        calls.append(x)
        return 1.0, np.zeros(2)

    place, _ = least(flat, np.array([0.3, 20.0]), np.zeros(2), np.ones(2))
    assert place.tolist() == [0.3, 1.0]
    assert len(calls) == 1
