"""Throttle, injectors, headers and runners: the trade's rules worked by hand."""

from __future__ import annotations

import math

import pytest

from enginesim.base.errors import CaseError
from enginesim.base.units import from_si, to_si
from enginesim.case import loads
from enginesim.performance import Curve
from enginesim.workshop.carburettor import (
    fitted_size,
    rule_flow,
    size_text,
    sizes_to_try,
    throttle_sheet,
)
from enginesim.workshop.injectors import PRESSURES, injector_size, injectors
from enginesim.workshop.tubes import (
    PRIMARY_SPEED,
    engelman_rpm,
    primary_length,
    primary_length_rpm,
    primary_rpm,
    tubes,
)
from tests.unit.case.engines import TEXT, changed
from tests.unit.study.results import result

_IN = 0.0254
_HP = 745.6998715822702


def curve(*torques: float, **fields: tuple[float, ...]) -> Curve:
    """Speeds of 2000 rpm and every 1000 more, with the power that the torque makes."""
    points = []
    for i, torque in enumerate(torques):
        rpm = 2000.0 + 1000.0 * i
        own = {name: values[i] for name, values in fields.items()}
        points.append(result(rpm, torque=torque, power=torque * rpm * math.pi / 30, **own))
    return Curve(points)


class TestThrottle:
    def test_selling_rule(self) -> None:
        """350 cubic inches, 6000 rpm, filled wholly: 608 cfm (magazine; recomputed 607.6)."""
        flow = rule_flow(to_si(350, "in3"), 6000, 1.0)
        assert from_si(flow, "cfm") == pytest.approx(350 * 6000 / 3456, rel=1e-4)

    @pytest.mark.parametrize(
        "fitted, offered",
        [
            ("600 cfm", (500, 600, 750)),
            ("650 cfm", (500, 650, 850)),  # 520 and 810 are 0.8 and 1.25 times it, and not sold
            ("390 cfm", (390, 500)),
            ("950 cfm", (750, 950)),
            ("200 cfm", (160, 200, 250)),  # of a small engine: far from what the list is for
            ("650 cfm @ 3 inHg", (520, 650, 810)),  # another rating, another list
        ],
    )
    def test_sizes_are_those_that_are_sold(self, fitted: str, offered: tuple[int, ...]) -> None:
        sizes = sizes_to_try(changed(f"throttle.flow={fitted}"))
        assert [from_si(size, "cfm") for size in sizes] == pytest.approx(offered)

    def test_sizes_that_are_asked_for(self) -> None:
        asked = sizes_to_try(changed(), [to_si(520, "cfm")])
        assert [from_si(size, "cfm") for size in asked] == pytest.approx([520, 600])
        assert size_text("throttle.flow", asked[0]) == "520 cfm"

    def test_a_bore_goes_by_the_root_of_the_area(self) -> None:
        text = TEXT.replace('flow = "600 cfm"', 'diameter = "60 mm"')
        case = loads(text, ["throttle.kind=throttle body"])
        assert fitted_size(case) == ("throttle.diameter", pytest.approx(0.060))
        # A fifth less and a quarter more area, to half a millimetre: 53.7 and 67.1 mm.
        assert sizes_to_try(case) == pytest.approx((0.0535, 0.060, 0.067))

    def test_no_throttle(self) -> None:
        text = TEXT.replace('kind = "carburettor"\nflow = "600 cfm"', 'kind = "none"')
        case = loads(text, ["intake.layout=open stacks"])
        with pytest.raises(CaseError, match="no throttle"):
            fitted_size(case)

    def test_what_sizes_cost(self) -> None:
        case = changed()
        sizes = sizes_to_try(case)
        curves = [
            curve(400, 380, manifold_depression=(1000.0, 4000.0), ve=(0.9, 0.9)),
            curve(400, 390, manifold_depression=(700.0, 2500.0), ve=(0.9, 0.92)),
            curve(400, 395, manifold_depression=(500.0, 1600.0), ve=(0.9, 0.93)),
        ]
        sheet = throttle_sheet(case, sizes, curves, to_si(350, "in3"))
        assert [size.is_fitted for size in sheet.sizes] == [False, True, False]
        per_nm = 3000 * math.pi / 30
        assert sheet.sizes[0].lost == pytest.approx([0.0, 15 * per_nm])
        assert sheet.sizes[2].lost == pytest.approx([0.0, 0.0])
        assert sheet.power_rpm == 3000.0
        flow = from_si(sheet.rule_flow[0], "cfm")
        assert flow == pytest.approx(350 * 3000 * 0.92 / 3456, rel=1e-4)
        assert sheet.halves


