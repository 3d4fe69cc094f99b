"""When may pins be written anew?"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.regression.measured import Measured, Row
from tests.regression.pins import Pins, RefusedError, moved, read, rewritten, write

ROW: Row = {"ends": "periodic", "books": True, "torque": 100.0, "ve": 0.9}
PINS = Pins(4, {"single, wave": {"2000": ROW}}, {"run.csv": ["rpm"]}, {"check": 0})


def measured(**changes: object) -> dict[str, dict[str, Measured]]:
    return {"single, wave": {"2000": Measured(ROW | changes, {"torque": 0.1, "ve": 0.001})}}


def test_numbers_that_stay_keep_their_pin_and_version() -> None:
    results, found = rewritten(PINS, measured(torque=100.05), 4)
    assert found == []
    assert results == PINS.results  # not 100.05: small steps would never be seen


@pytest.mark.parametrize(
    "change", [{"torque": 100.2}, {"ve": 0.905}, {"ends": "alternating"}, {"books": False}]
)
def test_moved_numbers_need_a_new_version(change: dict[str, object]) -> None:
    with pytest.raises(RefusedError, match="still 4: nothing was written"):
        rewritten(PINS, measured(**change), 4)
    results, found = rewritten(PINS, measured(**change), 5)
    assert len(found) == 1
    assert results["single, wave"]["2000"] == ROW | change


def test_a_number_that_is_none_has_moved() -> None:
    assert len(moved(PINS, measured(torque=float("nan")))) == 1


@pytest.mark.parametrize("version", [3, 5])
def test_a_new_version_needs_moved_numbers(version: int) -> None:
    with pytest.raises(RefusedError, match="back to 4"):
        rewritten(PINS, measured(torque=100.05), version)


def test_engines_and_numbers_may_be_added_under_the_same_version() -> None:
    more = measured(egt=900.0) | {"four, wave": {"3000": Measured(ROW)}}
    results, found = rewritten(PINS, more, 4)
    assert found == []
    assert results["four, wave"]["3000"] == ROW
    assert results["single, wave"]["2000"]["egt"] == 900.0


def test_an_added_engine_is_no_reason_for_a_new_version() -> None:
    with pytest.raises(RefusedError, match="first pin that one under version 4"):
        rewritten(PINS, measured() | {"four, wave": {"3000": Measured(ROW)}}, 5)


def test_the_first_pins_are_of_any_version() -> None:
    assert rewritten(Pins(0), measured(), 4)[1] == []


def test_pins_are_read_as_written(tmp_path: Path) -> None:
    path = tmp_path / "pins.json"
    assert read(path) == Pins(0)
    write(PINS, path)
    assert read(path) == PINS
    assert len(path.read_text("utf-8").splitlines()) > 10
