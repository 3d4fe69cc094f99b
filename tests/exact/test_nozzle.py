"""Isentropic flow and normal shock against NACA 1135's tables, `fluids` and conservation."""

from __future__ import annotations

import math

import fluids
import pytest
from scipy.optimize import minimize_scalar

from tests.exact import nozzle

GAMMA = 1.4

# NACA Report 1135 (1953), table I (from memory) and recomputed: M, p/p0, T/T0, A/A*.
TABLE = [
    (0.2, 0.97250, 0.99206, 2.96352),
    (0.3, 0.93947, 0.98232, 2.03507),
    (0.5, 0.84302, 0.95238, 1.33984),
    (0.8, 0.65602, 0.88652, 1.03823),
    (1.5, 0.27240, 0.68966, 1.17617),
    (2.0, 0.12780, 0.55556, 1.68750),
]


@pytest.mark.parametrize("mach,p,t,area", TABLE)
def test_isentropic_table(mach: float, p: float, t: float, area: float) -> None:
    assert nozzle.pressure_ratio(mach, GAMMA) == pytest.approx(p, abs=1e-5)
    assert nozzle.temperature_ratio(mach, GAMMA) == pytest.approx(t, abs=1e-5)
    assert nozzle.area_ratio(mach, GAMMA) == pytest.approx(area, abs=1e-5)
    assert nozzle.mach_at_area(nozzle.area_ratio(mach, GAMMA), GAMMA, supersonic=mach > 1) == (
        pytest.approx(mach, rel=1e-9)
    )
    assert nozzle.mach_at_pressure(nozzle.pressure_ratio(mach, GAMMA), GAMMA) == (
        pytest.approx(mach, rel=1e-12)
    )


@pytest.mark.parametrize("gamma", [1.25, 1.4])
@pytest.mark.parametrize("mach", [0.3, 0.9, 1.8])
def test_isentropic_against_fluids(mach: float, gamma: float) -> None:
    t_0, p = 300.0, 1e5
    t = t_0 * nozzle.temperature_ratio(mach, gamma)
    cp = gamma / (gamma - 1.0) * 287.0
    assert fluids.T_stagnation_ideal(t, mach * math.sqrt(gamma * 287.0 * t), cp) == (
        pytest.approx(t_0, rel=1e-12)
    )
    assert fluids.P_stagnation(p, t, t_0, gamma) == (
        pytest.approx(p / nozzle.pressure_ratio(mach, gamma), rel=1e-12)
    )


@pytest.mark.parametrize("gamma", [1.3, 1.4])
def test_flux_is_greatest_where_sonic_and_area_ratio_is_its_inverse(gamma: float) -> None:
    def flux(mach: float) -> float:
        return nozzle.mass_flux(2e5, 350.0, mach, gamma, 287.0)

    best = minimize_scalar(lambda m: -flux(m), bounds=(0.2, 3.0), method="bounded")
    assert best.x == pytest.approx(1.0, abs=1e-4)
    assert flux(1.0) / flux(0.4) == pytest.approx(nozzle.area_ratio(0.4, gamma), rel=1e-12)
    rho = nozzle.density_ratio(0.4, gamma) * 2e5 / (287.0 * 350.0)
    a = math.sqrt(gamma * 287.0 * 350.0 * nozzle.temperature_ratio(0.4, gamma))
    assert flux(0.4) == pytest.approx(0.4 * rho * a, rel=1e-12)


@pytest.mark.parametrize(
    "mach,behind,p,t,p_0",
    [
        # NACA Report 1135 (1953), table II (from memory) and recomputed.
        (1.5, 0.70109, 2.45833, 1.32022, 0.92979),
        (2.0, 0.57735, 4.5, 1.6875, 0.72087),
        (3.0, 0.47519, 10.3333, 2.67901, 0.32834),
    ],
)
def test_normal_shock_table(mach: float, behind: float, p: float, t: float, p_0: float) -> None:
    found = nozzle.normal_shock(mach, GAMMA)
    assert found == pytest.approx((behind, p, t, p_0), abs=4e-5)


@pytest.mark.parametrize("gamma", [1.25, 1.4])
def test_normal_shock_keeps_mass_momentum_and_energy(gamma: float) -> None:
    mach = 1.7
    found = nozzle.normal_shock(mach, gamma)
    flow_ahead, flow_behind = mach, found.pressure / math.sqrt(found.temperature) * found.mach
    assert flow_behind == pytest.approx(flow_ahead, rel=1e-12)
    assert found.pressure * (1.0 + gamma * found.mach**2) == (
        pytest.approx(1.0 + gamma * mach**2, rel=1e-12)
    )
    assert found.temperature / nozzle.temperature_ratio(found.mach, gamma) == (
        pytest.approx(1.0 / nozzle.temperature_ratio(mach, gamma), rel=1e-12)
    )


def test_shocked_nozzle() -> None:
    """Walk from the throat to the outlet with the functions above; shock put at Mach 2."""
    outlet_ratio, shock = 2.5, nozzle.normal_shock(2.0, GAMMA)
    mach_outlet = nozzle.mach_at_area(
        outlet_ratio / nozzle.area_ratio(2.0, GAMMA) * nozzle.area_ratio(shock.mach, GAMMA), GAMMA
    )
    p_behind = shock.pressure * nozzle.pressure_ratio(2.0, GAMMA)
    back = p_behind * nozzle.pressure_ratio(mach_outlet, GAMMA)
    back /= nozzle.pressure_ratio(shock.mach, GAMMA)
    found = nozzle.shocked_nozzle(outlet_ratio, back, GAMMA)
    assert found == pytest.approx((1.6875, 2.0, mach_outlet), rel=1e-9)
    with pytest.raises(ValueError, match="no shock"):
        nozzle.shocked_nozzle(outlet_ratio, 0.999, GAMMA)
