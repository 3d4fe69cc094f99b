"""Springs: the speed at which a harmonic lobe is lost, worked by hand; masses; what is missing."""

from __future__ import annotations

from itertools import pairwise
from math import cos, hypot, pi, radians, sqrt

import numpy as np
import pytest

from enginesim.case import Case, load, loads
from enginesim.valvetrain import lift_curves
from enginesim.workshop.springs import LOAD_BAND, LOBE_BAND, TABLE_BAND, SpringSide, springs
from tests.unit.case.engines import TEXT, changed

_LBF = 4.4482216152605
MASSES = (
    "valve_gear.intake.valve_mass=100 g",
    "valve_gear.intake.retainer_mass=30 g",
    "valve_gear.intake.spring_mass=90 g",
    "valve_gear.lifter_mass=100 g",
    "valve_gear.push_rod_mass=50 g",
    "valve_gear.rocker_mass=40 g",
)
LOADS = (
    "valve_gear.intake.seat_load=100 lbf @ 1.7 in",
    "valve_gear.intake.open_load=300 lbf @ 1.2 in",
    "valve_gear.intake.bind_height=1.15 in",
)


def harmonic(*given: str, step: float = 1e-6) -> Case:
    """Intake lift of 10 mm as a cosine from -120 to 120 degrees, read every two degrees."""
    angles = range(-120, 121, 2)
    lifts = " ".join(f"{step * round(5 * (1 + cos(pi * a / 120)) / step):.6f}" for a in angles)
    table = (
        f"cam.intake.lift_table.angle={' '.join(map(str, angles))} deg",
        f"cam.intake.lift_table.lift={lifts} mm",
        "cam.intake.rocker_ratio=1.5",
    )
    text = TEXT.replace('durations = "214 @ 0.050 in"\nvalve_lift = "0.450 in"', "")
    return loads(text, (*table, *given))


def test_mass_at_the_valve() -> None:
    """100 + 30 + 90/3 + 40 + (100 + 50)/1.5^2 = 266.67 g."""
    intake, _ = springs(changed(*MASSES))
    assert intake.mass == pytest.approx(0.26667, abs=1e-5)
    assert intake.mass_band == 0.0  # all of them were given, without a band


def test_bands_of_masses_add_as_squares() -> None:
    """Lifter +- 9 g counts 9/2.25 = 4 g, valve +- 3 g: together 5 g."""
    given = [*MASSES[1:3], *MASSES[4:]]
    intake, _ = springs(
        changed(
            *given, "valve_gear.intake.valve_mass=100 g +- 3", "valve_gear.lifter_mass=100 g +- 9"
        )
    )
    assert intake.mass_band == pytest.approx(0.005)


def test_rate_from_two_loads() -> None:
    """200 lbf on half an inch: 400 lbf/in."""
    intake, exhaust = springs(changed(*LOADS))
    assert intake.rate == pytest.approx(400 * _LBF / 0.0254)
    assert intake.open_force == pytest.approx((100 + 400 * 0.450) * _LBF)
    # 1.7 - 0.450 - 1.15 in
    assert intake.to_bind == pytest.approx(0.100 * 0.0254)
    assert exhaust.rate is None


def test_a_harmonic_lobe_is_lost_at_its_nose() -> None:
    """M h/2 (pi/w)^2 omega^2 = F0 + k h, with h = 10 mm, w = 120 degrees."""
    case = harmonic(*MASSES, *LOADS)
    intake, _ = springs(case)
    force = 100 * _LBF + 400 * _LBF / 0.0254 * 0.010
    omega = sqrt(force / (0.2666667 * 0.005 * (pi / radians(120)) ** 2))
    # A spline on wide knots through points that were rounded to a nanometre.
    assert intake.limit == pytest.approx(omega * 30 / pi, rel=0.01)
    assert intake.reserve(intake.limit) == pytest.approx(1.0)
    assert intake.needed(intake.limit) == pytest.approx(force, rel=0.01)
    assert intake.usable == pytest.approx(intake.limit / sqrt(1.3))


