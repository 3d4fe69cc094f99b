"""Finite-amplitude waves against the two published wave strengths and against shock relations."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.exact import riemann, simple_wave
from tests.exact.riemann import State

GAMMA = 1.4
A_293 = math.sqrt(GAMMA * 287.0 * 293.0)


@pytest.mark.parametrize(
    "ratio,shut,opened,u,speed",
    [
        # The two wave strengths of Blair (1998), chapter 2 (from memory); recomputed, 293 K.
        (1.2, 1.43335, 0.82928, 45.27, 397.4),
        (0.8, 0.63531, 1.24141, -53.83, 278.5),
    ],
)
def test_ends(ratio: float, shut: float, opened: float, u: float, speed: float) -> None:
    assert simple_wave.closed_end(ratio, GAMMA) == pytest.approx(shut, abs=1e-5)
    assert simple_wave.open_end(ratio, GAMMA) == pytest.approx(opened, abs=1e-5)
    assert simple_wave.velocity(ratio, A_293, GAMMA) == pytest.approx(u, abs=0.01)
    assert simple_wave.propagation(ratio, A_293, GAMMA) == pytest.approx(speed, abs=0.1)


def test_superposition() -> None:
    # Recomputed: a0 343.11 m/s.
    same = simple_wave.superposition(1.2, 1.2, A_293, GAMMA)
    assert same == pytest.approx((1.43335, 0.0), abs=1e-5)
    unlike = simple_wave.superposition(1.2, 0.8, A_293, GAMMA)
    assert unlike.ratio == pytest.approx(0.96561, abs=1e-5)
    assert unlike.velocity == pytest.approx(99.10, abs=0.01)


def test_parting_undoes_superposition() -> None:
    both = simple_wave.superposition(1.3, 0.9, A_293, GAMMA)
    found = simple_wave.parted(np.array(both.ratio), np.array(both.velocity), A_293, GAMMA)
    assert found == pytest.approx((1.3, 0.9), rel=1e-13)


def test_rarefaction_reflection_is_a_riemann_problem() -> None:
    """A rarefaction at a closed end: the same as two such waves meeting, which is exact."""
    p_0, rho_0 = 1e5, 1e5 / (287.0 * 293.0)
    u = simple_wave.velocity(0.8, A_293, GAMMA)
    wave = State(rho_0 * 0.8 ** (1.0 / GAMMA), u, 0.8 * p_0)
    middle = riemann.star(wave, State(wave.rho, -u, wave.p), GAMMA)
    assert middle.p / p_0 == pytest.approx(simple_wave.closed_end(0.8, GAMMA), rel=1e-12)


@pytest.mark.parametrize(
    "speed,ratio,head,tail",
    [
        # Recomputed; air at 300 K, R = 287.05 J/(kg K).
        (50.0, 1.21977, 378.5, 378.5),
        (-50.0, 0.81500, 347.2, 287.2),
        (100.0, 1.47885, 412.4, 412.4),
        (-100.0, 0.66015, 347.2, 227.2),
    ],
)
def test_piston(speed: float, ratio: float, head: float, tail: float) -> None:
    a_0 = math.sqrt(GAMMA * 287.05 * 300.0)
    found = simple_wave.piston(speed, a_0, GAMMA)
    assert found.ratio == pytest.approx(ratio, abs=1e-5)
    assert (found.head, found.tail) == pytest.approx((head, tail), abs=0.06)
    still = State(1e5 / (287.05 * 300.0), 0.0, 1e5)
    assert riemann.velocity_change(found.ratio * 1e5, still, GAMMA) == pytest.approx(
        speed, rel=1e-9
    )


@pytest.mark.parametrize("u,frequency,way", [(20.0, 100.0, 7.99), (30.0, 150.0, 3.55)])
def test_steepening_distance(u: float, frequency: float, way: float) -> None:
    # Recomputed: a 347.2 m/s (air at 300 K).
    a_0 = math.sqrt(GAMMA * 287.0 * 300.0)
    found = simple_wave.steepening_distance(u, frequency, a_0, GAMMA)
    assert found == pytest.approx(way, abs=0.01)


def test_travelled_wave_breaks_at_the_steepening_distance() -> None:
    """The steepest slope grows as 1 / (1 - way / breaking way)."""
    a_0, u_0, frequency = 347.2, 20.0, 200.0
    number = 2.0 * math.pi * frequency / a_0
    way = simple_wave.steepening_distance(u_0, frequency, a_0, GAMMA)
    time = 0.5 * way / a_0
    place = a_0 * time + np.array([-1e-5, 1e-5])
    found = simple_wave.travelled(lambda x: -u_0 * np.sin(number * x), place, time, a_0, GAMMA)
    slope = -(found[1] - found[0]) / 2e-5
    # The foot of the wave, u = 0, travels at a0 exactly, and half way to breaking it is 2 times
    # as steep (steepening: rising pressure arrives from behind, u falls with x here).
    assert slope == pytest.approx(2.0 * u_0 * number, rel=1e-3)


def test_pressure_at_velocity() -> None:
    u = simple_wave.velocity(1.2, A_293, GAMMA)
    assert simple_wave.pressure_at(np.array([u]), 1e5, A_293, GAMMA)[0] == pytest.approx(1.2e5)
