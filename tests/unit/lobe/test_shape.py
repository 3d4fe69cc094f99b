"""Lobes: do they have exactly what the card says, and nothing that a cam cannot have?"""

from __future__ import annotations

from math import degrees, radians

import numpy as np
import pytest

from enginesim.base.errors import CaseError
from enginesim.lobe.flank import SINGLE_HUMP
from enginesim.lobe.follower import follower
from enginesim.lobe.shape import LobeProfile, synthesise

INCH = 0.0254

# Invented cards: hydraulic flat, solid flat, two heights in millimetres under a bucket, a roller
# with three heights, a slow hydraulic roller, and one duration alone.
CARDS = {
    "hydraulic flat": ([(0.006, 268), (0.050, 224)], 0.316, "hydraulic flat"),
    "solid flat": ([(0.006, 275), (0.050, 237)], 0.350, "solid flat"),
    "solid at 0.020": ([(0.020, 260), (0.050, 236)], 0.360, "solid flat"),
    "bucket": ([(0.1 / 25.4, 244), (1.0 / 25.4, 206)], 9.0 / 25.4, "bucket"),
    "roller, three heights": ([(0.006, 274), (0.050, 224), (0.200, 142)], 0.340, "solid roller"),
    "slow roller": ([(0.006, 280), (0.050, 220)], 0.330, "hydraulic roller"),
    "one height": ([(0.050, 230)], 0.330, "hydraulic roller"),
}


@pytest.fixture(params=CARDS, scope="module")
def card(request: pytest.FixtureRequest) -> tuple[list[tuple[float, float]], LobeProfile]:
    pairs, lift, lifter = CARDS[request.param]
    si = [(height * INCH, radians(duration)) for height, duration in pairs]
    return si, synthesise(si, lift * INCH, lifter)


def flank(lobe: LobeProfile, n: int = 4001) -> np.ndarray:
    return np.linspace(-lobe.half_angle, 0.0, n)


def test_every_duration_comes_back(card: tuple[list[tuple[float, float]], LobeProfile]) -> None:
    pairs, lobe = card
    for height, duration in pairs:
        assert degrees(lobe.duration(height)) == pytest.approx(degrees(duration), abs=1e-6)
        assert lobe.lift(0.5 * duration) == pytest.approx(height, rel=1e-9)


def test_the_nose_is_the_lift_and_at_rest(
    card: tuple[list[tuple[float, float]], LobeProfile],
) -> None:
    _, lobe = card
    assert lobe.lift(0.0) == pytest.approx(lobe.lobe_lift, rel=1e-12)
    assert lobe.lift(0.0, 2) < 0.0
    for odd in (1, 3):
        assert abs(lobe.lift(-1e-12, odd)) < 1e-9 * np.abs(lobe.lift(flank(lobe), odd)).max()


def test_the_flank_rises_from_nothing(
    card: tuple[list[tuple[float, float]], LobeProfile],
) -> None:
    _, lobe = card
    angle = flank(lobe)
    lift = lobe.lift(angle)
    assert lift[0] == 0.0
    assert lift.min() >= 0.0
    # rounding of the control points' signs only
    assert lobe.lift(angle, 1).min() > -1e-10 * lobe.lobe_lift


def test_acceleration_is_one_hump_and_a_smooth_nose(
    card: tuple[list[tuple[float, float]], LobeProfile],
) -> None:
    _, lobe = card
    assert lobe.rule == SINGLE_HUMP
    acceleration = lobe.lift(flank(lobe), 2)
    slope = np.diff(acceleration)
    significant = slope[np.abs(slope) > 1e-6 * np.abs(slope).max()]
    assert np.count_nonzero(np.diff(np.sign(significant))) == 1  # up once, then down
    assert acceleration.max() > 0.0 > acceleration.min()


def test_jerk_is_continuous(card: tuple[list[tuple[float, float]], LobeProfile]) -> None:
    """The largest jump between samples halves with their spacing, over the nose and the ends."""
    _, lobe = card
    whole = 1.1 * lobe.half_angle
    jumps = []
    for n in (20001, 40001, 80001):
        jerk = lobe.lift(np.linspace(-whole, whole, n), 3)
        jumps.append(np.abs(np.diff(jerk)).max())
    assert jumps[1] / jumps[0] == pytest.approx(0.5, abs=0.05)
    assert jumps[2] / jumps[1] == pytest.approx(0.5, abs=0.05)


@pytest.mark.parametrize("derivative", [1, 2, 3])
def test_derivatives_are_those_of_the_lift(
    card: tuple[list[tuple[float, float]], LobeProfile], derivative: int
) -> None:
    _, lobe = card
    angle, h = np.linspace(-2.4, 2.4, 301), 1e-5
    before, after = (lobe.lift(angle + s, derivative - 1) for s in (-h, h))
    found = lobe.lift(angle, derivative)
    # central difference: of second order in h, but for rounding
    np.testing.assert_allclose((after - before) / (2 * h), found, atol=1e-4 * np.abs(found).max())


