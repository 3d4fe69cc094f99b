"""Does a cylinder do what Cantera makes of the same gas in the same volume?"""

from __future__ import annotations

import math

import numpy as np
import pytest

from enginesim.kernels import cylinder_layout as at
from enginesim.kernels.closed import TRACE_ANGLE, TRACE_P, TRACE_T_UNBURNED, TRACE_VOLUME
from enginesim.kernels.cylinder import advance
from tests.cylinders import DEG, NEVER, charge, engine, filled, iso_octane, marched, omega
from tests.two_zones import Charge, burned_in_two_zones, in_reactor

RESIDUAL = Charge().residual
P_0, T_0 = Charge().p, Charge().t


def test_motored_against_a_reactor_with_a_moving_wall() -> None:
    gas, par = iso_octane(), engine(spark=NEVER)
    _, trace = marched(
        filled(par, gas, p=P_0, t=T_0, **charge(gas, RESIDUAL)), par, gas, n_step=1000
    )
    angles = [-90.0 * DEG, -45.0 * DEG, 0.0]
    expected = in_reactor(
        Charge().solution(), par, float(par[at.P_IVC]), angles, omega(3000.0), reacts=False
    )
    for angle, (p, t, room, _) in zip(angles, expected, strict=True):
        row = trace[np.abs(trace[:, TRACE_ANGLE] - angle).argmin()]
        assert row[TRACE_ANGLE] == pytest.approx(angle, abs=1e-9)
        assert row[TRACE_VOLUME] == pytest.approx(room, rel=1e-7)
        # Tables to 1e-5 in heat capacity, steps of a quarter of a degree.
        assert row[TRACE_P] == pytest.approx(p, rel=5e-5)
        assert row[TRACE_T_UNBURNED] == pytest.approx(t, rel=5e-5)


@pytest.mark.parametrize("lambda_", [1.0, 0.88, 1.2])
def test_burn_against_two_zones_in_equilibrium(lambda_: float) -> None:
    gas, par = iso_octane(lambda_), engine()
    start = filled(par, gas, p=P_0, t=T_0, **charge(gas, RESIDUAL))
    cyl = start.copy()
    n, h = 1000, 0.25 * DEG
    found = []
    for k in range(n):
        theta = float(par[at.P_IVC]) + k * h
        assert advance(cyl, par, gas, theta, h, omega(3000.0), 0.0, 0.0, 0.0, 0.0) == 0
        columns = [at.C_P, at.C_T_UNBURNED, at.C_T_BURNED, at.C_WORK, at.C_X]
        found.append((theta + h, *cyl[columns]))
    ours = np.array(found)

    expected = burned_in_two_zones(
        par,
        Charge(lambda_=lambda_),
        float(cyl[at.C_BURN_START]),
        float(cyl[at.C_BURN_LENGTH]),
    )
    match = [np.interp(expected[:, 0], ours[:, 0], ours[:, k]) for k in range(1, 6)]
    p, t_u, t_b, work, x = match
    burning = (x > 1e-3) & (x < 0.99)
    # Tables read between their points, steps of a quarter of a degree against fourth order.
    assert p[burning] == pytest.approx(expected[burning, 1], rel=2e-4)
    assert t_u[burning] == pytest.approx(expected[burning, 2], rel=1e-4)
    assert t_b[burning] == pytest.approx(expected[burning, 3], rel=2e-4)
    # After the burn our zones are one, and below 1700 K their composition is held.
    assert p == pytest.approx(expected[:, 1], rel=2e-3)
    assert work[-1] == pytest.approx(expected[-1, 4], rel=1e-3)
    assert math.degrees(cyl[at.C_CA50]) == pytest.approx(0.0, abs=15.0)
