"""Whatever the engine: the same case comes back, and wrong input is refused in words."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enginesim.base.errors import CaseError
from enginesim.base.readings import read
from enginesim.base.units import _UNITS, UnitError, from_si, to_si, unit
from enginesim.case import assemble, derive, loads, write
from enginesim.case.facts import walk
from enginesim.case.tree import Case
from tests.strategies import plausible_cases

PATHS = [path for path, spot in walk(Case) if spot.part is None]


@given(plausible_cases())
@settings(max_examples=60)
def test_case_to_text_to_case_is_the_identity(entries: dict[str, Any]) -> None:
    case = assemble(entries)
    again = loads(write(case))
    assert again == case
    assert again.digest == case.digest
    assert write(again) == write(case)


@given(plausible_cases())
@settings(max_examples=60)
def test_a_plausible_engine_is_complete_and_finite(entries: dict[str, Any]) -> None:
    case = assemble(entries)
    block = case.block
    assert sorted(block.firing_order) == list(range(1, block.n_cylinders + 1))
    assert math.fsum(block.firing_intervals) == pytest.approx(4 * math.pi)
    assert len(case.intake.runner_lengths) == block.n_cylinders
    assert len(case.exhaust.primary_lengths) == block.n_cylinders
    for port in (case.head.intake, case.head.exhaust):
        assert len(port.sheet.lift) == len(port.sheet.flow) >= 2
        assert list(port.sheet.lift) == sorted(port.sheet.lift)
    derived = derive(case)
    assert 0 < derived.trapped_ratio < block.compression_ratio
    for areas in (derived.intake, derived.exhaust):
        assert 0 < areas.effective < areas.throat < areas.valve


@given(plausible_cases())
@settings(max_examples=30)
def test_uncommented_defaults_make_the_same_engine(entries: dict[str, Any]) -> None:
    # Text of a default has four digits: the engine may differ in the fifth.
    case = assemble(entries)
    lines = []
    for line in write(case).splitlines():
        value = line.removeprefix("# ")
        lines.append(value if value != line and " = " in value.split("#")[0] else line)
    again = loads("\n".join(lines))
    # The depression of an assumed sheet is not written: it is that of the best flow, or usual.
    still = {item.path for item in again.assumed} - set(again.given)
    assert still <= {f"head.{side}.sheet.depression" for side in ("intake", "exhaust")}
    assert derive(again).displacement == derive(case).displacement
    assert again.cam.intake.lobe_lift == pytest.approx(case.cam.intake.lobe_lift, rel=1e-3)
    assert again.head.intake.port_area_min == pytest.approx(
        case.head.intake.port_area_min, rel=1e-3
    )


_SCRAPS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(["4 in", "0 in", "-1 mm", "1 2 3 in", "90 deg @ 3 in", "5 @ 0.1 in", "1e300 m",
                     "x = 3", "1-2-3", "1 2 / 3 4", "true", "@", "+-", "4 in +- 0", "1e-300 in",
                     "28 inH2O", "77 degF", "500 cfm @ 1 inHg", "0.5", "none", "[1]"]),
    st.integers(-(10**20), 10**20),
    st.floats(),
    st.booleans(),
    st.lists(st.one_of(st.integers(-3, 20), st.text(max_size=4)), max_size=5),
    st.lists(st.lists(st.integers(0, 9), max_size=4), max_size=3),
    st.none(),
)  # fmt: skip


@given(plausible_cases(), st.lists(st.tuples(st.sampled_from(PATHS), _SCRAPS), max_size=4))
@settings(max_examples=150)
def test_any_value_anywhere_is_taken_or_refused_in_words(
    entries: dict[str, Any], changes: list[tuple[str, Any]]
) -> None:
    try:
        case = assemble({**entries, **dict(changes)})
    except CaseError as error:
        problems = error.problems
    else:
        derive(case)
        assert loads(write(case)) == case
        return
    assert problems
    assert all(problem.place and problem.found and problem.path for problem in problems)


@given(st.text(max_size=60))
@settings(max_examples=200)
def test_any_text_is_refused_in_words(text: str) -> None:
    with pytest.raises(CaseError):
        loads(text)


@given(st.floats(-1e9, 1e9), st.sampled_from(sorted(_UNITS)))
def test_there_and_back(value: float, name: str) -> None:
    assert from_si(to_si(value, name), name) == pytest.approx(value, rel=1e-12, abs=1e-9)


@given(st.lists(st.floats(allow_nan=False, allow_infinity=False), min_size=1, max_size=5))
def test_numbers_are_read_exactly(numbers: list[float]) -> None:
    text = " ".join(repr(number) for number in numbers) + " in"
    assert read(text).numbers == tuple(numbers)


@given(st.text(max_size=30))
def test_any_text_is_a_unit_or_an_error(text: str) -> None:
    try:
        factor = unit(text).factor
    except UnitError as error:
        factor = float(bool(str(error)))
    assert math.isfinite(factor)
    assert factor != 0
