"""A volume whose ducts answer as linear acoustics says: dp/dt = K (arriving - what they see)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from enginesim.gas import tables
from enginesim.kernels import layout as at
from enginesim.kernels.reservoir import foresee, renewal, update_reservoirs
from enginesim.network.assemble import assemble
from enginesim.network.gas_array import gas_array
from enginesim.network.pieces import Duct, End, Plan, Volume, pipe
from enginesim.network.state import first_state

P, SMALL = 1e5, 0.1  # Pa; so small that the volume answers linearly


@pytest.fixture
def vessel():
    """Reservoir table of one volume with one duct, and the gas."""
    plan = Plan()
    plan.add_volume(Volume("merge", 1e-4, P, 900.0, 1.0))
    duct = Duct("pipe", (pipe(0.5, [0.04], 600.0),), End(), End("volume", 0), 0.02)
    plan.ducts.append(duct)
    network = assemble(plan, gas_array(tables("gasoline 91", 0.9, 0.008)))
    return first_state(network).res, network.gas


def advance(res, gas, dt: float, arriving: float, share: float = 1.0) -> float:
    """One step with gas of the volume's own enthalpy; answer: pressure less that at rest."""
    foresee(res, dt)
    a2 = res[0, at.V_GAMMA] * res[0, at.V_R] * res[0, at.V_T]
    slope = share * renewal(res, 0) * (P + arriving - res[0, at.V_AHEAD])
    mass = slope * dt * res[0, at.V_VOLUME] / a2
    res[0, at.V_D_MASS] = mass
    res[0, at.V_D_BURNED] = mass * res[0, at.V_YB]
    res[0, at.V_D_ENERGY] = mass * res[0, at.V_H]
    assert update_reservoirs(res, gas, dt) == 0
    return float(res[0, at.V_P] - P)


@pytest.mark.parametrize("swift", [0.1, 0.8, 1.9, 5.0, 50.0])
def test_a_step_longer_than_the_volume_needs_neither_rings_nor_overshoots(vessel, swift) -> None:
    res, gas = vessel
    dt = swift / renewal(res, 0)
    p = np.array([advance(res, gas, dt, SMALL) for _ in range(max(8, round(20.0 / swift)))])
    assert p[-1] == pytest.approx(SMALL, rel=1e-3)
    assert np.all(p[1:] < SMALL * (1.0 + 1e-3 + (0.5 if 1.0 < swift <= 2.0 else 0.0)))


@pytest.mark.parametrize("share", [0.05, 0.3, 0.7])
@pytest.mark.parametrize("swift", [0.5, 2.0, 4.0])
def test_throttled_openings_stay_stable(vessel, swift, share) -> None:
    """They answer less than open pipes, which the estimate takes them for; steps reach 2 to 2.5."""
    res, gas = vessel
    dt = swift / renewal(res, 0)
    n = round(60.0 / (share * min(swift, 2.0))) + 20
    p = [advance(res, gas, dt, SMALL, share) for _ in range(n)]
    assert p[-1] == pytest.approx(SMALL, rel=1e-3)
    assert max(p) < 3.0 * SMALL  # the first step knows of no pull yet


def test_second_order_where_the_step_resolves_the_wave(vessel) -> None:
    """Against the exact answer of dp/dt = K (sin wt - p) once the start is forgotten."""
    res, gas = vessel
    first = res.copy()
    rate = renewal(res, 0)
    w = 0.5 * rate
    errors = []
    for n in (40, 80, 160):  # steps a radian of the wave
        res[:] = first
        dt = 1.0 / (n * w)
        worst = 0.0
        for i in range(30 * n):
            p = advance(res, gas, dt, SMALL * math.sin(w * (i + 0.5) * dt))
            time = (i + 1) * dt
            exact = rate / math.hypot(rate, w) * math.sin(w * time - math.atan2(w, rate))
            if w * time > 24.0:
                worst = max(worst, abs(p / SMALL - exact))
        errors.append(worst)
    orders = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert np.all(orders > 1.75), (errors, orders)
    assert errors[0] < 1e-3


def test_the_open_air_is_seen_as_it_is() -> None:
    plan = Plan()
    plan.add_volume(Volume("air", 0.0, P, 300.0))
    network = assemble(plan, gas_array(tables("gasoline 91", 0.9, 0.008)))
    res = first_state(network).res
    foresee(res, 1e-5)
    assert res[0, at.V_AHEAD] == P
