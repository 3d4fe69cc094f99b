"""Other rockers on the same cam lift the valve by more or less; the lobe stays."""

from __future__ import annotations

import pytest

from enginesim.case import Case, amend, load
from tests.unit.case.engines import MINIMAL

INCH = 0.0254


def engine(*changes: str) -> Case:
    """The smallest case (0.450 in of lift, rockers 1.5 by default), changed."""
    return load(MINIMAL, changes)


def test_lift_goes_with_the_ratio() -> None:
    """0.450 in / 1.5 x 1.6 = 0.480 in."""
    case = engine("cam.intake.rocker_ratio=1.6")
    assert case.cam.intake.valve_lift == pytest.approx(0.480 * INCH, rel=1e-8)
    assert case.cam.intake.lobe_lift == pytest.approx(engine().cam.intake.lobe_lift, rel=1e-8)
    assert case.cam.exhaust == engine().cam.exhaust
    assert case.given["cam.intake.valve_lift"] == "0.48 in"
    (told,) = [w for w in case.warnings if w.path == "cam.intake.valve_lift"]
    assert "0.48 in instead of 0.45 in" in str(told)


def test_the_same_from_a_case_at_hand() -> None:
    case = amend(engine(), {"cam.intake.rocker_ratio": 1.6})
    assert case.digest == engine("cam.intake.rocker_ratio=1.6").digest


@pytest.mark.parametrize("lift", ["valve_lift=0.450 in", "lobe_lift=0.28125 in"])
def test_a_lift_that_is_given_as_well_is_taken_at_its_word(lift: str) -> None:
    case = engine("cam.intake.rocker_ratio=1.6", f"cam.intake.{lift}")
    if lift.startswith("lobe"):
        # Two lifts that do not agree with the ratio would be refused: these do.
        assert case.cam.intake.lobe_lift == pytest.approx(0.28125 * INCH)
    assert case.cam.intake.valve_lift == pytest.approx(0.450 * INCH)
    assert not [w for w in case.warnings if w.path == "cam.intake.valve_lift"]


def test_the_ratio_that_it_had_changes_nothing() -> None:
    case = engine("cam.intake.rocker_ratio=1.5")
    assert case.digest == engine().digest
    assert case.given["cam.intake.valve_lift"] == "0.450 in"


def test_one_after_the_other() -> None:
    """Back on the first rockers the lift is the first."""
    case = engine("cam.exhaust.rocker_ratio=1.7", "cam.exhaust.rocker_ratio=1.5")
    assert case.cam.exhaust.valve_lift == pytest.approx(engine().cam.exhaust.valve_lift, rel=1e-8)


def test_a_band_stays() -> None:
    base = engine("cam.intake.valve_lift=0.450 in +- 0.005")
    case = amend(base, {"cam.intake.rocker_ratio": "1.6"})
    assert case.given["cam.intake.valve_lift"] == "0.48 in +- 0.005"


def test_a_ratio_out_of_range_is_refused_as_ever() -> None:
    from enginesim.base.errors import CaseError

    with pytest.raises(CaseError, match="rocker_ratio"):
        engine("cam.intake.rocker_ratio=9")