def test_rounding_of_a_measured_lift_does_little() -> None:
    """To 0.001 in, as a dial gauge reads: the limit goes by the root of the deceleration."""
    fine, _ = springs(harmonic(*MASSES, *LOADS))
    rough, _ = springs(harmonic(*MASSES, *LOADS, step=0.0254))
    assert rough.limit == pytest.approx(fine.limit, rel=0.02)


def test_needed_force_grows_as_the_square_of_speed() -> None:
    intake, _ = springs(changed())
    assert intake.needed(6000) == pytest.approx(4 * intake.needed(3000))


def test_band_of_the_limit() -> None:
    """Half of the bands of force, mass and nose as squares; a measured nose is surer."""
    intake, _ = springs(changed(*MASSES, *LOADS))
    assert intake.limit_band == pytest.approx(0.5 * hypot(LOAD_BAND, LOBE_BAND) * intake.limit)
    intake, _ = springs(harmonic(*MASSES, *LOADS))
    assert intake.limit_band == pytest.approx(0.5 * hypot(LOAD_BAND, TABLE_BAND) * intake.limit)


@pytest.mark.parametrize("side", [0, 1], ids=["intake", "exhaust"])
def test_a_larger_rocker_ratio_lowers_the_limit(side: int) -> None:
    """The same lobe and the same spring, ever larger ratios; so far the speed rose with them."""
    found = [at_ratio(ratio)[side] for ratio in (1.4, 1.5, 1.6, 1.7, 1.8)]
    limits = [one.usable for one in found]
    assert all(later < earlier - 50 for earlier, later in pairwise(limits))
    # More force is needed at a speed, and more is there: the rigid sum alone hardly moves.
    assert all(b.needed(6000) > a.needed(6000) for a, b in pairwise(found))
    assert all(b.open_force > a.open_force for a, b in pairwise(found))
    assert found[-1].limit == pytest.approx(found[0].limit, rel=0.02)
    # 30 % to spare with the usual ratio of 1.5, by the square of the ratio with others.
    assert [one.spare for one in found[1:3]] == pytest.approx([0.30, 0.30 * (1.6 / 1.5) ** 2])


def at_ratio(ratio: float) -> tuple[SpringSide, SpringSide]:
    case = load("example:lake-boat-v8")
    return springs(case.amend({f"cam.{s}.rocker_ratio": ratio for s in ("intake", "exhaust")}))


def test_every_term_against_the_force_on_the_lobe() -> None:
    """Seen from the lifter: the lobe is left where spring force x ratio no longer makes
    (lifter side + ratio squared x valve side) follow the lobe's own deceleration.
    """
    for ratio in (1.5, 1.6):
        case = load("example:lake-boat-v8").amend(cam__intake__rocker_ratio=ratio)
        gear, spring = case.valve_gear, case.valve_gear.intake
        motion = lift_curves(case).intake_motion
        assert motion.lobe is not None
        angle = np.radians(np.linspace(-90.0, 90.0, 7201))
        rise, slowing = motion.lobe.lift(angle), -motion.lobe.lift(angle, 2)
        at_valve = spring.valve_mass + spring.retainer_mass + spring.spring_mass / 3
        moving = gear.lifter_mass + gear.push_rod_mass + ratio**2 * (at_valve + gear.rocker_mass)
        assert spring.seat_load is not None
        assert spring.rate is not None
        force = ratio * (spring.seat_load + spring.rate * ratio * rise)
        held = slowing > 0
        omega = sqrt(float(np.min(force[held] / (moving * slowing[held]))))
        assert springs(case)[0].limit == pytest.approx(omega * 30 / pi, rel=1e-4)


def test_without_loads_nothing_is_claimed() -> None:
    for side in springs(changed()):
        assert side.limit is side.usable is side.limit_band is side.open_force is None
        assert side.reserve(5000) is None
        assert side.mass > 0.1


def test_a_stronger_spring_holds_longer() -> None:
    weak, _ = springs(changed(*LOADS))
    strong, _ = springs(changed("valve_gear.intake.seat_load=140 lbf @ 1.7 in",
                                "valve_gear.intake.open_load=400 lbf @ 1.2 in"))  # fmt: skip
    assert strong.limit > weak.limit  # type: ignore[operator]
