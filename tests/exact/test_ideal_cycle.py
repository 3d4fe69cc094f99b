"""Ideal cycles against textbook values, worked energy balances and the trade's constant."""

from __future__ import annotations

import math

import pytest

from tests.exact import ideal_cycle


@pytest.mark.parametrize(
    "compression,gamma,efficiency",
    [
        # Any text; recomputed.
        (8.0, 1.4, 0.5647),
        (9.0, 1.4, 0.5848),
        (10.0, 1.4, 0.6019),
        (12.0, 1.4, 0.6299),
        (10.0, 1.3, 0.4988),
    ],
)
def test_otto(compression: float, gamma: float, efficiency: float) -> None:
    assert ideal_cycle.otto_efficiency(compression, gamma) == pytest.approx(efficiency, abs=6e-5)


def test_otto_around_the_corners() -> None:
    """Four corners of the cycle by pV^gamma; heat in and out at constant volume."""
    gamma, r, t_1, rise = 1.35, 9.0, 300.0, 1800.0
    t_2 = t_1 * r ** (gamma - 1.0)
    t_4 = (t_2 + rise) * r ** (1.0 - gamma)
    expected = 1.0 - (t_4 - t_1) / rise
    assert ideal_cycle.otto_efficiency(r, gamma) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    "back,ratio",
    # Heywood, equation 6.2 (from memory); recomputed: compression 10, gamma 1.4.
    [(1.0, 1.0), (1.1, 0.99206), (2.0, 0.92063), (0.5, 1.03968)],
)
def test_filling(back: float, ratio: float) -> None:
    assert ideal_cycle.filling_ratio(10.0, back, 1.4) == pytest.approx(ratio, abs=1e-5)


@pytest.mark.parametrize("back", [0.6, 1.0, 1.7])
def test_filling_by_energy_balance(back: float) -> None:
    """Residual at `back` in the clearance; intake opens, and the piston draws at pressure 1."""
    gamma, r, t_in = 1.38, 8.5, 310.0
    cv = 1.0 / (gamma - 1.0)  # gas constant 1
    clearance, full = 1.0 / (r - 1.0), r / (r - 1.0)
    energy_before, energy_after = back * clearance * cv, full * cv
    work_done = full - clearance
    mass = (energy_after - energy_before + work_done) / ((cv + 1.0) * t_in)
    expected = mass * t_in  # over p / (R T) times unit swept volume
    assert ideal_cycle.filling_ratio(r, back, gamma) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    "length,rpm",
    # Engelman, ASME 73-WA/DGP-2 (1973), from memory; recomputed: B 86, S 86, ratio 10, runner
    # 40 mm, sound speed of air at 25 degC (346.14 m/s), K 2.1.
    [(0.25, 6387), (0.35, 5398), (0.45, 4760), (0.60, 4123), (0.80, 3570)],
)
def test_engelman(length: float, rpm: float) -> None:
    swept = 0.25 * math.pi * 0.086**2 * 0.086
    area = 0.25 * math.pi * 0.04**2
    found = ideal_cycle.engelman_speed(area, length, swept, 10.0, 346.14) * 30.0 / math.pi
    assert found == pytest.approx(rpm, abs=0.6)


def test_engelman_in_the_trades_units() -> None:
    """N = 162 / K c sqrt(A / (L V)) sqrt((R - 1) / (R + 1)) in rpm, ft/s, in: the same law."""
    inch, c_ft, k = 0.0254, 1135.0, 2.1
    area, length, swept, ratio = 1.9, 13.0, 30.0, 9.5
    traded = 162.0 / k * c_ft * math.sqrt(area / (length * swept) * (ratio - 1) / (ratio + 1))
    found = ideal_cycle.engelman_speed(
        area * inch**2, length * inch, swept * inch**3, ratio, c_ft * 12.0 * inch, k
    )
    # 60 * 12 * sqrt(2) / (2 pi) is 162.06.
    assert found * 30.0 / math.pi == pytest.approx(traded, rel=5e-4)
