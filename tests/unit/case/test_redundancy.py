"""A changed field stands in place of what says the same thing in another way, and that is told."""

from __future__ import annotations

from math import degrees

import pytest

from enginesim.base.errors import CaseError
from enginesim.base.units import to_si
from enginesim.case import Case, amend, load
from tests.unit.case.engines import MINIMAL, changed


def timing(case: Case) -> tuple[float, float, float]:
    """Separation, intake and exhaust centerline [deg]."""
    separation, centre = degrees(case.cam.lobe_separation), degrees(case.cam.intake_centreline)
    return separation, centre, 2 * separation - centre


def told(case: Case, path: str) -> str:
    return " ".join(str(warning) for warning in case.warnings if warning.path == path)


def test_advance_holds_the_separation_and_replaces_the_intake_centerline() -> None:
    """The commonest cam test, on a card with all that is printed on it."""
    base = changed("cam.intake_centreline=106")
    for advance in (0, 2, 4, 6, 8):
        case = amend(base, {"cam.advance": f"{advance} deg"})
        assert timing(case) == pytest.approx((110, 110 - advance, 110 + advance))
    text = told(case, "cam.advance")
    assert "the lobe separation held at 110 deg" in text
    assert "the intake centerline goes from 106 to 102 deg" in text


def test_separation_with_the_intake_centerline_given_moves_the_exhaust_alone() -> None:
    """110 less 106 is 4 deg of advance; 104 less 106 is -2: it must not go by in silence."""
    case = amend(changed("cam.intake_centreline=106"), {"cam.lobe_separation": "104 deg"})
    assert timing(case) == pytest.approx((104, 106, 102))
    text = told(case, "cam.lobe_separation")
    assert "the intake centerline held at 106 deg" in text
    assert "only the exhaust lobe moves" in text
    assert "the advance goes from 4 to -2 deg" in text
    remedy = text.partition("give ")[2].split()[0]
    both = load(MINIMAL, ["cam.intake_centreline=106"],
                swaps=["cam.lobe_separation=104", remedy])  # fmt: skip
    assert timing(both) == pytest.approx((104, 100, 108))


def test_separation_with_the_advance_given_moves_both() -> None:
    case = amend(changed("cam.advance=4"), {"cam.lobe_separation": "104 deg"})
    assert timing(case) == pytest.approx((104, 100, 108))
    assert "the advance held at 4 deg" in told(case, "cam.lobe_separation")


def test_a_contradiction_of_two_changes_is_the_user_s_own_and_has_a_remedy() -> None:
    with pytest.raises(CaseError) as caught:
        changed("cam.advance=4", "cam.intake_centreline=105")
    (problem,) = caught.value.problems
    remedy = next(word for word in problem.hint.split() if word.startswith("cam.intake_"))
    assert timing(changed("cam.advance=4", remedy)) == pytest.approx((110, 106, 114))


def test_a_swap_replaces_what_an_override_says() -> None:
    case = load(MINIMAL, ["cam.intake_centreline=105"], swaps=["cam.advance=4"])
    assert timing(case) == pytest.approx((110, 106, 114))


def test_events_printed_for_another_timing_go_but_leave_the_cam_where_it_was() -> None:
    """The centerline of 104 deg stands in the events alone: another separation leaves it there."""
    base = changed("cam.events.height=0.050 in", "cam.events.intake_opens=3 deg",
                   "cam.events.intake_closes=31 deg")  # fmt: skip
    assert timing(base)[1] == pytest.approx(104)
    case = amend(base, {"cam.lobe_separation": "108 deg"})
    assert timing(case) == pytest.approx((108, 104, 112))
    longer = amend(base, {"cam.intake.durations": "224 @ 0.050 in"})
    assert timing(longer)[1] == pytest.approx(104)


PAIRS = {
    "ratio for pieces": (
        {"block.compression_ratio": 9.0, "block.chamber_volume": "70 cc"},
        {"block.compression_ratio": "10"}, "block.chamber_volume"),
    "chamber for ratio": (
        {"block.compression_ratio": 9.5}, {"block.chamber_volume": "64 cc"},
        "block.compression_ratio"),
    "peak for sheet": (
        {"head.intake.sheet.lift": "0.1 0.2 0.3 0.4 in",
         "head.intake.sheet.flow": "65 125 170 200 cfm"},
        {"head.intake.peak_flow": "220 cfm"}, "head.intake.sheet.flow"),
    "afr for lambda": (
        {"mixture.lambda": 0.9}, {"mixture.afr": "12.5"}, "mixture.lambda"),
    "bore for rating": (
        {"throttle.flow": "600 cfm"}, {"throttle.diameter": "1 in"}, "throttle.flow"),
    "lobe for valve": (
        {"cam.intake.valve_lift": "0.45 in"}, {"cam.intake.lobe_lift": "0.32 in"},
        "cam.intake.valve_lift"),
    "a volume for a section": (
        {"head.intake.port_area_min": "1.8 in2", "head.intake.port_length": "5.4 in",
         "head.intake.port_volume": "180 cc"},
        {"head.intake.port_volume": "140 cc"}, "head.intake.port_area_min"),
    "a section for a volume": (
        {"head.intake.port_area_min": "1.8 in2", "head.intake.port_length": "5.4 in",
         "head.intake.port_volume": "180 cc"},
        {"head.intake.port_area_min": "2.4 in2"}, "head.intake.port_volume"),
    "one advance for a schedule": (
        {"spark.rpm": "1000 3000", "spark.advance": "10 34"}, {"spark.advance": "30 deg"},
        "spark.rpm"),
    "an advance for the best": (
        {"spark.mode": "best"}, {"spark.advance": "30 deg"}, "spark.mode"),
    "a muffler for none": (
        {"exhaust.muffler": "none"}, {"exhaust.muffler_back_pressure": "2 psi"},
        "exhaust.muffler"),
}  # fmt: skip


@pytest.mark.parametrize("name", PAIRS)
def test_either_way(name: str) -> None:
    given, change, gone = PAIRS[name]
    base = load(MINIMAL, [f"{path}={value}" for path, value in given.items()])
    assert gone in base.given
    case = amend(base, change)
    assert gone not in case.given
    assert case.digest != base.digest
    (path,) = change
    assert f"{gone} = " in told(case, path)


def test_other_rockers_on_a_lobe_whose_both_lifts_are_given() -> None:
    base = changed("cam.intake.lobe_lift=0.300 in", "cam.intake.valve_lift=0.450 in",
                   "cam.intake.rocker_ratio=1.5")  # fmt: skip
    case = amend(base, {"cam.intake.rocker_ratio": 1.6})
    assert case.cam.intake.valve_lift == pytest.approx(to_si(0.480, "in"))


def test_another_gasket_with_ratio_and_chamber_given_changes_the_ratio() -> None:
    """The dish that made them agree stays; 0.020 in more of gasket are 4.2 cc of 84.8."""
    base = changed("block.compression_ratio=9.5", "block.chamber_volume=64 cc")
    case = amend(base, {"block.gasket_thickness": "0.060 in"})
    assert case.block.dish_volume == pytest.approx(base.block.dish_volume)
    assert case.block.compression_ratio == pytest.approx(1 + 720.7 / (84.79 + 4.26), abs=0.01)
