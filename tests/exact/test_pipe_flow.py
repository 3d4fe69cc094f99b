"""Fanno and Rayleigh lines against gas-dynamics tables and the integrated equations of motion."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tests.exact import nozzle, pipe_flow

GAMMA = 1.4

# Gas-dynamics tables (Shapiro, from memory) and recomputed:
# M, Fanno f L / D, p/p*, p0/p0*, Rayleigh T0/T0*, p/p*.
TABLE = [
    (0.2, 14.53327, 5.45545, 2.96352, 0.17355, 2.27273),
    (0.3, 5.29925, 3.61906, 2.03507, 0.34686, 2.13144),
    (0.5, 1.06906, 2.13809, 1.33984, 0.69136, 1.77778),
    (0.8, 0.07229, 1.28928, 1.03823, 0.96395, 1.26582),
    (1.5, 0.13605, 0.60648, 1.17617, 0.90928, 0.57831),
    (2.0, 0.30500, 0.40825, 1.68750, 0.79339, 0.36364),
]


@pytest.mark.parametrize("mach,length,p,p_0,t_0,p_heat", TABLE)
def test_tables(
    mach: float, length: float, p: float, p_0: float, t_0: float, p_heat: float
) -> None:
    found = (
        pipe_flow.fanno_length(mach, GAMMA),
        pipe_flow.fanno_pressure(mach, GAMMA),
        pipe_flow.fanno_stagnation_pressure(mach, GAMMA),
        pipe_flow.rayleigh_stagnation_temperature(mach, GAMMA),
        pipe_flow.rayleigh_pressure(mach, GAMMA),
    )
    assert found == pytest.approx((length, p, p_0, t_0, p_heat), abs=1e-5)
    if mach < 1.0:
        assert pipe_flow.fanno_mach(found[0], GAMMA) == pytest.approx(mach, rel=1e-9)
        assert pipe_flow.rayleigh_mach(found[3], GAMMA) == pytest.approx(mach, rel=1e-9)


def along(friction: float, heat: float, length: float, start: float) -> tuple[float, ...]:
    """
    Mach number, pressure and stagnation temperature after integrating the steady laws of mass,
    momentum and energy along a pipe of unit diameter (perfect gas with p = rho t).
    """
    m_flow = start * math.sqrt(GAMMA)  # p = t = 1 at the inlet
    cp = GAMMA / (GAMMA - 1.0)
    t_0 = 1.0 + 0.5 * (start**2) * (GAMMA - 1.0)

    def slope(x: float, impulse_velocity: np.ndarray) -> list[float]:
        u = impulse_velocity[0]
        rho = m_flow / u
        t_total = t_0 + heat * x / cp
        t = t_total - 0.5 * u**2 / cp
        # d(p + m u) = -friction/2 rho u^2 dx, p = m t / u
        force = -0.5 * friction * rho * u**2
        dp_du = -m_flow * t / u**2 - m_flow / cp
        dp_dx = m_flow / u * heat / cp
        return [(force - dp_dx) / (dp_du + m_flow)]

    end = solve_ivp(slope, (0.0, length), [m_flow], rtol=1e-11, atol=1e-12)
    u = end.y[0, -1]
    t_total = t_0 + heat * length / cp
    t = t_total - 0.5 * u**2 / cp
    return u / math.sqrt(GAMMA * t), m_flow * t / u, t_total / t_0


@pytest.mark.parametrize("start,end", [(0.2, 0.7), (0.4, 0.9)])
def test_fanno_against_integration(start: float, end: float) -> None:
    length = pipe_flow.fanno_length(start, GAMMA) - pipe_flow.fanno_length(end, GAMMA)
    mach, p, _ = along(friction=0.02, heat=0.0, length=length / 0.02, start=start)
    assert mach == pytest.approx(end, rel=1e-8)
    expected = pipe_flow.fanno_pressure(end, GAMMA) / pipe_flow.fanno_pressure(start, GAMMA)
    assert p == pytest.approx(expected, rel=1e-8)
    t_ratio = pipe_flow.fanno_temperature(end, GAMMA) / pipe_flow.fanno_temperature(start, GAMMA)
    assert t_ratio == pytest.approx(
        nozzle.temperature_ratio(end, GAMMA) / nozzle.temperature_ratio(start, GAMMA), rel=1e-12
    )


def test_rayleigh_against_integration() -> None:
    start = 0.25
    mach, p, rise = along(friction=0.0, heat=0.7, length=2.0, start=start)
    first = pipe_flow.rayleigh_stagnation_temperature(start, GAMMA)
    assert pipe_flow.rayleigh_mach(first * rise, GAMMA) == pytest.approx(mach, rel=1e-8)
    expected = pipe_flow.rayleigh_pressure(mach, GAMMA) / pipe_flow.rayleigh_pressure(start, GAMMA)
    assert p == pytest.approx(expected, rel=1e-8)
