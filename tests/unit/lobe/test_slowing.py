"""Lobes that are too fast for the face of their follower: no jump, no corner, and told."""

from __future__ import annotations

from collections.abc import Callable
from math import degrees, radians

import numpy as np
import pytest

from enginesim.lobe.flank import SINGLE_HUMP, SINGLE_TURN
from enginesim.lobe.follower import SHARPEST, follower
from enginesim.lobe.shape import LobeProfile, synthesise

INCH = 0.0254
FACE = 0.842 * INCH

Card = tuple[list[tuple[float, float]], float]


def card(low: float, at_050: float, lift: float) -> Card:
    """Duration at 0.006 in and at 0.050 in, lobe lift. [deg, deg, in]."""
    return [(0.006 * INCH, radians(low)), (0.050 * INCH, radians(at_050))], lift * INCH


def flat(numbers: Card) -> LobeProfile:
    return synthesise(*numbers, "hydraulic flat")


def free(numbers: Card) -> LobeProfile:
    return synthesise(*numbers, "solid roller")


#: From lobes that the usual face follows to ones far beyond it.
WAYS = {
    "lift": (lambda v: card(260, 214, v), 0.28, 0.44),
    "lift of a long cam": (lambda v: card(286, 240, v), 0.30, 0.46),
    "both durations": (lambda v: card(v + 46, v, 0.34), 190, 260),
    "duration at 0.050 in": (lambda v: card(268, v, 0.33), 205, 235),
    "duration at the seat": (lambda v: card(v, 220, 0.32), 252, 285),
}


@pytest.mark.slow
@pytest.mark.parametrize("way", WAYS)
def test_a_lobe_follows_its_card_without_a_jump(way: str) -> None:
    """A jump keeps its size in shorter steps; a kink, wherever it falls, loses at least half."""
    make: Callable[[float], Card]
    make, low, high = WAYS[way]
    largest = []
    for n in (17, 65):
        area = np.array([flat(make(v)).area for v in np.linspace(low, high, n)])
        largest.append(np.abs(np.diff(area, 2)).max() / area.max())
    assert largest[0] < 0.03  # what the kink where the face's limit gives way may do
    assert largest[1] < 0.5 * largest[0]


@pytest.mark.slow
@pytest.mark.parametrize("low, at_050", [(298, 270), (244, 214)])
def test_a_flat_nose_comes_without_a_jump(low: float, at_050: float) -> None:
    """A low lift over long durations: the single hump goes over to the single turn."""
    rules, largest = set(), []
    for n in (17, 65):
        lobes = [free(card(low, at_050, lift)) for lift in np.linspace(0.20, 0.36, n)]
        rules |= {lobe.rule for lobe in lobes}
        area = np.array([lobe.area for lobe in lobes])
        largest.append(np.abs(np.diff(area, 2)).max() / area.max())
    assert rules == {SINGLE_HUMP, SINGLE_TURN}
    assert largest[1] < 0.5 * largest[0]


@pytest.mark.parametrize("way", WAYS)
def test_the_edge_of_the_face_costs_no_nose_and_no_ramp(way: str) -> None:
    make, low, high = WAYS[way]
    for value in np.linspace(low, high, 7):
        lobe, smooth = flat(make(value)), free(make(value))
        # what was narrowed down ends within a ten-millionth of the bound
        bound = max(SHARPEST * FACE, smooth.sharpness)
        assert lobe.sharpness <= bound * (1 + 1e-6)
        assert degrees(abs(at(lobe, 0.001) - at(smooth, 0.001))) < 1.0
        assert at(lobe, 1e-5) - lobe.duration(0.006 * INCH) < 2 * radians(45.0)
        assert smooth.area * (1 + 1e-9) >= lobe.area > 0.95 * smooth.area


def at(lobe: LobeProfile, height: float) -> float:
    return lobe.duration(height * INCH)


def test_far_beyond_its_face_a_lobe_is_the_smoothest() -> None:
    numbers = card(260, 214, 0.42)
    lobe = flat(numbers)
    assert not lobe.is_within_limit
    np.testing.assert_array_equal(lobe.coefficients, free(numbers).coefficients)


@pytest.mark.parametrize("lift", [0.328, 0.335, 0.36, 0.42])
def test_the_face_that_is_asked_for_can_follow(lift: float) -> None:
    pairs, top = card(260, 214, lift)
    lobe = synthesise(pairs, top, "hydraulic flat")
    assert not lobe.is_within_limit
    assert lobe.face_needed > FACE
    wide = synthesise(pairs, top, "hydraulic flat", face_diameter=lobe.face_needed)
    assert wide.is_within_limit
    assert wide.face_needed <= lobe.face_needed * (1 + 1e-6)


def test_a_slower_lobe_keeps_the_card() -> None:
    pairs, top = card(260, 214, 0.333)
    lobe = synthesise(pairs, top, "hydraulic flat")
    for height, duration in pairs:
        assert degrees(lobe.duration(height)) == pytest.approx(degrees(duration), abs=1e-6)
    limit = follower("hydraulic flat").velocity_limit
    assert limit is not None
    assert free((pairs, top)).velocity > lobe.velocity > limit
