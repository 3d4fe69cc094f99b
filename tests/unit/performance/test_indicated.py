"""Work, mean pressures, torque and power."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from enginesim.base.errors import ResultError
from enginesim.formulas.crank import swept_volume
from enginesim.performance import indicated
from tests.records import SWEPT, piston_volume


def test_mean_pressure_and_torque_are_one_definition() -> None:
    # BMEP = 4 pi T / V for four strokes: 1 N m of 1 L is 0.12566 bar (definition).
    swept = 1e-3
    assert indicated.torque(0.12566370614e5, swept) == pytest.approx(1.0, rel=1e-6)
    work = 2 * 2 * pi * 1.0  # 1 N m over two turns
    assert indicated.mean_pressure(work, swept) == pytest.approx(0.12566370614e5, rel=1e-9)


def test_customary_units_of_mean_pressure() -> None:
    # BMEP[psi] = 150.80 lb-ft / cubic inch (definition; lb-ft 1.355818 N m, in3 16.3871 cc,
    # psi 6894.757 Pa).
    swept = 350 * 16.387064e-6
    mep = 150.796447 * 400 / 350 * 6894.757293
    assert indicated.torque(mep, swept) == pytest.approx(400 * 1.3558179483, rel=1e-6)


def test_customary_units_of_power() -> None:
    # hp = lb-ft x rpm / 5252.113 (definition; hp 745.6999 W): equal at that speed.
    for torque in (1.0, 400.0):
        watt = indicated.power(torque * 1.3558179483, 5252.1131)
        assert watt / 745.69987158 == pytest.approx(torque, rel=1e-6)


def test_displacement_and_piston_speed() -> None:
    # 4.000 x 4.000 in, six cylinders: 301.593 in3, 4942.2 cc; 3.00 in at 6000 rpm: 3000 ft/min.
    assert swept_volume(0.1016, 0.1016, 6) == pytest.approx(4942.2e-6, rel=1e-5)
    assert indicated.piston_speed(3 * 0.0254, 6000) * 60 / 0.3048 == pytest.approx(3000)


def test_work_of_a_circle_in_the_plane() -> None:
    """Clockwise loop: work is the ellipse's area. The trapezoid's order is two (here better)."""
    angle = np.linspace(0, 2 * pi, 361)
    p, v = 5e5 + 2e5 * np.sin(angle), 3e-4 - 1e-4 * np.cos(angle)
    assert indicated.loop_work(p, v) == pytest.approx(pi * 2e5 * 1e-4, rel=1e-4)
    assert indicated.loop_work(p[::-1], v[::-1]) == pytest.approx(-pi * 2e5 * 1e-4, rel=1e-4)


def test_order_of_the_trapezoid_is_two() -> None:
    """
    Polytropic compression with exponent 1.3, expansion with 1.25 from three times the pressure.

    The closed form is exact; the corners lie on samples, so what is left is the rule's error.
    """
    clearance, full = (float(piston_volume(np.array([a]))[0]) for a in (0.0, pi))

    def loop(n: int) -> tuple[np.ndarray, np.ndarray]:
        v = piston_volume(np.linspace(-pi, pi, 2 * n + 1))
        up = 1e5 * (full / v[: n + 1]) ** 1.3
        down = 3 * up[-1] * (clearance / v[n:]) ** 1.25
        return (
            np.concatenate([up, down, [up[0]]]),
            np.concatenate([v[: n + 1], v[n:], [v[0]]]),
        )

    p_top = 1e5 * (full / clearance) ** 1.3
    squeezed = (p_top * clearance - 1e5 * full) / 0.3
    pushed = 3 * p_top * (clearance - full * (clearance / full) ** 1.25) / 0.25
    exact = pushed - squeezed
    steps = np.array([90, 180, 360, 720])
    errors = [abs(indicated.loop_work(*loop(n)) - exact) for n in steps]
    order = -np.polyfit(np.log(steps), np.log(errors), 1)[0]
    assert order == pytest.approx(2.0, abs=0.05)
    # One sample a degree, as records have: far below what anything else decides.
    assert errors[1] < 5e-4 * exact


def test_work_of_what_is_no_cycle() -> None:
    with pytest.raises(ResultError, match="found 3 pressures for 2 volumes"):
        indicated.loop_work(np.ones(3), np.ones(2))
    with pytest.raises(ResultError, match="allowed one whole cycle"):
        indicated.loop_work(np.ones(3), np.array([1.0, 2.0, 1.5]) * SWEPT)
