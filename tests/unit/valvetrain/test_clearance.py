"""Piston-to-valve clearance and valve springs."""

from __future__ import annotations

from math import degrees, pi, radians, sqrt

import numpy as np
import pytest

from enginesim.formulas.crank import piston_travel
from enginesim.valvetrain.clearance import nearest_approach
from enginesim.valvetrain.motion import ValveMotion
from enginesim.valvetrain.spring import Spring, float_speed, reduced_mass
from tests.unit.valvetrain.test_lift import Lobe, motion

INTAKE = 2 * pi + radians(106)
EXHAUST = 2 * pi - radians(114)


@pytest.mark.parametrize("centre, sign", [(INTAKE, 1.0), (EXHAUST, -1.0)])
def test_nearest_on_the_side_of_the_open_valve(centre: float, sign: float) -> None:
    # usage of the trade: worst 5 to 15 degrees after top (intake), before top (exhaust)
    found = nearest_approach(motion(Lobe(), centre), 5e-3, 0.086, 0.143)
    assert 3.0 < sign * degrees(found.angle) < 20.0


def test_against_a_brute_force_sum() -> None:
    valve = motion(Lobe(), INTAKE)
    found = nearest_approach(valve, 5e-3, 0.086, 0.143, 0.001, radians(20))
    angle = np.linspace(-1.5, 1.5, 30001)
    gap = [
        5e-3 + np.cos(radians(20)) * piston_travel(a, 0.086, 0.143, 0.001) - lift
        for a, lift in zip(angle, valve.lift(2 * pi + angle), strict=True)
    ]
    # a tenth of a degree off a flat minimum
    assert found.clearance == pytest.approx(min(gap), abs=2e-7)


def test_advancing_the_cam_brings_the_intake_valve_nearer() -> None:
    near = nearest_approach(motion(Lobe(), INTAKE - radians(4)), 5e-3, 0.086, 0.143)
    far = nearest_approach(motion(Lobe(), INTAKE), 5e-3, 0.086, 0.143)
    assert near.clearance < far.clearance


def test_a_shut_valve_leaves_the_depth() -> None:
    found = nearest_approach(motion(Lobe(), 4 * pi), 5e-3, 0.086, 0.143)
    assert found.clearance == pytest.approx(5e-3)
    assert found.angle == pytest.approx(0.0, abs=1e-12)


def parabola() -> ValveMotion:
    """A measured table of constant negative acceleration: l = 10 mm - a x^2 / 2."""
    angle = np.linspace(-1.0, 1.0, 401)
    return ValveMotion(2 * pi, None, (angle, 0.010 * (1.0 - angle**2)))


def test_float_speed_of_a_parabola() -> None:
    # -l'' = 0.020 m/rad2 everywhere, so the weakest place is at the lowest lift: F = F0.
    # A cubic through points has the second derivative to 2 % only, at the ends of the table.
    spring = Spring(seat_force=400.0, rate=40e3, installed_height=0.045, bind_height=0.030)
    found = float_speed(parabola(), spring, 0.2)
    assert found == pytest.approx(sqrt(400.0 / (0.2 * 0.020)), rel=0.02)


def test_a_stiffer_or_lighter_train_floats_later() -> None:
    valve = motion(Lobe(), INTAKE)
    base = float_speed(valve, Spring(400.0, 40e3, 0.045, 0.030), 0.2)
    assert float_speed(valve, Spring(800.0, 80e3, 0.045, 0.030), 0.2) == pytest.approx(
        sqrt(2) * base
    )
    assert float_speed(valve, Spring(400.0, 40e3, 0.045, 0.030), 0.1) == pytest.approx(
        sqrt(2) * base
    )


def test_float_of_an_ordinary_train_is_at_an_ordinary_speed() -> None:
    # Usage of the trade: hydraulic trains are held to about 6500 rpm; 110 lbf on the seat and
    # 330 lbf/in, 0.25 kg at the valve, are ordinary (estimate). A rigid train is an upper bound.
    valve = motion(Lobe(), INTAKE)
    spring = Spring(110 * 4.448, 330 * 4.448 / 0.0254, 0.045, 0.030)
    rpm = float_speed(valve, spring, 0.25) * 30 / pi
    assert 5500 < rpm < 9500


def test_travel_to_bind() -> None:
    assert Spring(0.0, 0.0, 0.045, 0.030).travel_to_bind(0.012) == pytest.approx(0.003)


def test_reduced_mass_keeps_the_kinetic_energy() -> None:
    # valve at 1.5 m/s: lifter at 1 m/s, rocker at 1.5 / 0.03 = 50 rad/s
    energy = 0.5 * 0.12 * 1.5**2 + 0.5 * 0.15 * 1.0**2 + 0.5 * 2e-5 * 50.0**2
    found = reduced_mass(0.12, 0.15, 1.5, 2e-5, 0.03)
    assert 0.5 * found * 1.5**2 == pytest.approx(energy)
