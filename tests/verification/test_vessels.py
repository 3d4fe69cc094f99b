"""Do vessels fill and empty as energy and mass balances in closed form say?"""

from __future__ import annotations

import numpy as np
import pytest

from enginesim.network.pieces import Link, Volume
from tests.exact import orifice, vessel
from tests.exact.convergence import observed_order
from tests.verification.rig import GAMMA, Rig, air, gas_array

R_AIR = 287.05
VOLUME, AREA = 0.5e-3, 1e-4  # 0.5 L, 1 cm2


def with_orifice(inside: tuple[float, float], outside: tuple[float, float]) -> Rig:
    """A vessel (p, T) and the open air (p, T) with an orifice between them."""
    return Rig(
        volumes=[air(*outside), Volume("vessel", VOLUME, *inside)],
        links=[Link("orifice", 1, 0, AREA, AREA)],
        gas=gas_array(GAMMA, R_AIR),
    )


def test_choked_blowdown() -> None:
    """4 bar, 300 K to 1 bar: at 1 ms 378.2 kPa, 295.24 K, 0.96076 of the mass; recomputed."""
    rig = with_orifice((4e5, 300.0), (1e5, 300.0))
    mass = rig.vessel(1)[2]
    rig.advance(1e-3, longest=2e-5)  # a degree of crank at 8000 rpm
    p, t, m = rig.vessel(1)
    assert p == pytest.approx(378.2e3, rel=1e-3)
    assert t == pytest.approx(295.24, rel=1e-3)
    assert m / mass == pytest.approx(0.96076, rel=1e-3)


def test_unchoking_time() -> None:
    """14.03 ms against 1 bar; recomputed."""
    rig = with_orifice((4e5, 300.0), (1e5, 300.0))
    seen: list[tuple[float, float]] = []
    rig.advance(
        16e-3, longest=2e-5, watch=lambda moving: seen.append((moving.time, moving.vessel(1)[0]))
    )
    time, p = np.array(seen).T
    limit = 1e5 / orifice.critical_ratio(GAMMA)
    assert np.interp(-limit, -p, time) == pytest.approx(14.03e-3, rel=1e-3)


def test_blowdown_is_first_order_in_the_step() -> None:
    """Vessels see the flow of the step's start: explicit Euler, and no worse."""
    exact = vessel.blowdown(VOLUME, AREA, 4e5, 300.0, 5e-3, GAMMA, R_AIR)
    steps, errors = (2e-4, 1e-4, 5e-5), []
    for dt in steps:
        rig = with_orifice((4e5, 300.0), (1e5, 300.0))
        rig.advance(5e-3, longest=dt)
        errors.append(abs(rig.vessel(1)[0] / exact.p - 1.0))
    assert observed_order(steps, errors) > 0.85
    assert errors[-1] < 1e-3


def test_evacuated_vessel_fills_hot() -> None:
    """From 300 K to gamma times as hot, 420 K, less what the 10 Pa at the start hold back."""
    rig = with_orifice((10.0, 300.0), (1e5, 300.0))
    mass = rig.vessel(1)[2]
    rig.advance(10e-3, longest=1e-5)
    p, t, m = rig.vessel(1)
    assert t == pytest.approx(420.0, rel=1e-3)
    exact = vessel.filled(10.0, 300.0, p, 300.0, GAMMA)
    # Energy and mass are booked exactly, whatever the step: only their rounding is left.
    assert (t, m / mass) == pytest.approx(exact[1:], rel=1e-11)


def test_choked_filling_raises_pressure_evenly() -> None:
    rig = with_orifice((1e4, 280.0), (2e5, 350.0))
    rig.advance(2e-3, longest=2e-5)
    rate = vessel.choked_filling_rate(VOLUME, AREA, 2e5, 350.0, GAMMA, R_AIR)
    assert rig.vessel(1)[0] == pytest.approx(1e4 + rate * 2e-3, rel=1e-11)


def test_two_vessels_come_to_rest_together() -> None:
    """Equal pressures, all mass and energy still there, no chatter about the balance."""
    rig = Rig(
        volumes=[Volume("a", 2e-3, 3e5, 500.0), Volume("b", 1e-3, 1e5, 300.0)],
        links=[Link("orifice", 0, 1, AREA, AREA)],
    )
    before = rig.totals()
    rig.advance(0.1, longest=2e-5)
    assert rig.totals() == pytest.approx(before, rel=1e-12, abs=1e-300)
    p_a, p_b = rig.vessel(0)[0], rig.vessel(1)[0]
    assert p_a == pytest.approx(p_b, rel=1e-6)
    # Energy p V / (gamma - 1) is shared out over both volumes.
    assert p_a == pytest.approx((3e5 * 2e-3 + 1e5 * 1e-3) / 3e-3, rel=1e-6)
