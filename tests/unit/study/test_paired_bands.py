"""Bands of a difference, from values moved in two engines at once."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from enginesim.case import Case, amend, load
from enginesim.study.bands import quantiles
from enginesim.study.comparison import Side, compare
from enginesim.study.paired_bands import Move, band, is_same_part, moves, shares, some
from tests.records import case
from tests.unit.study.studies import SINGLE
from tests.unit.study.test_comparison import curve, flat, line

CASES = Path(__file__).parents[3] / "cases"
PAIR = (case(), case(block__bore="101 mm"))


@cache
def moved_pair() -> dict[tuple[str, int], Move]:
    made, left_out = moves(PAIR)
    assert left_out == ()
    return {(m.path, m.i): m for m in made}


def test_each_value_is_moved_by_its_band_in_both() -> None:
    found = moved_pair()
    for i in (0, 1):
        one = found["friction.multiplier", i]
        assert one.is_shared
        assert one.weight == 1.0
        assert one.case.friction.multiplier == pytest.approx(1.12)
        assert one.case.block.bore == PAIR[i].block.bore
        assert one.case.digest != PAIR[i].digest
    # What no result depends on is left out.
    assert not any(path.startswith(("valve_gear", "clearances")) for path, _ in found)


def test_a_default_that_follows_another_field_is_the_same_part() -> None:
    """A port is as long as the bore makes it in both: one rule, and one head."""
    found = moved_pair()
    lengths = [engine.head.intake.port_length for engine in PAIR]
    assert lengths[0] != lengths[1]
    for i, length in enumerate(lengths):
        one = found["head.intake.port_length", i]
        assert one.is_shared
        assert one.case.head.intake.port_length == pytest.approx(length + 0.4 * 0.0254)


def test_the_same_number_of_another_part_is_not_shared(tmp_path: Path) -> None:
    """Two sets of headers with the same tubes are two sets; one with other tubes is one set."""
    rest = 'layout = "single"\nprimary_lengths = "700 mm +- 10"\n'
    for name, tube in (("a", "36 mm +- 0.3"), ("b", "36 mm +- 0.3")):
        muffler = "" if name == "a" else 'tail_length = "1 m"\n'
        text = f'{rest}{muffler}primary_diameter = "{tube}"\n'
        (tmp_path / f"{name}.toml").write_text(text, "utf-8")
    first, other = (load(SINGLE, [f"exhaust={tmp_path / name}.toml"]) for name in ("a", "b"))
    longer = amend(first, {"exhaust.primary_lengths": "800 mm +- 10"})
    assert first.exhaust.primary_diameter == other.exhaust.primary_diameter
    assert not is_same_part(first, other, "exhaust.primary_diameter")
    assert is_same_part(first, other, "friction.multiplier")
    assert is_same_part(first, longer, "exhaust.primary_diameter")
    found = {(m.path, m.i): m for m in moves((first, longer))[0]}
    assert found["exhaust.primary_diameter", 1].is_shared
    assert not found["exhaust.primary_lengths", 1].is_shared  # the one that was changed


def test_rockers_stay_when_the_cam_is_swapped() -> None:
    base, other = (
        load(CASES / "lake-boat-v8.toml", [f"cam=parts/cam-{n}.toml"]) for n in (204, 228)
    )
    assert is_same_part(base, other, "cam.intake.rocker_ratio")
    assert not is_same_part(base, other, "cam.intake.lash")
    swapped = amend(base, {"cam.intake.rocker_ratio": "1.6"})
    assert not is_same_part(base, swapped, "cam.intake.rocker_ratio")
    assert is_same_part(base, swapped, "cam.intake.lash")


def test_a_value_near_a_limit_is_weighed() -> None:
    """A clearance of nothing with a band has half a normal distribution, above it."""
    engine = amend(PAIR[0], {"cam.lifter": "solid flat", "cam.intake.lash": "0 mm +- 0.1"})
    (one,) = (m for m in moves([engine])[0] if m.path == "cam.intake.lash")
    low, high = quantiles(0.0, math.inf)
    assert one.case.cam.intake.lash == pytest.approx(high * 1e-4, rel=1e-3)
    assert one.weight == pytest.approx(0.5 * (high - low) / high, rel=1e-3)
    torque = np.array([[300.0], [300.0]])
    (share,) = shares(
        torque, {("p", 1): np.array([308.0])}, (replace(move("p", 1), weight=0.25),), 1
    )
    assert share.effect == pytest.approx([2.0])


def test_what_does_not_count_is_said() -> None:
    """A card that says one thing three times, and a band of what only a bench sheet reads."""
    card = {"cam.advance": "4 +- 20", "cam.intake_centreline": "106"}
    engine = amend(PAIR[0], {**card, "valve_gear.intake.valve_mass": "110 g +- 5"})
    left_out = {one.path: one.reason for one in moves([engine])[1]}
    assert set(left_out) == {"cam.advance", "valve_gear.intake.valve_mass"}
    assert "implied" in left_out["cam.advance"]
    assert left_out["valve_gear.intake.valve_mass"] == "no result depends on it"


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
