"""Valve lift: from a lobe or a table, in the right place of the cycle."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import degrees, pi, radians
from types import SimpleNamespace

import numpy as np
import pytest

from enginesim.base.errors import CaseError
from enginesim.valvetrain.card import events
from enginesim.valvetrain.lift import crank_grid, lift_curves, lift_table, motion

INCH = 0.0254


@dataclass(frozen=True)
class Table:
    angle: tuple[float, ...]
    lift: tuple[float, ...]
    rocker_ratio: float = 1.5


@dataclass(frozen=True)
class Lobe:
    durations: tuple[tuple[float, float], ...] = (
        (0.006 * INCH, radians(268)),
        (0.050 * INCH, radians(224)),
    )
    measured_at: str = "lifter"
    lobe_lift: float = 0.300 * INCH
    rocker_ratio: float = 1.5
    lash: float = 0.0
    lift_table: Table | None = None


CENTRE = 2 * pi + radians(106)


def case(intake: Lobe, exhaust: Lobe) -> SimpleNamespace:
    return SimpleNamespace(
        cam=SimpleNamespace(
            intake=intake,
            exhaust=exhaust,
            lifter="hydraulic roller",
            face_diameter=None,
            lobe_separation=radians(110),
            intake_centreline=radians(106),
        )
    )


@pytest.mark.parametrize("ratio, wanted", [(1.5, 0.450), (1.6, 0.480)])
def test_valve_lift_is_lobe_times_ratio(ratio: float, wanted: float) -> None:
    # a technical page's example: 0.300 x 1.5 = 0.450, x 1.6 = 0.480
    found = motion(Lobe(rocker_ratio=ratio), CENTRE)
    assert found.peak == pytest.approx(wanted * INCH, rel=1e-12)
    assert found.lift(CENTRE) == pytest.approx(wanted * INCH, rel=1e-12)


def test_grid() -> None:
    theta = crank_grid()
    assert theta.shape == (2881,)
    assert theta[0] == 0.0
    assert theta[-1] == pytest.approx(4 * pi, rel=1e-15)
    np.testing.assert_allclose(np.diff(theta), radians(0.25), rtol=1e-12)


def test_lift_table_is_on_the_grid_and_periodic() -> None:
    theta, lift = lift_table(Lobe(), CENTRE)
    assert theta.shape == lift.shape == (2881,)
    assert lift[0] == lift[-1] == 0.0
    assert degrees(theta[np.argmax(lift)]) == pytest.approx(466)


def test_a_lobe_over_the_end_of_the_cycle_wraps() -> None:
    late = motion(Lobe(), 4 * pi - 0.2)
    here = motion(Lobe(), 2 * pi)
    theta = crank_grid()
    np.testing.assert_allclose(late.lift(theta), here.lift(theta - 2 * pi + 0.2), atol=1e-15)
    assert late.lift(0.0) == pytest.approx(float(late.lift(4 * pi)), rel=1e-12)


def test_events_are_those_of_the_card_at_every_height() -> None:
    exhaust = replace(
        Lobe(), durations=((0.006 * INCH, radians(280)), (0.050 * INCH, radians(230)))
    )
    curves = lift_curves(case(Lobe(), exhaust))
    for height, di, de in ((0.006, 268, 280), (0.050, 224, 230)):
        card = events(radians(di), radians(de), radians(110), radians(106))
        opens, closes = curves.intake_motion.events(height * INCH, "lifter")
        assert degrees(2 * pi - opens) == pytest.approx(degrees(card.io), abs=1e-6)
        assert degrees(closes - 3 * pi) == pytest.approx(degrees(card.ic), abs=1e-6)
        opens, closes = curves.exhaust_motion.events(height * INCH, "lifter")
        assert degrees(pi - opens) == pytest.approx(degrees(card.eo), abs=1e-6)
        assert degrees(closes - 2 * pi) == pytest.approx(degrees(card.ec), abs=1e-6)


def test_a_height_at_the_lifter_is_ratio_times_higher_at_the_valve() -> None:
    # trade usage: with a 1.5 rocker the valve is 0.075 in off its seat at 0.050 in of the lifter
    found = motion(Lobe(), CENTRE)
    assert found.events(0.050 * INCH, "lifter") == pytest.approx(found.events(0.075 * INCH))


def test_heights_given_at_the_valve() -> None:
    lobe = Lobe(
        durations=((0.1e-3, radians(244)), (1e-3, radians(206))),
        measured_at="valve",
        lobe_lift=9e-3,
        rocker_ratio=1.0,
        lash=0.2e-3,
    )
    found = motion(lobe, CENTRE, "bucket")
    opens, closes = found.events(1e-3)
    assert degrees(closes - opens) == pytest.approx(206, abs=1e-6)
    assert found.peak == pytest.approx(8.8e-3)


def test_tighter_lash_opens_earlier_closes_later_and_lifts_more() -> None:
    # trade usage of valve lash
    loose = motion(Lobe(lash=0.020 * INCH), CENTRE)
    tight = motion(Lobe(lash=0.016 * INCH), CENTRE)
    assert tight.peak - loose.peak == pytest.approx(0.004 * INCH)
    assert tight.area > loose.area
    (a, b), (c, d) = (m.events(1e-6) for m in (tight, loose))
    assert a < c < d < b
    assert loose.lift(loose.centre - 2.6) == 0.0


def test_area_is_ratio_times_that_of_the_lobe_without_lash() -> None:
    found = motion(Lobe(), CENTRE)
    assert found.lobe is not None
    assert found.area == pytest.approx(1.5 * found.lobe.area, rel=1e-6)


def test_acceleration_is_the_second_derivative() -> None:
    found = motion(Lobe(), CENTRE)
    theta, h = np.linspace(CENTRE - 1.9, CENTRE + 1.9, 101), 1e-4
    numeric = (found.lift(theta + h) - 2 * found.lift(theta) + found.lift(theta - h)) / h**2
    scale = np.abs(numeric).max()
    np.testing.assert_allclose(found.acceleration(theta), numeric, atol=1e-4 * scale)


def measured(n: int, reach: float = 2.8) -> Lobe:
    angle = np.linspace(-reach, reach, n)
    lift = motion(Lobe(), 0.0).lift(angle)
    return Lobe(durations=(), lift_table=Table(tuple(angle), tuple(lift)))


def test_a_measured_table_stands_for_its_lobe() -> None:
    exact, table = motion(Lobe(), CENTRE), motion(measured(321), CENTRE)  # every degree
    theta = crank_grid()
    assert table.peak == pytest.approx(exact.peak)
    # the cubic is of third order between points a degree apart: 0.2 micrometres of 11 mm
    np.testing.assert_allclose(table.lift(theta), exact.lift(theta), atol=1e-6)
    for found, wanted in zip(table.events(1e-3), exact.events(1e-3), strict=True):
        assert degrees(found) == pytest.approx(degrees(wanted), abs=1e-3)
    assert table.area == pytest.approx(exact.area, rel=1e-5)


def test_outside_a_table_the_valve_is_shut() -> None:
    table = motion(measured(61), CENTRE)
    assert table.lift(0.0) == 0.0
    assert table.acceleration(0.0) == 0.0


@pytest.mark.parametrize(
    "angle, lift, text",
    [
        ((0.0, 0.1, 0.2, 0.3), (0.0, 1e-3, 0.0), "as many of each"),
        ((0.0, 0.1, 0.1, 0.3), (0.0, 1e-3, 2e-3, 0.0), "do not rise"),
        ((-7.0, 0.1, 0.2, 7.0), (0.0, 1e-3, 2e-3, 0.0), "span over 720"),
        ((0.0, 0.1, 0.2, 0.3), (0.0, -1e-3, 2e-3, 0.0), "below zero"),
        ((0.0, 0.1, 0.2, 0.3), (0.0, 0.0, 0.0, 0.0), "no lift"),
        ((0.0, 0.1, 0.2, 0.3), (0.0, 1e-3, 2e-3, 1e-3), "both near zero"),
        ((0.0, 0.1, float("nan"), 0.3), (0.0, 1e-3, 2e-3, 0.0), "no number"),
    ],
)
def test_tables_that_are_no_lift_curve(
    angle: tuple[float, ...], lift: tuple[float, ...], text: str
) -> None:
    with pytest.raises(CaseError, match=text):
        motion(Lobe(lift_table=Table(angle, lift)), CENTRE)


@pytest.mark.parametrize("lobe", [Lobe(), measured(101)])
def test_a_height_above_the_lift_is_refused(lobe: Lobe) -> None:
    with pytest.raises(CaseError, match="checking height"):
        motion(lobe, CENTRE).events(0.5 * INCH)


@pytest.mark.parametrize("lash", [0.0, 0.020 * INCH])
@pytest.mark.parametrize("ratio", [1.4, 1.6, 1.75])
def test_other_rockers_on_a_measured_lobe(ratio: float, lash: float) -> None:
    """
    A lobe measured at the valve every two degrees with rockers of 1.5, then run with others: as
    the lobe itself with those. To 0.001 in: the corner where the lash is taken up lies between two
    readings of the table, and the ramp below it is not in the table at all.
    """
    lobe = Lobe(lash=lash)
    exact = motion(lobe, CENTRE)
    angle = np.radians(np.arange(-160.0, 161.0, 2.0))
    table = Table(tuple(angle), tuple(exact.lift(CENTRE + angle)))
    given = replace(lobe, durations=(), lift_table=table)
    theta = CENTRE + np.radians(np.linspace(-170.0, 170.0, 1361))
    same = motion(given, CENTRE)
    np.testing.assert_allclose(same.lift(theta), exact.lift(theta), atol=0.001 * INCH)
    swapped = motion(replace(given, rocker_ratio=ratio), CENTRE).lift(theta)
    wanted = motion(replace(lobe, rocker_ratio=ratio), CENTRE).lift(theta)
    np.testing.assert_allclose(swapped, wanted, atol=0.001 * INCH)
    assert swapped.max() == pytest.approx((exact.peak + lash) * ratio / 1.5 - lash, rel=1e-6)
