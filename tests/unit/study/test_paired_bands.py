"""Bands of a difference, from values moved in two engines at once."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from enginesim.case import Case
from enginesim.study.comparison import Side, compare
from enginesim.study.paired_bands import Move, band, bands_of, moves, shares, some
from tests.records import case
from tests.unit.study.test_comparison import curve, flat, line

PAIR = (case(), case(block__bore="101 mm"))


def test_values_with_a_band_are_found() -> None:
    found = bands_of(case(block__bore="100 mm +- 0.1"))
    assert found["block.bore"] == pytest.approx(1e-4)
    assert found["friction.multiplier"] == pytest.approx(0.12)
    assert "exhaust.primary_lengths" not in found  # a list, not one number


def test_each_value_is_moved_by_its_band_in_both() -> None:
    found = {(m.path, m.i): m for m in moves(PAIR)}
    for i in (0, 1):
        one = found["friction.multiplier", i]
        assert one.is_shared
        assert one.case.friction.multiplier == pytest.approx(1.12)
        assert one.case.block.bore == PAIR[i].block.bore
        assert one.case.digest != PAIR[i].digest
    # What follows from the bore is not the same in both: each is moved for itself.
    assert not found["head.intake.seat_width", 0].is_shared or (
        PAIR[0].head.intake.seat_width == PAIR[1].head.intake.seat_width
    )
    # What no result depends on is left out.
    assert not any(path.startswith(("valve_gear", "clearances")) for path, _ in found)


def move(path: str, i: int, *, is_shared: bool = True, made: Case = PAIR[0]) -> Move:
    return Move(path, i, is_shared, made)


def test_what_moves_both_alike_cancels() -> None:
    torque = np.array([[300.0, 310.0], [305.0, 320.0]])
    found = (move("p", 0), move("p", 1))
    moved = {("p", 0): torque[0] + 7.0, ("p", 1): torque[1] + 7.5}
    (share,) = shares(torque, moved, found, 1)
    assert share.i is None
    assert share.effect == pytest.approx([0.5, 0.5])


def test_what_is_not_shared_does_not_cancel() -> None:
    torque = np.array([[300.0, 310.0], [305.0, 320.0]])
    found = (move("p", 0, is_shared=False), move("p", 1, is_shared=False))
    moved = {("p", 0): torque[0] + 3.0, ("p", 1): torque[1] + 4.0}
    made = shares(torque, moved, found, 1)
    assert [(s.i, s.effect[0]) for s in made] == [(1, pytest.approx(4.0)), (0, pytest.approx(-3.0))]
    assert band(made, [2000.0, 3000.0], np.array([2000.0, 2500.0])) == pytest.approx([5.0, 5.0])


def test_a_value_of_one_engine_alone() -> None:
    torque = np.array([[300.0], [305.0]])
    (share,) = shares(torque, {("p", 1): np.array([306.0])}, (move("p", 1),), 1)
    assert share.effect == pytest.approx([1.0])
    assert shares(torque, {}, (), 1) == ()


def test_a_run_that_failed_counts_for_nothing() -> None:
    torque = np.array([[300.0, 300.0], [305.0, 305.0]])
    found = (move("p", 0), move("p", 1))
    moved = {("p", 0): np.array([np.nan, 301.0]), ("p", 1): np.array([306.0, 308.0])}
    made = shares(torque, moved, found, 1)
    assert band(made, [2000.0, 3000.0], np.array([2000.0, 3000.0])) == pytest.approx([0.0, 2.0])


def test_speeds_reach_from_end_to_end() -> None:
    rpm = [float(speed) for speed in range(2000, 6001, 250)]
    found = some(rpm)
    assert (found[0], found[-1], len(found)) == (2000.0, 6000.0, 5)
    assert {b - a for a, b in pairwise(found)} == {1000.0}
    assert some([3000.0, 4000.0]) == (3000.0, 4000.0)


def test_chance_of_more_torque() -> None:
    plain = compare([Side("A", "", curve(flat)), Side("B", "", curve(line))])
    assert plain.sigma(1) == pytest.approx(plain.error[1])
    wide = np.zeros_like(plain.torque)
    wide[1] = np.sqrt(50.0**2 - plain.error[1] ** 2)  # sigma is 50 N m throughout
    found = replace(plain, band=wide)
    assert found.sigma(1) == pytest.approx(np.full(9, 50.0))
    # B gains 50 N m at 6000 rpm, one sigma: 84.13 % of a normal distribution lie above zero.
    assert found.chance(1)[-1] == pytest.approx(0.841345, abs=1e-6)
    assert found.chance(1)[3] == pytest.approx(0.5)
    assert found.chance(0) == pytest.approx(np.full(9, 0.5))
