"""Orifice flow against NACA 1135, `fluids` and CoolProp; the pipe end against its limits."""

from __future__ import annotations

import math

import fluids
import pytest
from CoolProp.CoolProp import PropsSI
from scipy.optimize import minimize_scalar

from tests.exact import orifice, riemann
from tests.exact.riemann import State

GAMMA, R = 1.4, 287.05


@pytest.mark.parametrize(
    "gamma,coefficient,critical",
    [
        # NACA Report 1135 (1953); Heywood, appendix C (both from memory); recomputed.
        (1.4, 0.68473, 0.52828),
        (1.35, 0.67614, 0.53685),
        (1.30, 0.66726, 0.54573),
        (1.25, 0.65806, 0.55493),
    ],
)
def test_choking(gamma: float, coefficient: float, critical: float) -> None:
    assert orifice.choked_coefficient(gamma) == pytest.approx(coefficient, abs=1e-5)
    assert orifice.critical_ratio(gamma) == pytest.approx(critical, abs=1e-5)
    assert orifice.critical_ratio(gamma) * 101325.0 == pytest.approx(
        fluids.P_critical_flow(101325.0, gamma), rel=1e-12
    )


def test_fluxes_of_air() -> None:
    # Recomputed: air, 101.325 kPa, 300 K, R 287.05: choked, and to 0.9 of the pressure.
    assert orifice.mass_flow(1.0, 101325.0, 300.0, 1.0, GAMMA, R) == pytest.approx(236.43, abs=0.01)
    subsonic = orifice.mass_flow(1.0, 101325.0, 300.0, 0.9 * 101325.0, GAMMA, R)
    assert subsonic == pytest.approx(145.91, abs=0.01)


def test_choked_flow_is_the_greatest() -> None:
    """The greatest of the subsonic formula over all throat pressures, found numerically."""

    def flux(p: float) -> float:
        t = 300.0 * (p / 2e5) ** ((GAMMA - 1.0) / GAMMA)
        return p / (R * t) * math.sqrt(2.0 * GAMMA / (GAMMA - 1.0) * R * (300.0 - t))

    best = minimize_scalar(lambda p: -flux(p), bounds=(0.2e5, 1.9e5), method="bounded")
    assert best.x / 2e5 == pytest.approx(orifice.critical_ratio(GAMMA), rel=1e-4)
    assert orifice.mass_flow(1.0, 2e5, 300.0, 0.0, GAMMA, R) == pytest.approx(-best.fun, rel=1e-9)


def test_real_air() -> None:
    """Isentrope of CoolProp's air from 300 K, 1 bar to 0.8 bar: the gas is nearly perfect."""
    h = PropsSI("H", "T", 300.0, "P", 1e5, "Air")
    s = PropsSI("S", "T", 300.0, "P", 1e5, "Air")
    throat_h, rho = (PropsSI(q, "S", s, "P", 0.8e5, "Air") for q in ("H", "D"))
    flux = rho * math.sqrt(2.0 * (h - throat_h))
    assert orifice.mass_flow(1.0, 1e5, 300.0, 0.8e5, GAMMA, R) == pytest.approx(flux, rel=1e-3)


PIPE = 1e-3
STILL = State(1e5 / (R * 300.0), 0.0, 1e5)


def test_pipe_end_with_a_tiny_opening_is_the_plain_orifice() -> None:
    opening = 1e-9
    found = orifice.pipe_end(opening, PIPE, 1.5e5, 400.0, STILL, GAMMA, R)
    assert found.p == pytest.approx(1e5, rel=1e-5)
    assert found.mass_flow == pytest.approx(
        orifice.mass_flow(opening, 1.5e5, 400.0, 1e5, GAMMA, R), rel=1e-5
    )


@pytest.mark.parametrize("p_0", [0.7e5, 0.95e5, 1.1e5, 1.5e5])
@pytest.mark.parametrize("share", [0.1, 0.4, 0.9])
def test_pipe_end_keeps_mass_and_stagnation_enthalpy(p_0: float, share: float) -> None:
    inside = State(STILL.rho, 10.0, STILL.p)
    found = orifice.pipe_end(share * PIPE, PIPE, p_0, 350.0, inside, GAMMA, R)
    cp = GAMMA / (GAMMA - 1.0) * R
    assert found.mass_flow == pytest.approx(found.rho * found.u * PIPE, rel=1e-9)
    wave = riemann.velocity_change(found.p, inside, GAMMA)
    assert found.u == pytest.approx(inside.u + wave, rel=1e-12)
    t = found.p / (found.rho * R)
    if found.u > 0.0:
        assert t + 0.5 * found.u**2 / cp == pytest.approx(350.0, rel=1e-12)
        through = orifice.mass_flow(share * PIPE, p_0, 350.0, found.p, GAMMA, R)
    else:
        t_0 = t + 0.5 * found.u**2 / cp
        p_total = found.p * (t_0 / t) ** (GAMMA / (GAMMA - 1.0))
        through = -orifice.mass_flow(share * PIPE, p_total, t_0, p_0, GAMMA, R)
    assert through == pytest.approx(found.mass_flow, rel=1e-7)


def test_fully_open_end_blows_out_at_the_pressure_outside() -> None:
    found = orifice.pipe_end(PIPE, PIPE, 0.9e5, 300.0, STILL, GAMMA, R)
    assert found.p == pytest.approx(0.9e5, rel=1e-6)
    assert found.u == pytest.approx(riemann.velocity_change(0.9e5, STILL, GAMMA), rel=1e-5)


def test_fully_open_end_chokes_in_the_pipe() -> None:
    """Into a vacuum: X falls by u (gamma - 1) / (2 a0) until u is the sound speed."""
    found = orifice.pipe_end(PIPE, PIPE, 10.0, 300.0, STILL, GAMMA, R)
    x = 2.0 / (GAMMA + 1.0)
    assert found.u == pytest.approx(-x * math.sqrt(GAMMA * R * 300.0), rel=1e-9)
    assert found.p == pytest.approx(1e5 * x ** (2.0 * GAMMA / (GAMMA - 1.0)), rel=1e-9)
