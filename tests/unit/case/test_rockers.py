"""Other rockers on the same cam lift the valve by more or less; the lobe stays."""

from __future__ import annotations

import pytest

from enginesim.base.errors import CaseError
from enginesim.case import Case, amend, load, loads
from enginesim.valvetrain.lift import lift_curves
from tests.unit.case.engines import MINIMAL, TEXT

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
    with pytest.raises(CaseError, match="rocker_ratio"):
        engine("cam.intake.rocker_ratio=9")


ANGLES = " ".join(str(a) for a in range(-130, 140, 10))
LIFTS = " ".join(f"{0.45 * max(0.0, 1 - (a / 120) ** 2):.4f}" for a in range(-130, 140, 10))


def measured(*lines: str, table: str = "") -> str:
    """The smallest case with a measured intake lift in place of its card."""
    text = TEXT.replace('durations = "214 @ 0.050 in"\nvalve_lift = "0.450 in"', "\n".join(lines))
    return f'{text}[cam.intake.lift_table]\nangle = "{ANGLES}"\nlift = "{LIFTS} in"\n{table}\n'


def test_the_lift_of_a_measured_lobe_goes_with_the_ratio() -> None:
    """0.450 in with 1.5, 0.480 in with 1.6: in the case, and in what is run."""
    text = measured("rocker_ratio = 1.5")
    case = loads(text, ["cam.intake.rocker_ratio=1.6"])
    assert case.cam.intake.valve_lift == pytest.approx(0.480 * INCH)
    assert lift_curves(case).intake.max() == pytest.approx(0.480 * INCH, rel=1e-6)
    assert lift_curves(loads(text)).intake.max() == pytest.approx(0.450 * INCH, rel=1e-6)
    (told,) = [w for w in case.warnings if w.path == "cam.intake.lift_table"]
    assert "measured with rockers of 1.5, now 1.6" in str(told)
    again = amend(loads(text), {"cam.intake.rocker_ratio": 1.6})
    assert again.digest == case.digest
    back = amend(case, {"cam.intake.rocker_ratio": 1.5})
    assert lift_curves(back).intake.max() == pytest.approx(0.450 * INCH, rel=1e-6)


def test_the_lash_stays_while_the_lobe_is_multiplied() -> None:
    """(0.450 + 0.020) x 1.6/1.5 - 0.020 = 0.4813 in."""
    text = measured("rocker_ratio = 1.5", 'lash = "0.020 in"')
    case = loads(text, ["cam.intake.rocker_ratio=1.6"])
    assert lift_curves(case).intake.max() == pytest.approx(0.48133 * INCH, rel=1e-5)
    assert case.cam.intake.valve_lift == pytest.approx(0.50133 * INCH, rel=1e-5)  # gross


def test_a_table_knows_with_which_rockers_it_was_measured() -> None:
    case = loads(measured("rocker_ratio = 1.6", table="rocker_ratio = 1.5"))
    assert lift_curves(case).intake.max() == pytest.approx(0.480 * INCH, rel=1e-6)


def test_rockers_that_nobody_gave_are_asked_for() -> None:
    """The default of 1.5 is no measurement: a swap must not be worked out from it unasked."""
    with pytest.raises(CaseError) as caught:
        loads(measured(), ["cam.intake.rocker_ratio=1.6"])
    (problem,) = caught.value.problems
    assert problem.path == "cam.intake.lift_table.rocker_ratio"
    remedy = problem.hint.partition("--set ")[2]
    case = loads(measured(), [remedy, "cam.intake.rocker_ratio=1.6"])
    assert lift_curves(case).intake.max() == pytest.approx(0.480 * INCH, rel=1e-6)


def test_a_lift_that_the_table_contradicts() -> None:
    with pytest.raises(CaseError, match="beside a lift table"):
        loads(measured("rocker_ratio = 1.5", 'valve_lift = "0.500 in"'))
