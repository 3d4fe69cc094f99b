"""Do the shipped cases give what they gave, and do the commands' files and codes stay?"""

from __future__ import annotations

from pathlib import Path

import pytest
from _pytest.mark import ParameterSet

from enginesim.base.provenance import PHYSICS_VERSION
from tests.regression.engines import CASES, PARTS, SPEEDS, Pinned, pinned
from tests.regression.formats import exit_codes, keys
from tests.regression.measured import measure, moves
from tests.regression.pins import Pins, read

ENGINES = pinned()
REMEDY = "python -m tests.regression --look shows what has moved; DEVELOPERS.md says what to do"


@pytest.fixture(scope="module")
def pins() -> Pins:
    return read()


def _marked(engine: Pinned) -> ParameterSet:
    """Cases as they are shipped, and at light load, run with other instruction sets too."""
    is_plain = engine.is_light or not engine.changes
    return pytest.param(engine, marks=[pytest.mark.rounding] if is_plain else [], id=engine.name)


@pytest.mark.slow
@pytest.mark.parametrize("engine", [_marked(engine) for engine in ENGINES.values()])
def test_numbers_have_not_moved(engine: Pinned, pins: Pins) -> None:
    old = pins.results[engine.name]
    new = measure(engine)
    assert old.keys() == new.keys()
    assert {rpm: found for rpm in old if (found := moves(old[rpm], new[rpm]))} == {}, REMEDY


def test_pins_are_of_this_physics(pins: Pins) -> None:
    assert pins.physics == PHYSICS_VERSION, REMEDY


def test_everything_is_pinned(pins: Pins) -> None:
    assert pins.results.keys() == ENGINES.keys(), REMEDY
    assert SPEEDS.keys() == {path.stem for path in CASES.glob("*.toml")}
    parts = {part.partition("=parts/")[2] for some in PARTS.values() for part in some}
    assert parts == {path.name for path in (CASES / "parts").glob("*.toml")}


def test_books_are_closed_and_full_load_is_periodic(pins: Pins) -> None:
    """The pins themselves: nothing that is wrong is kept as it is."""
    for name, rows in pins.results.items():
        assert all(row["books"] for row in rows.values()), name
        if not ENGINES[name].is_light:
            assert {row["ends"] for row in rows.values()} == {"periodic"}, name


@pytest.mark.slow
def test_keys_of_the_files_that_commands_write(pins: Pins, tmp_path: Path) -> None:
    assert keys(tmp_path) == pins.keys, REMEDY


@pytest.mark.slow
def test_exit_codes(pins: Pins, tmp_path: Path) -> None:
    assert exit_codes(tmp_path) == pins.codes, REMEDY
