"""Are smooth waves carried at second order?"""

from __future__ import annotations

import numpy as np
import pytest

from tests.exact import simple_wave, travelling
from tests.exact.convergence import mean_error, observed_order
from tests.exact.riemann import State
from tests.verification.rig import A_REST, GAMMA, P_REST, RHO_REST, Rig, Samples, straight
from tests.verification.smooth_waves import WAVES, cone_errors, pipe_errors

GRIDS = (60, 120, 240)


@pytest.mark.parametrize("name", WAVES)
def test_second_order(name: str) -> None:
    table = np.array([pipe_errors(*WAVES[name], n) for n in GRIDS])
    for column in table.T:
        order = observed_order([1.0 / n for n in GRIDS], column)
        assert order == pytest.approx(2.0, abs=0.15)


def test_second_order_in_a_cone() -> None:
    """A small pulse: the area's own terms are of second order too."""
    table = np.array([cone_errors(n) for n in GRIDS])
    for column in table.T:
        assert observed_order([1.0 / n for n in GRIDS], column) == pytest.approx(2.0, abs=0.15)


def test_wave_steepens_as_it_must() -> None:
    """After 60 % of its way to breaking the steepest slope is 2.5 times that of the start."""
    n, u_0 = 240, 80.0
    rig = Rig([straight(2.0, 0.04, n)])

    def start(x: Samples) -> Samples:
        return u_0 * travelling.bump(x - 0.5, 0.4)

    fine = np.linspace(0.1, 0.9, 4001)
    steepest = -np.gradient(start(fine), fine).min()
    time = 0.6 / (0.5 * (GAMMA + 1.0) * steepest)
    u = start(rig.centres())
    p = simple_wave.pressure_at(u, P_REST, A_REST, GAMMA)
    rig.fill(RHO_REST * (p / P_REST) ** (1.0 / GAMMA), u, p)
    still = State(RHO_REST, 0.0, P_REST)
    rig.advance_between(still, still, time)
    exact = simple_wave.travelled(start, rig.centres(), time, A_REST, GAMMA)
    found = rig.flow().u
    assert mean_error(found, exact) < 2e-3 * u_0
    slope = -np.diff(found).min() / (2.0 / n)
    # The steepest stretch is a few cells long by then: a difference over one cell rounds it.
    assert slope == pytest.approx(2.5 * steepest, rel=0.05)
