"""A value that nobody gave never refuses one that somebody gave: it gives way, and says so."""

from __future__ import annotations

import pytest

from enginesim.base.units import to_si
from enginesim.case import Case
from enginesim.case.numerics import MOST_CELLS
from enginesim.kernels.layout import GROUP_CELLS
from tests.unit.case.engines import changed, problems

CASES = {
    # given: field that gives way
    "two lifts have a ratio": (
        ["cam.intake.valve_lift=0.512 in", "cam.intake.lobe_lift=0.320 in"], ""),
    "a bucket needs no push rod": (["cam.lifter=bucket"], ""),
    "a large intake valve": (["head.intake.valve_diameter=2.35 in"], "head.exhaust.valve_diameter"),
    "a large exhaust valve": (
        ["head.exhaust.valve_diameter=2.2 in"], "head.intake.valve_diameter"),
    "a little lift leaves little lash": (
        ["cam.lifter=solid flat", "cam.intake.valve_lift=0.07 in", "cam.exhaust.valve_lift=0.07 in",
         "cam.intake.durations=150 deg @ 0.03 in", "cam.exhaust.durations=150 deg @ 0.03 in",
         "head.intake.valve_diameter=0.5 in", "head.exhaust.valve_diameter=0.45 in",
         "head.intake.peak_flow=10 cfm"], "cam.intake.lash"),
    "ratio and chamber make a dish": (
        ["block.compression_ratio=9.5", "block.chamber_volume=64 cc"], "block.dish_volume"),
    "few cycles": (["numerics.max_cycles=2"], "numerics.min_cycles"),
    "four barrels": (
        ["throttle.flow=600 cfm @ 1.5 inHg", "throttle.diameter=1.6 in"], "throttle.count"),
    "a two-barrel rating": (
        ["throttle.flow=350 cfm", "throttle.diameter=1.25 in", "throttle.count=2"],
        "throttle.drop"),
    "pairs of primaries": (["exhaust.layout=2-into-1"], "block.banks"),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_a_default_gives_way_and_says_so(name: str) -> None:
    given, path = CASES[name]
    case = changed(*given)
    told = {item.path: item.source for item in case.assumed}
    if path:
        assert "usual would be" in told[path]


def test_what_gives_way_is_what_the_given_values_say() -> None:
    ratio = changed("cam.intake.valve_lift=0.512 in", "cam.intake.lobe_lift=0.320 in")
    assert ratio.cam.intake.rocker_ratio == pytest.approx(1.6)
    assert changed("cam.lifter=bucket").head.valvetrain == "sohc"
    barrels = changed("throttle.flow=600 cfm @ 1.5 inHg", "throttle.diameter=1.6 in")
    assert barrels.throttle.count == 3
    banks = changed("exhaust.layout=2-into-1").block.banks
    assert sorted(len(bank) for bank in banks) == [2, 2, 2, 2]
    dish = changed("block.compression_ratio=9.5", "block.chamber_volume=64 cc")
    # 720.7 cc over 8.5, less 64 of chamber, 8.5 of gasket and 4.1 of deck
    assert dish.block.dish_volume == pytest.approx(8.1e-6, abs=0.1e-6)
    (warning,) = [w for w in dish.warnings if w.path == "block.dish_volume"]
    assert "a ratio of 9.50 and a chamber of 64 cc" in str(warning)


def test_a_default_lies_in_the_range_of_its_field() -> None:
    """Of a 15 mm valve a stem in the usual proportion is thinner than any that may be given."""
    small = ("block.bore=32 mm", "block.stroke=32 mm", "head.intake.valve_diameter=14 mm",
             "head.intake.peak_flow=12 cfm", "cam.intake.valve_lift=3.4 mm",
             "cam.exhaust.valve_lift=3.2 mm", "cam.intake.durations=214 @ 0.5 mm",
             "cam.exhaust.durations=214 @ 0.5 mm")  # fmt: skip
    stem = changed(*small).head.intake.stem_diameter
    assert stem == pytest.approx(3e-3)
    changed(*small, f"head.intake.stem_diameter={stem!r} m")


def events_of(case: Case) -> dict[str, float]:
    """Events at the seat that the smallest case's card implies."""
    intake, exhaust = (lobe.durations[0][1] for lobe in (case.cam.intake, case.cam.exhaust))
    centre, other = case.cam.intake_centreline, 2 * case.cam.lobe_separation
    other -= centre
    half = to_si(180.0, "deg")
    return {"intake_opens": intake / 2 - centre, "intake_closes": intake / 2 + centre - half,
            "exhaust_opens": exhaust / 2 + other - half,
            "exhaust_closes": exhaust / 2 - other}  # fmt: skip


def test_events_printed_at_the_seat_are_the_seat_s_duration() -> None:
    """Ten degrees longer than the seat duration that would be added to the card."""
    wider = to_si(5.0, "deg")
    printed = [f"cam.events.{name}={angle + wider!r} rad" for name, angle in
               events_of(changed()).items()]  # fmt: skip
    case = changed(*printed, "cam.events.height=0.006 in")
    added = case.cam.intake.durations[0][1] - changed().cam.intake.durations[0][1]
    assert added == pytest.approx(2 * wider)


def test_exhaust_events_alone_place_the_cam() -> None:
    events = events_of(changed("cam.intake_centreline=104"))
    printed = [f"cam.events.{name}={events[name]!r} rad" for name in
               ("exhaust_opens", "exhaust_closes")]  # fmt: skip
    case = changed(*printed, "cam.events.height=0.006 in")
    assert case.cam.intake_centreline == pytest.approx(to_si(104.0, "deg"))


def test_a_lobe_measured_at_the_valve_is_looked_at_above_its_lash() -> None:
    """0.26 in of a valve's 0.30 in, after 0.055 in of lash: above the nose, which no run takes."""
    given = ("cam.intake.measured_at=valve", "cam.intake.lash=0.055 in",
             "cam.intake.valve_lift=0.30 in",
             "cam.intake.durations=214 @ 0.050 in, 70 @ 0.26 in")  # fmt: skip
    assert any("below the lift" in str(problem) for problem in problems(*given))


def test_more_water_than_the_gas_tables_hold() -> None:
    (problem,) = problems("air.humidity=1", "air.temperature=60 degC")
    assert problem.path == "air.humidity"


def test_more_cells_than_a_duct_can_have() -> None:
    (problem,) = problems("numerics.cell_size=2 mm", "exhaust.tail_length=8 m")
    assert problem.path == "numerics.cell_size"
    assert MOST_CELLS == GROUP_CELLS - 2  # the kernels' own limit
