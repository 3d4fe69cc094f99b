"""A size of a port that nobody gave never refuses one that somebody gave."""

from __future__ import annotations

import pytest

from enginesim.base.errors import CaseError
from enginesim.base.units import to_si
from enginesim.case import Case
from enginesim.ports.sheet import refusals
from tests.unit.case.engines import changed

PEAK_250 = "head.intake.peak_flow=250 cfm @ 28 inH2O"


def given_way(case: Case) -> set[str]:
    """Paths of the values that are told to have given way."""
    return {item.path for item in case.assumed if "gives way" in item.source}


def test_an_ordinary_street_head() -> None:
    """
    180 cc at 250 cfm: the usual smallest section, 1.83 in2, needs a valve of more than that.

    It gives way by no more than the flow needs: by one step of a per cent less it would not pass.
    """
    case = changed("head.intake.port_volume=180 cc", PEAK_250)
    port = case.head.intake
    assert given_way(case) == {"head.intake.port_area_min"}
    assert refusals(port, "intake") == ()
    assert to_si(1.83, "in2") < port.port_area_min < to_si(1.90, "in2")
    (item,) = [a for a in case.assumed if a.path == "head.intake.port_area_min"]
    assert "usual would be 1.826 in2" in item.source
    less = f"head.intake.port_area_min={port.port_area_min / 1.011 * 1e4} cm2"
    rest = ("head.intake.port_length=5.4 in", "head.intake.port_flange_diameter=1.68 in")
    with pytest.raises(CaseError, match="can pass"):
        changed("head.intake.port_volume=180 cc", *rest, PEAK_250, less)


def test_a_small_volume_is_a_short_port() -> None:
    """120 cc over the usual 5.4 in would be a mean section below what 250 cfm need."""
    case = changed("head.intake.port_volume=120 cc", PEAK_250)
    assert given_way(case) == {"head.intake.port_length"}
    assert case.head.intake.port_length < to_si(4.0, "in")
    assert refusals(case.head.intake, "intake") == ()


def test_a_given_section_shortens_the_usual_length() -> None:
    """1.84 in2 pass 250 cfm, though not with the friction of 5.4 in of cast port."""
    case = changed("head.intake.port_area_min=1.84 in2", PEAK_250)
    assert given_way(case) == {"head.intake.port_length"}
    assert case.head.intake.port_area_min == pytest.approx(to_si(1.84, "in2"))


def test_a_given_exhaust_port_lowers_the_flow_that_nobody_measured() -> None:
    case = changed("head.exhaust.port_area_min=0.9 in2")
    assert {"head.exhaust.sheet.flow", "head.exhaust.reverse_flow_ratio"} <= given_way(case)
    assert refusals(case.head.exhaust, "exhaust") == ()
    assert max(case.head.exhaust.sheet.flow) < max(changed().head.exhaust.sheet.flow)


def test_an_opening_bounds_the_section() -> None:
    """An opening of 1.1 in is 0.95 in2: behind it no section is more than 1/0.85 of that."""
    case = changed("head.exhaust.port_flange_diameter=1.1 in")
    assert refusals(case.head.exhaust, "exhaust") == ()
    assert case.head.exhaust.port_area_min < to_si(0.951 / 0.85, "in2")


def test_usual_sizes_stay_as_they_were() -> None:
    assert given_way(changed()) == set()