def test_symmetry(card: tuple[list[tuple[float, float]], LobeProfile]) -> None:
    _, lobe = card
    angle = np.linspace(0.0, 3.0, 50)
    np.testing.assert_array_equal(lobe.lift(angle), lobe.lift(-angle))
    np.testing.assert_array_equal(lobe.lift(angle, 1), -lobe.lift(-angle, 1))


def test_area_is_the_integral(card: tuple[list[tuple[float, float]], LobeProfile]) -> None:
    _, lobe = card
    angle = np.linspace(-lobe.half_angle, lobe.half_angle, 20001)
    assert lobe.area == pytest.approx(np.trapezoid(lobe.lift(angle), angle), rel=1e-7)


def test_velocity_obeys_the_face_when_it_can() -> None:
    pairs, lift, lifter = CARDS["solid flat"]
    si = [(height * INCH, radians(duration)) for height, duration in pairs]
    lobe = synthesise(si, lift * INCH, lifter)
    free = synthesise(si, lift * INCH, "solid roller")
    limit = follower(lifter).velocity_limit
    assert limit is not None
    assert limit == pytest.approx(0.401 * INCH)  # half of 0.842 in less 0.020 in
    assert lobe.is_within_limit
    assert free.velocity > limit >= lobe.velocity * (1 - 1e-6)
    assert free.is_within_limit  # a roller has no edge
    assert free.follower.velocity_limit is None


def test_a_wider_face_allows_more() -> None:
    wider = follower("solid flat", 0.904 * INCH)
    assert wider.velocity_limit == pytest.approx(0.432 * INCH)


def test_a_lobe_too_fast_for_its_face_says_so() -> None:
    card = [(0.006 * INCH, radians(258)), (0.050 * INCH, radians(220))]
    lobe = synthesise(card, 0.450 * INCH, "hydraulic flat")
    assert not lobe.is_within_limit
    assert degrees(lobe.duration(0.050 * INCH)) == pytest.approx(220, abs=1e-6)


def test_duration_at_0200_is_near_the_estimate_of_the_trade() -> None:
    # estimate: duration at 0.050 in less 85 degrees for a hydraulic flat lifter; the spread of
    # its catalogue values is about 6 degrees, as that of the seat-to-0.050 spread
    pairs, lift, lifter = CARDS["hydraulic flat"]
    lobe = synthesise([(h * INCH, radians(d)) for h, d in pairs], lift * INCH, lifter)
    assert degrees(lobe.duration(0.200 * INCH)) == pytest.approx(224 - 85, abs=6)


def test_base_circle_of_a_convex_lobe() -> None:
    lobe = synthesise([(0.006 * INCH, radians(268)), (0.050 * INCH, radians(224))], 0.316 * INCH)
    angle = flank(lobe)
    radius = lobe.base_radius + lobe.lift(angle) + 4.0 * lobe.lift(angle, 2)
    assert radius.min() == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    "pairs, lift, text",
    [
        ([(0.050, 268), (0.006, 224)], 0.316, "a shorter duration at a greater height"),
        ([(0.006, 268), (0.050, 268)], 0.316, "a shorter duration at a greater height"),
        ([(0.050, 268), (0.050, 224)], 0.316, "a shorter duration at a greater height"),
        ([(0.006, 268), (0.400, 224)], 0.316, "below|between 0 and the lobe lift"),
        ([(-0.006, 268)], 0.316, "between 0 and the lobe lift"),
        ([(0.006, 700)], 0.316, "durations from 0 to 480 deg"),
        ([(0.006, 268)], -0.3, "a positive lift"),
        ([(0.006, 268)], float("nan"), "a positive lift"),
        ([], 0.316, "at least one duration"),
        # hardly any height gained in 100 degrees, then all of it in 4
        ([(0.006, 268), (0.010, 168), (0.300, 160)], 0.316, "one smooth rising flank"),
    ],
)
def test_numbers_that_no_lobe_has(pairs: list[tuple[float, float]], lift: float, text: str) -> None:
    si = [(height * INCH, radians(duration)) for height, duration in pairs]
    with pytest.raises(CaseError, match=text):
        synthesise(si, lift * INCH, path="cam.intake.durations")


def test_all_contradictions_are_told_at_once() -> None:
    with pytest.raises(CaseError) as caught:
        synthesise([(0.006 * INCH, 3.0), (0.050 * INCH, 3.5), (0.5 * INCH, 9.0)], 0.3 * INCH)
    assert len(caught.value.problems) == 4
