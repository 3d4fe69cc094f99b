"""Monotone cubics against scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from enginesim.valvetrain.monotone import MonotoneCubic


@pytest.mark.parametrize("derivative", range(3))
def test_monotone_cubic_is_that_of_scipy(derivative: int) -> None:
    generator = np.random.default_rng(5)
    x = np.cumsum(generator.random(15) + 0.1)
    y = generator.random(15)
    between = np.linspace(x[0], x[-1], 500)
    wanted = PchipInterpolator(x, y)(between, nu=derivative)
    np.testing.assert_allclose(MonotoneCubic(x, y)(between, derivative), wanted, atol=1e-11)


def test_two_points_are_a_line_held_outside() -> None:
    line = MonotoneCubic([0.0, 2.0], [1.0, 5.0])
    np.testing.assert_allclose(line([-1.0, 0.0, 1.0, 2.0, 9.0]), [1.0, 1.0, 3.0, 5.0, 5.0])
    np.testing.assert_allclose(line([-1.0, 1.0, 9.0], 1), [0.0, 2.0, 0.0])


def test_end_slopes_do_not_overshoot() -> None:
    wanted = PchipInterpolator([0.0, 1.0, 1.2, 4.0], [0.0, 1.0, 0.2, 0.3])
    found = MonotoneCubic([0.0, 1.0, 1.2, 4.0], [0.0, 1.0, 0.2, 0.3])
    x = np.linspace(0.0, 4.0, 101)
    np.testing.assert_allclose(found(x), wanted(x), atol=1e-12)
