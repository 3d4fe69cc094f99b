"""Piston-to-valve room against geometry worked out again, and a case with another timing."""

from __future__ import annotations

from math import cos, degrees, isnan, pi, radians

import numpy as np
import pytest

from enginesim.case import Case
from enginesim.valvetrain import lift_curves
from enginesim.workshop.piston_room import CHANGES, piston_room
from tests.unit.case.engines import changed

_IN = 0.0254
UPRIGHT = ("clearances.intake_inclination=0", "clearances.exhaust_inclination=0")


def taken(case: Case, inclination: float) -> float:
    """Most that intake lift and piston take, by the slider crank's formula at 0.02 degrees."""
    crank, rod = 0.5 * case.block.stroke, case.block.rod_length
    a = np.radians(np.arange(-10.0, 60.0, 0.02))
    drop = crank + rod - crank * np.cos(a) - np.sqrt(rod**2 - (crank * np.sin(a)) ** 2)
    lift = lift_curves(case).intake_motion.lift(2 * pi + a)
    return float(np.max(lift - drop * cos(inclination)))


def test_room_taken_by_geometry() -> None:
    case = changed(*UPRIGHT)
    intake, _ = piston_room(case)
    # Looked for every tenth of a degree: near the top of a parabola, microns.
    assert intake.needed_drop - intake.least == pytest.approx(taken(case, 0.0), abs=2e-6)
    assert 3 < degrees(intake.angle) < 20  # usage: worst 5 to 15 degrees after the top


def test_an_inclined_valve_loses_by_the_cosine() -> None:
    case = changed("clearances.intake_drop=0.2 in", "clearances.intake_inclination=20")
    intake, _ = piston_room(case)
    assert intake.needed_drop - intake.least == pytest.approx(taken(case, radians(20)), abs=2e-6)


def test_at_the_top_the_piston_takes_nothing() -> None:
    intake, exhaust = piston_room(changed())
    curves = lift_curves(changed())
    for room, motion in ((intake, curves.intake_motion), (exhaust, curves.exhaust_motion)):
        assert room.path[240] == pytest.approx(float(motion.lift(2 * pi)))


def test_customary_minima() -> None:
    intake, exhaust = piston_room(changed())
    assert (intake.least, exhaust.least) == pytest.approx((0.080 * _IN, 0.100 * _IN))
    intake, exhaust = piston_room(changed("clearances.rods=aluminium"))
    assert (intake.least, exhaust.least) == pytest.approx((0.110 * _IN, 0.130 * _IN))


def test_without_a_measured_drop_nothing_is_claimed() -> None:
    for room in piston_room(changed()):
        assert room.drop is room.clearance is room.change_left is None
        assert room.needed_drop > room.least


def test_clearance_is_what_the_drop_leaves() -> None:
    intake, exhaust = piston_room(
        changed("clearances.intake_drop=0.200 in", "clearances.exhaust_drop=0.220 in", *UPRIGHT)
    )
    for room, drop in ((intake, 0.200 * _IN), (exhaust, 0.220 * _IN)):
        assert room.clearance is not None
        assert room.clearance - room.least == pytest.approx(drop - room.needed_drop)


def test_moving_the_cam_is_as_another_centreline() -> None:
    """4 degrees of advance: intake centreline 102 instead of 106, exhaust 118 instead of 114."""
    before, after = piston_room(changed(*UPRIGHT)), piston_room(changed("cam.advance=8", *UPRIGHT))
    i = CHANGES.index(radians(4))
    for one, other in zip(before, after, strict=True):
        assert one.changes[i] == pytest.approx(other.needed_drop - other.least, abs=1e-9)


def test_advance_brings_the_intake_nearer_and_the_exhaust_farther() -> None:
    intake, exhaust = piston_room(changed())
    assert list(intake.changes) == sorted(intake.changes)
    assert list(exhaust.changes) == sorted(exhaust.changes, reverse=True)


def test_change_left_reaches_the_minimum() -> None:
    given = ("clearances.intake_drop=0.200 in", "clearances.exhaust_drop=0.200 in")
    intake, exhaust = piston_room(changed(*given))
    for room, sign in ((intake, 1), (exhaust, -1)):
        assert room.change_left is not None
        advance = 4 + sign * degrees(room.change_left)
        moved = piston_room(changed(*given, f"cam.advance={advance}"))
        there = moved[0 if room.side == "intake" else 1]
        assert there.clearance == pytest.approx(there.least, abs=5e-6)


def test_too_near_asks_for_moving_back() -> None:
    intake, _ = piston_room(changed("clearances.intake_drop=0.160 in"))
    assert intake.clearance is not None
    assert intake.clearance < intake.least
    assert intake.change_left is not None
    assert intake.change_left < 0


def test_a_valve_that_no_timing_saves() -> None:
    intake, _ = piston_room(changed("clearances.intake_drop=0 in"))
    assert intake.clearance is not None
    assert intake.clearance < 0
    assert intake.change_left is not None
    # 0.030 in nearer than the piston at the top: a retard of over 20 degrees would be needed.
    assert degrees(intake.change_left) < -20 or isnan(intake.change_left)
