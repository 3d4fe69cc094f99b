"""Ignition delay against worked numbers, and the integral in a cylinder."""

from __future__ import annotations

import math

import pytest

from enginesim.formulas import knock
from enginesim.kernels import cylinder_layout as at
from enginesim.kernels.layout import G_OCTANE
from tests.cylinders import (
    DEG,
    NEVER,
    charge,
    engine,
    filled,
    iso_octane,
    marched,
    omega,
    perfect_gas,
)

ATMOSPHERE = 101325.0


@pytest.mark.parametrize(
    "octane,p,t,delay",
    [
        # Douaud & Eyzat's relation (from memory), recomputed; milliseconds.
        (87.0, 40.0, 800.0, 2.405),
        (91.0, 40.0, 800.0, 2.803),
        (95.0, 40.0, 800.0, 3.244),
        (100.0, 40.0, 800.0, 3.863),
        (87.0, 50.0, 850.0, 1.245),
        (100.0, 50.0, 850.0, 1.999),
    ],
)
def test_delay_worked(octane: float, p: float, t: float, delay: float) -> None:
    found = knock.ignition_delay(octane, p * ATMOSPHERE, t)
    assert 1e3 * found == pytest.approx(delay, abs=6e-4)


def test_rate_is_the_inverse_delay_of_hot_gas() -> None:
    assert knock.knock_rate(95.0, 4e6, 800.0) == pytest.approx(
        1.0 / knock.ignition_delay(95.0, 4e6, 800.0)
    )
    assert knock.knock_rate(95.0, 4e6, knock.T_COLD - 1.0) == 0.0


def test_constant_state_uses_up_time_over_delay() -> None:
    """A cylinder near its bottom dead centre hardly moves: at 800 K its state is constant."""
    gas = perfect_gas()
    # A tenth of a degree of crank either side, stretched to two milliseconds.
    par = engine(ivc=-180.1 * DEG, evo=-179.9 * DEG, spark=NEVER)
    cyl = filled(par, gas, p=40.0 * ATMOSPHERE, t=800.0)
    speed = 0.2 * DEG / 2e-3
    row, _ = marched(cyl, par, gas, speed, n_step=20)
    # 3.244 ms at 95 octane, to its last printed digit.
    assert row[at.C_KNOCK] == pytest.approx(2.0 / 3.244, rel=2e-4)


def integral(
    *, octane: float = 95.0, compression: float = 10.0, p: float = 1e5, t: float = 360.0
) -> float:
    gas = iso_octane()
    gas[G_OCTANE] = octane
    par = engine(compression=compression)
    cyl = filled(par, gas, p=p, t=t, **charge(gas))
    return marched(cyl, par, gas, omega(3000.0))[0][at.C_KNOCK]


def test_knock_grows_with_compression_boost_and_heat_and_falls_with_octane() -> None:
    base = integral()
    assert 0.1 < base < 3.0
    assert integral(compression=11.0) > 1.1 * base
    assert integral(p=1.2e5) > 1.1 * base
    # Hotter, but thinner: the mass trapped at 1 bar is less.
    assert integral(t=380.0) > 1.05 * base
    ordered = [integral(octane=octane) for octane in (87.0, 91.0, 95.0, 100.0)]
    assert ordered == sorted(ordered, reverse=True)
    # The state does not depend on the octane number: the integral is a power of it.
    assert ordered[0] / ordered[3] == pytest.approx(0.87**-3.402, rel=1e-9)


def test_only_gas_ahead_of_the_flame_counts() -> None:
    """The integral stands still once the end gas is burned."""
    gas, par = iso_octane(), engine()
    cyl = filled(par, gas, **charge(gas))
    early, _ = marched(cyl, par, gas)
    par[at.P_EVO] = early[at.C_KNOCK_END]
    stopped, _ = marched(cyl, par, gas)
    # The same but for the steps' places.
    assert stopped[at.C_KNOCK] == pytest.approx(early[at.C_KNOCK], rel=2e-3)
    assert math.degrees(early[at.C_KNOCK_END]) < 40.0
