"""Filling and blow-down in closed form against published times, integration and real air."""

from __future__ import annotations

import pytest
from CoolProp.CoolProp import PropsSI
from scipy.integrate import solve_ivp

from tests.exact import orifice, vessel

GAMMA, R = 1.4, 287.05


def test_evacuated_vessel_fills_hot() -> None:
    # gamma T: 420 K from air at 300 K; any thermodynamics text; recomputed.
    assert vessel.filled_temperature(300.0, GAMMA) == pytest.approx(420.0, rel=1e-14)
    nearly = vessel.filled(1.0, 300.0, 1e5, 300.0, GAMMA)
    assert nearly.t == pytest.approx(420.0, rel=1e-4)


def test_filling_with_real_air() -> None:
    """Energy: internal energy at the end is the enthalpy supplied. CoolProp, 1 bar."""
    h = PropsSI("H", "T", 300.0, "P", 1e5, "Air")
    t = PropsSI("T", "U", h, "P", 1e5, "Air")
    assert vessel.filled_temperature(300.0, GAMMA) == pytest.approx(t, rel=5e-3)


@pytest.mark.parametrize(
    "time,p,t,mass",
    [(1e-3, 378.2e3, 295.24, 0.96076)],  # recomputed: 0.5 L, 1 cm2, 4 bar, 300 K
)
def test_blowdown(time: float, p: float, t: float, mass: float) -> None:
    found = vessel.blowdown(0.5e-3, 1e-4, 4e5, 300.0, time, GAMMA, R)
    assert found.p == pytest.approx(p, rel=1.5e-4)
    assert found.t == pytest.approx(t, abs=0.01)
    assert found.mass_ratio == pytest.approx(mass, abs=1e-5)


def test_unchoking_time() -> None:
    # Recomputed: the same vessel against 1 bar.
    found = vessel.unchoking_time(0.5e-3, 1e-4, 4e5, 300.0, 1e5, GAMMA, R)
    assert found == pytest.approx(14.03e-3, abs=5e-6)
    p = vessel.blowdown(0.5e-3, 1e-4, 4e5, 300.0, found, GAMMA, R).p
    assert 1e5 / p == pytest.approx(orifice.critical_ratio(GAMMA), rel=1e-12)


def integrated(
    p_0: float, t_0: float, p_far: float, t_far: float, time: float
) -> tuple[float, ...]:
    """Mass and energy balance of the vessel, stepped by scipy: pressure, temperature, mass."""
    volume, area = 0.5e-3, 1e-4
    cv, cp = R / (GAMMA - 1.0), GAMMA * R / (GAMMA - 1.0)

    def slope(_: float, content: list[float]) -> list[float]:
        mass, energy = content
        t = energy / (mass * cv)
        p = mass * R * t / volume
        if p > p_far:
            flow = orifice.mass_flow(area, p, t, p_far, GAMMA, R)
            return [-flow, -flow * cp * t]
        flow = orifice.mass_flow(area, p_far, t_far, p, GAMMA, R)
        return [flow, flow * cp * t_far]

    mass = p_0 * volume / (R * t_0)
    end = solve_ivp(slope, (0.0, time), [mass, mass * cv * t_0], rtol=1e-11, atol=1e-14)
    m, energy = end.y[:, -1]
    return m * R * energy / (m * cv) / volume, energy / (m * cv), m / mass


def test_blowdown_against_integration() -> None:
    found = vessel.blowdown(0.5e-3, 1e-4, 4e5, 300.0, 8e-3, GAMMA, R)
    assert tuple(found) == pytest.approx(integrated(4e5, 300.0, 1e5, 300.0, 8e-3), rel=1e-8)


def test_filling_against_integration() -> None:
    p, t, mass = integrated(1e4, 280.0, 2e5, 350.0, 2e-3)
    rate = vessel.choked_filling_rate(0.5e-3, 1e-4, 2e5, 350.0, GAMMA, R)
    assert p < orifice.critical_ratio(GAMMA) * 2e5  # still choked
    assert p == pytest.approx(1e4 + rate * 2e-3, rel=1e-8)
    assert vessel.filled(1e4, 280.0, p, 350.0, GAMMA)[1:] == pytest.approx((t, mass), rel=1e-8)
