"""Wiebe law: its published fractions, its slope and its inverse."""

from __future__ import annotations

import pytest

from enginesim.formulas import wiebe


def test_published_fractions() -> None:
    # Heywood, equation 9.30 with a = 5, m = 2 (from memory), recomputed.
    assert wiebe.burned_fraction(1.0, 5.0, 2.0) == pytest.approx(0.99326, abs=6e-6)
    places = [wiebe.position(fraction, 5.0, 2.0) for fraction in (0.1, 0.5, 0.9)]
    assert places == pytest.approx([0.2762, 0.5175, 0.7722], abs=6e-5)
    assert places[2] - places[0] == pytest.approx(0.4960, abs=6e-5)


def test_published_place_of_the_fastest_burn() -> None:
    rates = {k: wiebe.burn_rate(1e-4 * k, 5.0, 2.0) for k in range(1, 10000)}
    assert 1e-4 * max(rates, key=rates.__getitem__) == pytest.approx(0.5109, abs=1e-4)


@pytest.mark.parametrize("a,m", [(5.0, 2.0), (6.9, 1.5), (3.0, 0.7)])
@pytest.mark.parametrize("x", [0.05, 0.4, 0.93])
def test_rate_is_the_slope(x: float, a: float, m: float) -> None:
    h = 1e-6
    slope = (wiebe.burned_fraction(x + h, a, m) - wiebe.burned_fraction(x - h, a, m)) / (2.0 * h)
    assert wiebe.burn_rate(x, a, m) == pytest.approx(slope, rel=1e-8)


@pytest.mark.parametrize("a,m", [(5.0, 2.0), (6.9, 1.5), (3.0, 0.7)])
@pytest.mark.parametrize("fraction", [1e-6, 0.02, 0.5, 0.9])
def test_position_inverts(fraction: float, a: float, m: float) -> None:
    there = wiebe.position(fraction, a, m)
    assert wiebe.burned_fraction(there, a, m) == pytest.approx(fraction, rel=1e-12)


def test_outside_the_burn() -> None:
    assert wiebe.burned_fraction(-0.2, 5.0, 2.0) == 0.0
    assert wiebe.burned_fraction(3.0, 5.0, 2.0) == wiebe.burned_fraction(1.0, 5.0, 2.0)
    assert wiebe.burn_rate(-0.2, 5.0, 2.0) == 0.0
    assert wiebe.burn_rate(1.2, 5.0, 2.0) == 0.0
    assert wiebe.position(0.9, 2.0, 2.0) > 1.0, "this law ends at 0.865"
