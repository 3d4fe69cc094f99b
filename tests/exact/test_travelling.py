"""Travelling waves and the order measure: do they satisfy the equations that they stand for?"""

from __future__ import annotations

import numpy as np
import pytest

from tests.exact import travelling
from tests.exact.convergence import cell_means, mean_error, observed_order
from tests.exact.riemann import State

GAMMA = 1.4
BASE = State(1.2, 40.0, 1e5)
PLACE = np.linspace(0.0, 1.0, 2001)


def residual(wave, amplitude: float) -> float:
    """Largest imbalance of mass, momentum and energy, relative to the terms balanced."""

    def conserved(state: State) -> np.ndarray:
        rho, u, p = state
        return np.array([rho, rho * u, p / (GAMMA - 1.0) + 0.5 * rho * u**2])

    def flux(state: State) -> np.ndarray:
        rho, u, p = state
        work = u * (GAMMA / (GAMMA - 1.0) * p + 0.5 * rho * u**2)
        return np.array([rho * u, rho * u**2 + p, work])

    dt = 1e-7
    before, now, after = (wave(PLACE, time, amplitude) for time in (1e-4 - dt, 1e-4, 1e-4 + dt))
    change = (conserved(after) - conserved(before)) / (2.0 * dt)
    outflow = np.gradient(flux(now), PLACE, axis=1)
    return float((np.abs(change + outflow).max(axis=1) / np.abs(change).max(axis=1)).max())


def entropy(x, time, amplitude):
    return travelling.entropy_wave(x, time, BASE, amplitude, 0.5, 0.2)


def pulse(x, time, amplitude):
    return travelling.acoustic_pulse(x, time, BASE, amplitude, 0.5, 0.2, GAMMA)


def test_entropy_wave_solves_the_equations() -> None:
    assert residual(entropy, 0.5) < 1e-4  # of the difference quotients


def test_acoustic_pulse_solves_them_to_first_order_in_its_height() -> None:
    large, small = residual(pulse, 1e-2), residual(pulse, 1e-3)
    assert small < 2e-3
    assert large / small == pytest.approx(10.0, rel=0.1)


def test_spherical_pulse_solves_them_in_a_cone() -> None:
    """Mass: (A rho)_t + (A rho u)_r = 0; momentum: rho u_t + p_r = 0; both linear in the pulse."""
    rest, height = State(1.2, 0.0, 1e5), 1e-6
    r, dt, time = np.linspace(0.5, 1.5, 4001), 1e-7, 1e-4
    before, now, after = (
        travelling.spherical_pulse(r, t, rest, height, 0.8, 0.2, GAMMA)
        for t in (time - dt, time, time + dt)
    )
    crest = 0.8 + np.sqrt(GAMMA * rest.p / rest.rho) * time + 0.2 / 3.0
    assert np.max(now.p) / rest.p - 1.0 == pytest.approx(height * 0.8 / crest, rel=5e-3)
    filling = (after.rho - before.rho) / (2.0 * dt)
    spreading = np.gradient(r**2 * rest.rho * now.u, r) / r**2
    assert np.abs(filling + spreading).max() < 1e-3 * np.abs(filling).max()
    quickening = rest.rho * (after.u - before.u) / (2.0 * dt)
    assert np.abs(quickening + np.gradient(now.p, r)).max() < 1e-3 * np.abs(quickening).max()


def test_bump_is_smooth_and_shut() -> None:
    x = np.array([-1.1, -1.0, 0.0, 0.5, 1.0, 2.0])
    assert travelling.bump(x, 1.0) == pytest.approx([0.0, 0.0, 1.0, 0.25, 0.0, 0.0], abs=1e-15)


def test_observed_order() -> None:
    spacing = [0.1, 0.05, 0.025]
    assert observed_order(spacing, [3.0 * h**2 for h in spacing]) == pytest.approx(2.0, rel=1e-12)
    assert observed_order(spacing, [5.0 * h for h in spacing]) == pytest.approx(1.0, rel=1e-12)


def test_cell_means_of_a_polynomial() -> None:
    edges = np.array([0.0, 0.3, 1.0])
    expected = np.diff(edges**6) / 6.0 / np.diff(edges)
    assert cell_means(lambda x: x**5, edges) == pytest.approx(expected, rel=1e-13)
    assert mean_error([1.0, 3.0], [2.0, 1.0]) == pytest.approx(1.5)
