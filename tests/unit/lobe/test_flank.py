"""Flanks: is the one that is found the best one, and what if the points are awkward?"""

from __future__ import annotations

from math import log

import numpy as np
import pytest

from enginesim.lobe.flank import MONOTONE, SINGLE_HUMP, Flanks
from enginesim.lobe.spline import control_points, rows


def cards(n: int) -> list[tuple[list[float], list[float]]]:
    """Two points of a flank each, as invented cards have them: seat and 0.050 in."""
    draw = np.random.default_rng(7)
    found = []
    for _ in range(n):
        at_050, spread = draw.uniform(190, 270), draw.uniform(38, 60)
        seat = draw.choice([0.004, 0.006, 0.010])
        lift = draw.uniform(0.28, 0.42)
        low = at_050 + spread * log(0.050 / seat) / log(0.050 / 0.006)
        half = 0.5 * low + 45.0
        places = [1.0 - 0.5 * duration / half for duration in (low, at_050)]
        found.append((places, [seat / lift, 0.050 / lift]))
    return found


def slope(coefficients: np.ndarray) -> float:
    return float((control_points(1) @ coefficients).max())


@pytest.mark.parametrize("slowing", [None, 0.93])
def test_no_other_turn_is_better(slowing: float | None) -> None:
    """The walk along the control points ends at the best of all of them."""
    for places, lifts in cards(3):
        free = Flanks(places, lifts).smoothest()
        assert free is not None
        limit = None if slowing is None else slowing * slope(free.coefficients)
        found = Flanks(places, lifts).smoothest(limit)
        assert found is not None
        assert found.rule == SINGLE_HUMP
        for start in range(12, 40, 6):
            other = Flanks(places, lifts)
            other._turn = dict.fromkeys(other._turn, start)
            again = other.smoothest(limit)
            assert again is not None
            # rounding of two least-squares solutions in a row
            assert again.jerk == pytest.approx(found.jerk, rel=1e-7)


def test_a_flank_does_not_hang_on_what_was_asked_before() -> None:
    """The bounds that the flank before touched are where the next one begins, no more."""
    for places, lifts in cards(4):
        used = Flanks(places, lifts)
        free = used.smoothest()
        assert free is not None
        for part in (0.99, 0.90, 0.95):
            limit = part * slope(free.coefficients)
            warm, cold = used.smoothest(limit), Flanks(places, lifts).smoothest(limit)
            assert warm is not None
            assert cold is not None
            np.testing.assert_allclose(warm.coefficients, cold.coefficients, atol=1e-8)


def test_a_limit_is_kept() -> None:
    for places, lifts in cards(4):
        flanks = Flanks(places, lifts)
        free = flanks.smoothest()
        assert free is not None
        limit = 0.93 * slope(free.coefficients)
        slow = flanks.smoothest(limit)
        assert slow is not None
        x = np.linspace(0.0, 1.0, 1001)
        assert (rows(x, 1) @ slow.coefficients).max() <= limit * (1 + 1e-9)
        assert slow.jerk > free.jerk


def test_awkward_points_fall_back_to_a_looser_rule() -> None:
    found = Flanks([0.3, 0.4, 0.6], [0.02, 0.2, 0.3]).smoothest()
    assert found is not None
    assert found.rule == MONOTONE
