"""Splines against scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import BSpline

from enginesim.lobe import spline


@pytest.mark.parametrize("derivative", range(5))
def test_rows_are_those_of_scipy(derivative: int) -> None:
    x = np.linspace(0.0, 1.0, 777)
    wanted = BSpline(spline.KNOTS, np.eye(spline.SIZE), spline.DEGREE)(x, nu=derivative)
    # Rounding grows with the span's inverse to the power of the derivative.
    atol = 1e-12 * spline.N_SPAN**derivative
    np.testing.assert_allclose(spline.rows(x, derivative), wanted, rtol=0, atol=atol)


def test_integral_is_that_of_scipy() -> None:
    c = np.random.default_rng(2).random(spline.SIZE)
    wanted = BSpline(spline.KNOTS, c, spline.DEGREE).integrate(0.0, 1.0)
    assert spline.integral(c) == pytest.approx(float(wanted), rel=1e-12)
