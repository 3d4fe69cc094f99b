"""Defaults: values from the trade, in proportion, each with its source."""

from __future__ import annotations

import math

import pytest

from enginesim.base.units import from_si
from enginesim.case import load, loads
from tests.unit.case.engines import MINIMAL, TEXT, changed

DEG = math.pi / 180
INCH = 0.0254


def test_every_assumption_has_a_value_and_a_source() -> None:
    for item in load(MINIMAL).assumed:
        assert item.value
        assert item.value_si
        assert item.source


def test_nothing_given_is_assumed_besides_the_seat() -> None:
    case = load(MINIMAL)
    both = {item.path for item in case.assumed} & set(case.given)
    assert both == {"cam.intake.durations", "cam.exhaust.durations"}


def test_what_is_typed_is_no_longer_assumed() -> None:
    paths = {item.path for item in changed("block.rod_length=5.7 in").assumed}
    assert "block.rod_length" not in paths


def test_bands_in_si() -> None:
    sigma = {item.path: item.sigma for item in load(MINIMAL).assumed}
    assert sigma["cam.intake_centreline"] == pytest.approx(2 * DEG)
    assert sigma["block.rod_length"] == pytest.approx(0.03 * 1.64 * 3.5 * INCH)
    assert sigma["cylinder_walls.liner_temperature"] == 20.0
    assert sigma["friction.multiplier"] == 0.12


def test_cam_defaults() -> None:
    cam = load(MINIMAL).cam
    assert cam.intake_centreline == pytest.approx(106 * DEG)
    assert cam.intake.durations == (
        (pytest.approx(0.006 * INCH), pytest.approx(260 * DEG)),
        (pytest.approx(0.050 * INCH), pytest.approx(214 * DEG)),
    )
    assert cam.intake.lobe_lift == pytest.approx(0.300 * INCH)
    solid = changed("cam.lifter=solid flat").cam.intake
    assert solid.durations[0][1] == pytest.approx(252 * DEG)
    assert solid.lash == pytest.approx(0.020 * INCH)


def test_a_card_with_a_seat_duration_gets_no_other() -> None:
    cam = changed("cam.intake.durations=262 @ 0.006 in, 214 @ 0.050 in").cam
    assert len(cam.intake.durations) == 2
    assert cam.intake.durations[0][1] == pytest.approx(262 * DEG)


def test_valves_and_ports() -> None:
    head = load(MINIMAL).head
    assert head.intake.valve_diameter == pytest.approx(2.0 * INCH)
    assert head.exhaust.valve_diameter == pytest.approx(1.58 * INCH)
    # A port of 180 cc and 5.4 in: 1.825 in2, the straight line through 13 published heads.
    port = changed("head.intake.port_volume=180 cc").head.intake
    assert from_si(port.port_area_min, "in2") == pytest.approx(0.01014 * 180, rel=0.01)


def test_flow_sheet_from_the_best_flow() -> None:
    sheet = load(MINIMAL).head.intake.sheet
    assert from_si(max(sheet.flow), "cfm") == pytest.approx(210)
    assert from_si(sheet.depression, "inH2O") == pytest.approx(28)
    assert list(sheet.flow) == sorted(sheet.flow)


def test_exhaust_flow_is_three_quarters_at_equal_lift() -> None:
    case = changed(
        "head.intake.sheet.lift=0.1 0.2 0.3 0.4 0.5 0.6 in",
        "head.intake.sheet.flow=65 125 170 200 210 212 cfm @ 28 inH2O",
        "head.exhaust.valve_diameter=2 in",  # 0.05 to 0.35 of it: 0.1 to 0.7 in
    )
    flow = [from_si(value, "cfm") for value in case.head.exhaust.sheet.flow]
    assert flow[:6] == pytest.approx([0.75 * f for f in (65, 125, 170, 200, 210, 212)])


