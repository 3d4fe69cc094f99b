"""Any plausible card gives a lobe that has its numbers, or says what is wrong with it."""

from __future__ import annotations

from math import degrees, log, pi, radians

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enginesim.base.errors import CaseError
from enginesim.lobe.follower import FACE_DIAMETER
from enginesim.lobe.shape import synthesise
from enginesim.valvetrain import card

INCH = 0.0254
LIFTERS = ("hydraulic flat", "solid flat", "hydraulic roller", "solid roller", "bucket", "finger")


@st.composite
def plausible_cards(draw: st.DrawFn) -> tuple[list[tuple[float, float]], float, str]:
    """Duration at 0.050 in, a seat height and spread, lift; as cards of all trades have them."""
    at_050 = draw(st.floats(180, 290))
    seat = draw(st.sampled_from([0.004, 0.006, 0.010, 0.015, 0.020]))
    spread = draw(st.floats(28, 70)) * log(0.050 / seat) / log(0.050 / 0.006)
    lift = draw(st.floats(0.22, 0.45))
    lifter = draw(st.sampled_from(LIFTERS))
    pairs = [(seat * INCH, radians(at_050 + spread)), (0.050 * INCH, radians(at_050))]
    return pairs, lift * INCH, lifter


@pytest.mark.slow
@settings(max_examples=25)
@given(plausible_cards())
def test_a_plausible_card_gives_its_lobe(
    numbers: tuple[list[tuple[float, float]], float, str],
) -> None:
    pairs, lift, lifter = numbers
    lobe = synthesise(pairs, lift, lifter)
    for height, duration in pairs:
        assert abs(degrees(lobe.duration(height) - duration)) < 1e-6
    angle = np.linspace(-lobe.half_angle, 0.0, 2001)
    assert lobe.lift(angle).min() >= 0.0
    assert lobe.lift(angle, 1).min() > -1e-9 * lift
    assert lobe.lift(angle).max() <= lift
    acceleration = lobe.lift(angle, 2)
    significant = acceleration[np.abs(acceleration) > 1e-6 * np.abs(acceleration).max()]
    if lobe.rule != "monotone":
        assert np.count_nonzero(np.diff(np.sign(significant))) == 1
    # a continuous jerk: its largest step halves with the spacing (a jump would stay)
    coarse, fine = (
        np.abs(np.diff(lobe.lift(np.linspace(-lobe.half_angle, 0.0, n), 3))).max()
        for n in (8001, 16001)
    )
    assert 0.45 < fine / coarse < 0.55
    limit = lobe.follower.velocity_limit
    assert (limit is not None) == (lifter in FACE_DIAMETER)
    if limit is not None:
        fastest = 2.0 * lobe.lift(angle, 1).max()
        assert lobe.is_within_limit == (fastest <= limit * (1 + 1e-6))


@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.floats(-1e-3, 0.012), st.floats(-1.0, 9.0)), min_size=0, max_size=4),
    st.floats(-1e-3, 0.012),
)
def test_any_numbers_give_a_lobe_or_a_case_error(
    pairs: list[tuple[float, float]], lift: float
) -> None:
    try:
        lobe = synthesise(pairs, lift)
    except CaseError:
        return
    for height, duration in pairs:
        assert abs(lobe.lift(0.5 * duration) - height) < 1e-9 * lift


angles = st.floats(0.1, 2 * pi)


@given(angles, angles, st.floats(1.2, 2.6), st.floats(1.0, 3.0))
def test_events_and_card_are_two_ways_to_say_the_same(
    di: float, de: float, lsa: float, icl: float
) -> None:
    events = card.events(di, de, lsa, icl)
    back = card.events(
        events.duration_intake,
        events.duration_exhaust,
        events.lobe_separation,
        events.intake_centreline,
    )
    for name in ("io", "ic", "eo", "ec"):
        assert abs(getattr(events, name) - getattr(back, name)) < 1e-12
    assert abs(events.overlap - card.overlap(di, de, lsa)) < 1e-12


@given(angles, angles, st.floats(1.2, 2.6), st.floats(1.0, 3.0), st.floats(-0.3, 0.3))
def test_advance_moves_all_events_alike_and_not_the_overlap(
    di: float, de: float, lsa: float, icl: float, turn: float
) -> None:
    before, after = card.events(di, de, lsa, icl), card.events(di, de, lsa, icl - turn)
    assert abs(after.overlap - before.overlap) < 1e-12
    for name, sign in (("io", 1), ("ic", -1), ("eo", 1), ("ec", -1)):
        assert abs(getattr(after, name) - getattr(before, name) - sign * turn) < 1e-12
