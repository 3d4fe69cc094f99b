"""Do vessels without ducts fill and empty as closed forms say, whatever the step?"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from enginesim.formulas.nozzle import mass_flow
from enginesim.kernels.layout import V_YB
from enginesim.network.pieces import Link, Volume
from tests.exact import vessel
from tests.exact.convergence import observed_order
from tests.verification.rig import GAMMA, air, gas_array
from tests.verification.tanks import Tanks

R_AIR = 287.05
VOLUME, AREA = 0.5e-3, 1e-4  # 0.5 L, 1 cm2


def with_orifice(inside: tuple[float, float], outside: tuple[float, float]) -> Tanks:
    """A vessel (p, T) and the open air (p, T) with an orifice between them."""
    return Tanks(
        [air(*outside), Volume("vessel", VOLUME, *inside)],
        [Link("orifice", 1, 0, AREA, AREA)],
        gas_array(GAMMA, R_AIR),
    )


def test_blowdown_is_second_order() -> None:
    exact = vessel.blowdown(VOLUME, AREA, 4e5, 300.0, 5e-3, GAMMA, R_AIR)
    steps, errors = (10, 20, 40, 80), []
    for n in steps:
        tanks = with_orifice((4e5, 300.0), (1e5, 300.0))
        tanks.advance(5e-3, n)
        p, t, _ = tanks.vessel(1)
        errors.append(abs(p / exact.p - 1.0) + abs(t / exact.t - 1.0))
    assert observed_order([1.0 / n for n in steps], errors) > 1.9
    assert errors[0] < 2e-3
    assert errors[-1] < 3e-5


def test_filling_below_the_choke_is_second_order() -> None:
    """Against steps so short that their error does not count: there is no closed form."""
    found = {}
    for n in (8, 16, 32, 1024):
        tanks = with_orifice((0.6e5, 400.0), (1e5, 300.0))
        tanks.advance(2e-3, n)
        found[n] = tanks.vessel(1)[0]
    steps = (8, 16, 32)
    errors = [abs(found[n] / found[1024] - 1.0) for n in steps]
    assert observed_order([1.0 / n for n in steps], errors) > 1.9
    assert errors[0] < 1e-3


def test_evacuated_vessel_fills_hot() -> None:
    tanks = with_orifice((10.0, 300.0), (1e5, 300.0))
    mass = tanks.vessel(1)[2]
    tanks.advance(20e-3, 200)
    p, t, m = tanks.vessel(1)
    assert t == pytest.approx(420.0, rel=1e-3)
    exact = vessel.filled(10.0, 300.0, p, 300.0, GAMMA)
    # Energy and mass are booked exactly, whatever the step: only their rounding is left.
    assert (t, m / mass) == pytest.approx(exact[1:], rel=1e-11)


def test_choked_filling_raises_pressure_evenly() -> None:
    tanks = with_orifice((1e4, 280.0), (2e5, 350.0))
    tanks.advance(2e-3, 7)
    rate = vessel.choked_filling_rate(VOLUME, AREA, 2e5, 350.0, GAMMA, R_AIR)
    # The straightened root still takes 1e-8 of a choked flow.
    assert tanks.vessel(1)[0] == pytest.approx(1e4 + rate * 2e-3, rel=2e-8)


@pytest.mark.parametrize("steps", [1, 2, 5, 50, 500])
def test_two_vessels_come_to_rest_together(steps: int) -> None:
    """From 3:1, in steps of a hundred times what they need: no swing, nothing lost."""
    tanks = Tanks(
        [Volume("a", 2e-4, 3e5, 500.0, 1.0), Volume("b", 1e-4, 1e5, 300.0)],
        [Link("orifice", 0, 1, AREA, AREA)],
    )
    before = tanks.totals()
    tanks.advance(0.2, steps)
    assert tanks.totals() == pytest.approx(before, rel=1e-13, abs=1e-300)
    p_a, p_b = tanks.vessel(0)[0], tanks.vessel(1)[0]
    assert p_a >= p_b * (1.0 - 1e-7)
    even = (3e5 * 2e-4 + 1e5 * 1e-4) / 3e-4  # energy p V / (gamma - 1), shared out over both
    if steps >= 50:
        assert (p_a, p_b) == pytest.approx((even, even), rel=1e-5)


@pytest.mark.parametrize("volume", [1e-3, 1e-5, 1e-7])
def test_small_vessels_pass_what_openings_let_through(volume: float) -> None:
    """Three in a row between two pressures: one flow through four openings, whatever the step."""
    tanks = Tanks(
        [air(1.2e5, 300.0), air(1e5, 300.0)]
        + [Volume(f"{i}", volume, 1e5, 300.0) for i in range(3)],
        [Link("opening", *ends, AREA, AREA) for ends in ((0, 2), (2, 3), (3, 4), (4, 1))],
        gas_array(GAMMA, R_AIR),
    )
    tanks.advance(4.0, 800)
    flows = [tanks.flow(k) for k in range(4)]
    assert flows == pytest.approx([flows[0]] * 4, rel=1e-7)
    p = [1.2e5, *(tanks.vessel(i)[0] for i in (2, 3, 4)), 1e5]
    assert (np.diff(p) < 0.0).all()
    # Each opening for itself, between the pressures found; a part of 1e-3 is the straightened root.
    for up, down in pairwise(p):
        assert mass_flow(AREA, up, 300.0, down, GAMMA, R_AIR) == pytest.approx(flows[0], rel=1e-3)


def test_gas_passes_small_vessels_within_a_step() -> None:
    """Burned gas behind fresh: fractions stay between both, and what went in is there."""
    tanks = Tanks(
        [air(1.2e5, 300.0), Volume("source", 1e-2, 3e5, 900.0, 1.0)]
        + [Volume(f"{i}", 1e-6, 1e5, 300.0) for i in range(4)]
        + [Volume("sink", 1e-2, 1e5, 300.0)],
        [Link(f"{i}", i, i + 1, AREA, AREA) for i in range(1, 6)],
    )
    before = tanks.totals()
    for _ in range(20):
        tanks.advance(2e-3, 4)
        fractions = tanks.state.res[1:, V_YB]
        assert fractions.max() <= 1.0 + 1e-12
        assert fractions.min() >= -1e-12
        assert (np.diff(fractions) <= 1e-12).all()
    assert tanks.totals() == pytest.approx(before, rel=1e-13, abs=1e-300)
    assert tanks.state.res[6, V_YB] > 0.05