def test_compression_from_pieces() -> None:
    pieces = (
        "block.bore=4.030 in", "block.stroke=3.48 in", "block.deck_clearance=0.005 in",
        "block.gasket_thickness=0.041 in", "block.gasket_bore=4.100 in",
        "block.dish_volume=6 cc", "block.chamber_volume=64 cc",
    )  # fmt: skip
    # Published worked example: 10.1; recomputed 10.102.
    case = changed("block.compression_ratio=10.1", *pieces)
    assert not case.warnings
    text = TEXT.replace("compression_ratio = 9.5", "")
    assert loads(text, pieces).block.compression_ratio == pytest.approx(10.102, abs=5e-4)


def test_pieces_of_another_published_example() -> None:
    # 4.000 x 3.48 in, deck .050, gasket .020 (bore 4.000), piston +5 cc, chamber 70 cc: 9.0146.
    overrides = (
        "block.stroke=3.48 in", "block.deck_clearance=0.050 in",
        "block.gasket_thickness=0.020 in", "block.gasket_bore=4.000 in",
        "block.dish_volume=5 cc", "block.chamber_volume=70 cc",
    )  # fmt: skip
    case = loads(TEXT.replace("compression_ratio = 9.5", ""), overrides)
    assert case.block.compression_ratio == pytest.approx(9.0146, abs=5e-4)


@pytest.mark.parametrize("n", [1, 2, 3, 4, 5, 6, 8, 10, 12])
def test_firing_orders_and_banks(n: int) -> None:
    # A log fits any bank, and a single plenum any number of cylinders.
    case = changed(f"block.n_cylinders={n}", "exhaust.layout=log", "intake.layout=single plenum")
    assert sorted(case.block.firing_order) == list(range(1, n + 1))
    assert sorted(i for bank in case.block.banks for i in bank) == list(range(1, n + 1))
    assert sum(case.block.firing_intervals) == pytest.approx(4 * math.pi)


def test_unequal_runners_of_a_divided_plenum() -> None:
    lengths = [from_si(x, "in") for x in load(MINIMAL).intake.runner_lengths]
    assert lengths == pytest.approx([8, 8, 5, 5, 5, 5, 8, 8])


def test_halves_of_a_divided_plenum_take_every_other_cylinder() -> None:
    case = load(MINIMAL)
    order = case.block.firing_order
    assert set(case.intake.plenum_groups) == {
        tuple(sorted(order[::2])),
        tuple(sorted(order[1::2])),
    }


def test_headers_and_log() -> None:
    exhaust = load(MINIMAL).exhaust
    assert exhaust.collector_diameter == pytest.approx(1.75 * exhaust.primary_diameter)
    assert exhaust.muffler == "none"
    log = changed("exhaust.layout=log").exhaust
    assert log.muffler == "back-pressure"
    assert log.log_diameter == pytest.approx(1.5 * INCH)
    assert log.muffler_flow > 0


def test_four_valves() -> None:
    case = changed("head.intake.n_valves=2", "head.intake.peak_flow=250 cfm")
    assert case.head.exhaust.n_valves == 2
    assert case.head.valvetrain == "dohc"
    assert case.cam.lifter == "bucket"
    assert case.cam.intake.measured_at == "valve"
    assert case.cam.intake.rocker_ratio == 1.0


@pytest.mark.parametrize(
    "fuel, delivery, fraction",
    [
        ("gasoline 91", "carburettor", 0.6),
        ("gasoline 91", "port", 0.3),
        ("methanol", "carburettor", 0.3),
        ("propane", "port", 1.0),
        ("e10", "direct", 0.0),
    ],
)
def test_evaporation(fuel: str, delivery: str, fraction: float) -> None:
    case = changed(f"fuel.name={fuel}", f"fuel.delivery={delivery}")
    assert case.fuel.evaporated_fraction == fraction


@pytest.mark.parametrize(
    "delivery, share", [("carburettor", 0.75), ("port", 0.75), ("direct", 0.2)]
)
def test_walls_give_less_to_fuel_sprayed_into_the_air(delivery: str, share: float) -> None:
    assert changed(f"fuel.delivery={delivery}").fuel.wall_heat_share == share


def test_air_of_the_standard_day() -> None:
    air = load(MINIMAL).air
    assert (air.pressure, air.temperature, air.humidity) == (99e3, 298.15, 0.0)
