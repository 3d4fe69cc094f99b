"""Springs and clearances in the case: outside the digest, contradictions said, masses estimated."""

from __future__ import annotations

import pytest

from enginesim.case import loads, write
from tests.unit.case.engines import changed, problems

SPRING = (
    "valve_gear.intake.seat_load=105 lbf @ 1.700 in",
    "valve_gear.intake.open_load=265 lbf @ 1.250 in",
)


def said(*overrides: str) -> str:
    return "\n".join(str(problem) for problem in problems(*overrides))


def test_no_result_depends_on_them() -> None:
    given = changed(*SPRING, "clearances.intake_drop=0.2 in", "valve_gear.lifter_mass=90 g")
    assert given.digest == changed().digest
    assert given != changed()


def test_nothing_is_listed_as_assumed_until_something_is_given() -> None:
    assert not [a for a in changed().assumed if a.path.startswith(("valve_gear", "clearances"))]
    assumed = {a.path for a in changed(*SPRING).assumed}
    assert {"valve_gear.intake.valve_mass", "valve_gear.lifter_mass"} <= assumed


def test_mass_of_a_valve() -> None:
    """Steel, 2.00 in head on a 0.344 in stem: 2.4 x 2.00 in of stem and 0.14 in of head; by hand
    pi/4 (0.344^2 x 4.8 + 2.00^2 x 0.14) in3 = 0.8859 in3 = 14.518 cc = 113.96 g. Real ones of that
    size weigh 110 to 125 g (from memory). The exhaust's, 1.60 in on the same stem, by hand 94 g;
    real ones 90 to 105 g (from memory).
    """
    case = changed("head.intake.valve_diameter=2.00 in")
    assert case.valve_gear.intake.valve_mass == pytest.approx(0.11396, abs=2e-4)
    smaller = changed("head.intake.valve_diameter=2 in", "head.exhaust.valve_diameter=1.6 in")
    assert smaller.valve_gear.exhaust.valve_mass == pytest.approx(0.0936, abs=2e-4)
    assert case.valve_gear.intake.retainer_mass == pytest.approx(0.3 * 0.11396, abs=1e-4)


def test_overhead_cams_have_no_push_rods() -> None:
    case = changed(
        "head.valvetrain=dohc", "cam.intake.rocker_ratio=1", "cam.exhaust.rocker_ratio=1"
    )
    assert case.valve_gear.push_rod_mass == case.valve_gear.rocker_mass == 0.0


def test_open_load_without_a_height_is_that_at_full_lift() -> None:
    case = changed("valve_gear.intake.seat_load=100 lbf", "valve_gear.intake.open_load=280 lbf")
    # 180 lbf on the lift of 0.450 in
    assert case.valve_gear.intake.rate == pytest.approx(180 * 4.4482216 / (0.450 * 0.0254))


def test_round_trip() -> None:
    case = changed(*SPRING, "clearances.rods=aluminium", "clearances.exhaust_drop=0.21 in")
    assert loads(write(case)) == case


@pytest.mark.parametrize(
    "overrides, words",
    [
        (["valve_gear.intake.seat_load=110 lb"], 'write "110 lbf" if pounds of load are meant'),
        ([*SPRING[:1], "valve_gear.intake.open_load=90 lbf"], "more than the seat load"),
        (["valve_gear.intake.open_load=265 lbf"], "a seat load beside it"),
        ([*SPRING, "valve_gear.intake.rate=500 lbf/in"], "one of the two"),
        (
            [
                "valve_gear.exhaust.seat_load=105 lbf",
                "valve_gear.exhaust.open_load=265 lbf @ 1.2 in",
            ],
            "the height that belongs to the seat load",
        ),
        ([SPRING[0], "valve_gear.intake.open_load=265 lbf @ 1.8 in"], "less than the installed"),
        ([*SPRING, "valve_gear.intake.bind_height=1.75 in"], "less than the installed height"),
        (["clearances.intake_drop=3 in"], "0 mm to 40 mm"),
        (["valve_gear.intake.valve_mas=100 g"], "did you mean valve_gear.intake.valve_mass?"),
    ],
)
def test_malformed(overrides: list[str], words: str) -> None:
    assert words in said(*overrides)


def test_coil_bind_is_a_warning() -> None:
    case = changed(*SPRING, "valve_gear.intake.bind_height=1.30 in")
    assert any("before full lift" in str(warning) for warning in case.warnings)
