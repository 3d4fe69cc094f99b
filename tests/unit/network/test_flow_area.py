"""Effective areas of valves from flow sheets."""

from __future__ import annotations

from dataclasses import replace
from math import pi, radians

import numpy as np
import pytest

from enginesim.base.errors import CaseError
from enginesim.network.flow_area import (
    SUSPECT_COEFFICIENT,
    area_table,
    effective_areas,
    seat_area,
    sheet_areas,
    throat_coefficient,
)
from enginesim.ports.flow_bench import Bench, nozzle_flux
from enginesim.ports.sheet import port_area, port_duct
from tests.unit.ports.ports import INCH, INH2O, Port, Sheet


@pytest.mark.parametrize(
    "lift, wanted",
    [(1, 74.4), (2, 151.1), (4, 316.0), (6, 514.1), (8, 723.0), (10, 816.8)],
)
def test_smallest_section_of_a_seat(lift: float, wanted: float) -> None:
    # Heywood 1988, section 6.3.2 (formula from memory), valve 36, seat 1.5 at 45 degrees, stem 7 mm
    found = seat_area(lift * 1e-3, 36e-3, 1.5e-3, radians(45), 7e-3)
    assert 1e6 * found == pytest.approx(wanted, abs=0.05)


def test_the_section_is_continuous_and_grows() -> None:
    lift = np.linspace(0.0, 12e-3, 12001)
    area = seat_area(lift, 36e-3, 1.5e-3, radians(45), 7e-3)
    assert area[0] == 0.0
    steps = np.diff(area)
    assert steps.min() >= 0.0
    assert steps.max() < 1.5 * pi * 36e-3 * 1e-6  # nowhere faster than half above the curtain


@pytest.mark.parametrize("side", ["intake", "exhaust"])
def test_areas_at_the_sheet_are_those_of_the_sheet(side: str) -> None:
    port = Port()
    forward, reverse = effective_areas(port, port.sheet.lift, side)
    wanted = sheet_areas(port, side)
    np.testing.assert_allclose(forward, wanted[0], rtol=1e-12)
    np.testing.assert_allclose(reverse, wanted[1], rtol=1e-12)


def test_the_calibrated_intake_valve_is_larger_than_the_plain_nozzle() -> None:
    """The port takes part of the depression, so the valve alone must let more through."""
    port = Port()
    sheet = port.sheet
    bench = Bench(sheet.bench_pressure, sheet.bench_temperature, sheet.depression)
    flux = nozzle_flux(bench.pressure, bench.temperature, bench.pressure - bench.depression)
    plain = np.array(sheet.flow) * bench.density / flux
    gain = sheet_areas(port, "intake")[0] / plain - 1.0
    assert np.all(np.diff(gain) > 0.0)  # with the square of the flow
    assert 0.0 < gain[0] < 0.005
    assert 0.01 < gain[-1] < 0.08


def test_a_rough_or_sharp_edged_port_asks_for_a_larger_valve() -> None:
    smooth, rough = (sheet_areas(Port(), "intake", e)[0][-1] for e in (1e-6, 1e-3))
    assert rough > smooth
    wide = replace(Port(), port_area_min=1.2 * Port().port_area_min)
    sharp = replace(wide, sheet=replace(Sheet(), entry="none"))
    assert sheet_areas(sharp, "intake")[0][-1] > sheet_areas(wide, "intake")[0][-1]


def test_an_exhaust_port_without_a_rounded_end() -> None:
    forward, reverse = sheet_areas(replace(Port(), sheet=replace(Sheet(), entry="none")), "exhaust")
    assert np.all(forward < Port().port_area_min)
    assert np.all(reverse < Port().port_area_min)


def test_a_sheet_at_another_depression_gives_the_same_valve() -> None:
    """Flows of one valve at 10 and 28 inH2O are 1.632 apart, not 1.673; little port between."""
    short = replace(Port(), port_length=1e-4, port_volume=1e-4 * 1.11 * 2.1 * INCH**2)
    low = replace(
        short,
        sheet=replace(Sheet(), depression=10 * INH2O, flow=tuple(q / 1.632 for q in Sheet().flow)),
    )
    # the entry's loss is still there: 3 % of a velocity head that is not quite similar
    np.testing.assert_allclose(
        sheet_areas(low, "intake")[0], sheet_areas(short, "intake")[0], rtol=2e-3
    )


def test_reverse_flow_ratio() -> None:
    """Less flow the wrong way means less area; with no friction, equal flow about equal area."""
    forward, reverse = sheet_areas(replace(Port(), reverse_flow_ratio=0.8), "intake")
    assert np.all(reverse < forward)
    _, more = sheet_areas(replace(Port(), reverse_flow_ratio=0.9), "intake")
    assert np.all(more > reverse)


