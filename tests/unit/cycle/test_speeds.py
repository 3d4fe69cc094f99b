"""Speeds that are asked for, and speeds that are added where the curve bends."""

from __future__ import annotations

from itertools import pairwise
from math import nan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from enginesim.base.errors import CaseError
from enginesim.cycle.speeds import CLOSEST, parse, refine


@pytest.mark.parametrize(
    "text, rpm, is_range",
    [
        ("4000", (4000.0,), False),
        (" 4000.5 ", (4000.5,), False),
        ("6000,2000 , 2000", (2000.0, 6000.0), False),
        ("2000 3000", (2000.0, 3000.0), False),
        ("2000:3000:500", (2000.0, 2500.0, 3000.0), True),
        ("2000:3100:500", (2000.0, 2500.0, 3000.0, 3100.0), True),
        ("2000:2500", (2000.0, 2250.0, 2500.0), True),
        ("3000:3000:250", (3000.0,), True),
    ],
)
def test_what_is_understood(text: str, rpm: tuple[float, ...], is_range: bool) -> None:
    found = parse(text)
    assert (found.rpm, found.is_range) == (rpm, is_range)


@pytest.mark.parametrize(
    "text, message",
    [
        ("", "one speed (4000)"),
        ("fast", "found 'fast'"),
        ("2000:", "found '2000:'"),
        ("2000:6000:0", "the step must be above 0"),
        ("6500:2500:250", "the last speed must be above the first: did you mean 2500:6500:250?"),
        ("6000:2000", "did you mean 2000:6000?"),
        ("2000:6000:1", "at most 500 speeds"),
        ("-2500", "found '-2500'"),
        ("-2500", "a speed is above 0"),
        ("2000, -2500", "a speed is above 0"),
        ("-2000:6000:250", "a speed is above 0"),
        ("40", "found 40 rpm; allowed 200 to 20000 rpm"),
        ("2000,60000", "found 60000 rpm"),
        ("2000:6000:250:1", "first:last:step"),
        ("nan", "found 'nan'"),
        ("1e3", "found '1e3'"),
    ],
)
def test_what_is_not(text: str, message: str) -> None:
    with pytest.raises(CaseError) as caught:
        parse(text)
    assert str(caught.value).startswith("--rpm: ")
    assert message in str(caught.value)


def test_a_straight_or_gently_curved_line_is_left_alone() -> None:
    rpm = np.arange(2000.0, 6001.0, 250.0)
    assert refine(rpm, 300 + rpm / 100) == ()
    # A plain torque curve: parabola that falls by a fifth at its ends.
    assert refine(rpm, 400 * (1 - 0.2 * ((rpm - 4000) / 2000) ** 2)) == ()


def test_a_step_is_surrounded() -> None:
    rpm = np.arange(2000.0, 6001.0, 250.0)
    torque = np.where(rpm < 4100, 400.0, 412.0)
    assert refine(rpm, torque) == (3875.0, 4125.0, 4375.0)


def test_wide_intervals_are_divided_at_once() -> None:
    assert refine([2000, 3000, 3400], [300, 330, 300]) == (
        *(2125.0, 2250.0, 2375.0, 2500.0, 2625.0, 2750.0, 2875.0),
        *(3100.0, 3200.0, 3300.0),
    )


def test_close_speeds_are_left_alone() -> None:
    assert refine([2000, 2100, 2200], [300, 400, 300]) == ()


def test_a_failed_speed_is_left_out_of_account() -> None:
    assert refine([2000, 2250, 2500, 2750], [300, nan, 300, 300]) == ()
    assert refine([2000, 2250], [300, 400]) == ()


@given(
    st.lists(st.floats(50, 900), min_size=3, max_size=30),
    st.floats(100, 600),
)
def test_no_bend_is_left_between_distant_speeds(torques: list[float], step: float) -> None:
    """For any torque: repeated, it ends; and beside every bend the speeds lie close."""
    rpm = [1000 + step * i for i in range(len(torques))]
    known = dict(zip(rpm, torques, strict=True))

    def torque(r: float) -> float:
        return float(np.interp(r, rpm, torques))

    for _ in range(10):
        added = refine(sorted(known), [known[r] for r in sorted(known)])
        assert not set(added) & set(known)
        if not added:
            break
        known |= {r: torque(r) for r in added}
    else:
        pytest.fail("does not come to an end")
    speeds = sorted(known)
    highest = max(abs(t) for t in known.values())
    for (a, b), (_, c) in pairwise(pairwise(speeds)):
        straight = known[a] + (known[c] - known[a]) * (b - a) / (c - a)
        if abs(known[b] - straight) > 0.005 * highest:
            assert max(b - a, c - b) <= CLOSEST * (1 + 1e-9)