class TestInjectors:
    def test_worked_examples(self) -> None:
        """400 hp at 0.50: 31 lb/h; 500 hp with a blower at 0.60: 47 lb/h; 8 injectors, 80 %."""
        assert injector_size(400 * 0.50, 8, 0.80) == pytest.approx(31.25)
        assert injector_size(500 * 0.60, 8, 0.80) == pytest.approx(46.875)

    def test_pressure(self) -> None:
        """58 psi for 43.5: flow x 1.155, so a size as much smaller."""
        assert injector_size(1.0, 1, 1.0, PRESSURES[0]) == 1.0
        assert injector_size(1.0, 1, 1.0, PRESSURES[1]) == pytest.approx(1 / 1.155, rel=1e-3)

    def test_for_the_richest_speed_not_the_strongest(self) -> None:
        flow = tuple(to_si(x, "lb/h") for x in (100, 150, 160))
        found = injectors(curve(400, 420, 300, fuel_flow=flow), 8, 0.8, 745.0)
        assert found.rpm == 4000.0
        assert found.power_rpm == 3000.0
        assert from_si(found.size[0], "lb/h") == pytest.approx(25.0)
        power = 420 * 3000 * math.pi / 30 / _HP
        assert from_si(found.rule_size, "lb/h") == pytest.approx(power * 0.5 / 6.4, rel=1e-6)
        assert found.pump == pytest.approx(1.25 * flow[2])

    def test_cc_per_minute(self) -> None:
        """10.5 cc/min for 1 lb/h at 0.72 kg/L, 10.15 at 0.745."""
        for density, cc in ((720, 10.5), (745, 10.15)):
            assert from_si(to_si(1, "lb/h") / density, "cc/min") == pytest.approx(cc, abs=0.01)


class TestTubes:
    def test_header_area(self) -> None:
        """1-5/8 x 0.065 in tube is 1.755 in2; 43.75 in3 of cylinder: 3,539 rpm."""
        area = 0.25 * math.pi * (1.495 * _IN) ** 2
        assert area / _IN**2 == pytest.approx(1.755, abs=5e-4)
        assert primary_rpm(area, 43.75 * _IN**3) == pytest.approx(3539, abs=1)
        assert pytest.approx(245, abs=0.1) == PRIMARY_SPEED / 0.3048

    @pytest.mark.parametrize("rpm, inside", [(3500, 1.50), (4000, 1.60), (4500, 1.70)])
    def test_header_of_355_cubic_inches(self, rpm: int, inside: float) -> None:
        area = 0.25 * math.pi * (inside * _IN) ** 2
        assert primary_rpm(area, 355 / 8 * _IN**3) == pytest.approx(rpm, rel=0.005)

    @pytest.mark.parametrize("opens, rpm, inches", [(70, 5000, 39.5), (80, 6500, 31.0)])
    def test_header_length(self, opens: float, rpm: float, inches: float) -> None:
        length = primary_length(math.radians(opens), rpm)
        assert length / _IN == pytest.approx(inches, abs=0.05)
        assert primary_length_rpm(math.radians(opens), length) == pytest.approx(rpm)

    @pytest.mark.parametrize(
        "millimetres, rpm", [(250, 6387), (350, 5398), (450, 4760), (600, 4123), (800, 3570)]
    )
    def test_runner_as_resonator(self, millimetres: float, rpm: float) -> None:
        """Bore and stroke 86, ratio 10, runner 40 mm, 346 m/s; the printed constant is rounded."""
        area, swept = 0.25 * math.pi * 0.040**2, 0.25 * math.pi * 0.086**3
        found = engelman_rpm(area, 1e-3 * millimetres, swept, 10.0, 346.0)
        assert found == pytest.approx(rpm, rel=1e-3)

    def test_rules_of_a_case(self) -> None:
        case = changed("intake.runner_lengths=22.6 in", "head.intake.port_length=5.4 in")
        sheet = tubes(case, curve(300, 400, 350, ve=(0.8, 0.9, 0.85)))
        assert (sheet.torque_rpm, sheet.power_rpm, sheet.ve_rpm) == (3000.0, 4000.0, 3000.0)
        assert sheet.runner_length == pytest.approx(28 * _IN)
        by_name = {rule.name: rule for rule in sheet.rules}
        # 28 in at 3000 rpm: the ram manifolds' rule.
        assert by_name["runner length, 84,000 rule"].rpm == pytest.approx(3000)
        assert by_name["runner length, 84,000 rule"].wanted == pytest.approx(28 * _IN)
        area = 0.25 * math.pi * 1.525**2
        cylinder = 0.25 * math.pi * 4**2 * 3.5
        header = by_name["primary area, 88,200 rule"]
        assert header.rpm == pytest.approx(88_200 * area / cylinder)
        assert header.wanted == pytest.approx(header.given * math.sqrt(3000 / header.rpm))
        resonator = by_name["runner and cylinder as resonator"]
        # Its speed goes as one over the root of the length.
        assert resonator.wanted == pytest.approx(resonator.given * (resonator.rpm / 3000) ** 2)

    def test_gas_speed_of_the_rule(self) -> None:
        """At the speed that the area rule gives, the gas runs 245 ft/s."""
        case = changed()
        area = 0.25 * math.pi * case.exhaust.primary_diameter**2
        swept = 0.25 * math.pi * case.block.bore**2 * case.block.stroke
        rpm = primary_rpm(area, swept)
        points = [result(r, torque=t, power=t * r) for r, t in ((rpm, 400.0), (rpm + 500, 300.0))]
        sheet = tubes(case, Curve(points))
        assert sheet.gas_speed[0] == pytest.approx(PRIMARY_SPEED)