def test_intake_forward_is_exhaust_reverse() -> None:
    port = replace(Port(), reverse_flow_ratio=1.0)
    into, out_of = sheet_areas(port, "intake")
    forward, reverse = sheet_areas(port, "exhaust")
    np.testing.assert_array_equal(into, reverse)
    np.testing.assert_array_equal(out_of, forward)


def test_no_lift_no_area_and_constant_above_the_sheet() -> None:
    port = Port()
    forward, reverse = effective_areas(port, [0.0, -1e-3, port.sheet.lift[-1], 0.03], "intake")
    assert forward[0] == forward[1] == reverse[0] == 0.0
    assert forward[3] == forward[2] > 0.0


def test_a_sheet_that_begins_at_zero_is_the_same() -> None:
    port = Port()
    sheet = replace(Sheet(), lift=(0.0, *Sheet().lift), flow=(0.0, *Sheet().flow))
    lift = np.linspace(0.0, 0.016, 33)
    for found, wanted in zip(
        effective_areas(replace(port, sheet=sheet), lift, "intake"),
        effective_areas(port, lift, "intake"),
        strict=True,
    ):
        np.testing.assert_allclose(found, wanted, rtol=1e-12)


def test_area_table_has_the_kernel_s_form() -> None:
    lift = 0.011 * np.maximum(np.cos(np.linspace(-3.0, 3.0, 2881)), 0.0)
    table = area_table(Port(), lift, "intake")
    assert table.shape == (2881, 2)
    assert table.flags.c_contiguous
    assert table.dtype == np.float64
    assert table.min() == 0.0
    assert np.argmax(table[:, 0]) == 1440


def test_curtain_coefficient_is_that_of_textbooks() -> None:
    # Coefficient on the curtain: 0.65-0.7 at L/D 0.05-0.1, 0.45-0.5 at 0.25 (inlet); from memory,
    # Heywood's figures. This sheet is of a modern wedge port: allow 0.1 above.
    port = Port()
    lift = np.array([0.05, 0.10, 0.25]) * port.valve_diameter
    forward, _ = effective_areas(port, lift, "intake")
    coefficient = forward / (pi * port.valve_diameter * lift)
    assert 0.60 < coefficient[0] < 0.80
    assert 0.60 < coefficient[1] < 0.80
    assert 0.45 < coefficient[2] < 0.65
    assert coefficient[2] < coefficient[1]


def test_more_than_the_port_can_pass_is_refused_lift_by_lift() -> None:
    small = replace(Port(), port_area_min=1.6 * INCH**2)
    with pytest.raises(CaseError, match=r"head.intake.sheet: found .*258 cfm.*smallest section"):
        sheet_areas(small, "intake")
    with pytest.raises(CaseError) as caught:
        sheet_areas(replace(small, reverse_flow_ratio=0.5), "intake")
    assert 1 <= len(caught.value.problems) < 6


def test_doubtful_sheets_are_those_above_the_throat() -> None:
    assert throat_coefficient(Port()) < SUSPECT_COEFFICIENT
    # trade: about 147 cfm per square inch is a ceiling; 450 cfm through a 2.02 in valve is not real
    sheet = replace(Sheet(), flow=tuple(1.75 * q for q in Sheet().flow))
    assert throat_coefficient(replace(Port(), sheet=sheet)) > SUSPECT_COEFFICIENT
    assert throat_coefficient(replace(Port(), n_valves=2)) == pytest.approx(
        0.5 * throat_coefficient(Port())
    )


def test_the_port_s_section() -> None:
    port = Port()
    s = np.linspace(0.0, 1.0, 2001)
    area = np.array([port_area(port, fraction) for fraction in s])
    assert area[0] == pytest.approx(0.25 * pi * port.port_flange_diameter**2)
    assert area[-1] == pytest.approx(port.port_area_min)
    assert area.min() == pytest.approx(port.port_area_min)
    assert np.trapezoid(area, s) * port.port_length == pytest.approx(port.port_volume, rel=1e-6)


def test_the_section_never_falls_below_the_smallest() -> None:
    small = replace(Port(), port_volume=1e-5)
    assert min(port_area(small, 0.01 * i) for i in range(101)) >= Port().port_area_min * (1 - 1e-12)
    narrow = replace(Port(), port_flange_diameter=0.01)
    assert port_area(narrow, 0.0) == pytest.approx(Port().port_area_min)


def test_the_bench_has_the_port_s_own_walls() -> None:
    duct = port_duct(Port())
    assert duct.length == Port().port_length
    assert duct.entry_loss == pytest.approx(0.03)
