"""The facts of every field: complete, readable by our own reader, and with rules that fit."""

from __future__ import annotations

import re

import pytest

from enginesim.base.readings import read
from enginesim.base.units import DIMENSIONS, unit
from enginesim.case.defaults import COMPLETIONS, RULES
from enginesim.case.facts import Field, walk
from enginesim.case.quantities import bounds
from enginesim.case.tree import Case
from enginesim.case.values import convert, wanted

FIELDS = [(path, spot) for path, spot in walk(Case) if spot.part is None]
IDS = [path for path, _ in FIELDS]


def test_paths_are_unique() -> None:
    assert len(set(IDS)) == len(IDS) > 150


@pytest.mark.parametrize("path, spot", FIELDS, ids=IDS)
def test_facts(path: str, spot: Field) -> None:
    facts = spot.facts
    assert facts.help
    assert not facts.help.endswith(".")
    assert facts.dimension in DIMENSIONS
    for shown in (facts.us, facts.si):
        if shown:
            assert unit(shown).exponents == DIMENSIONS[facts.dimension]
    low, high = bounds(facts)
    assert low < high
    if spot.kind in ("value", "values", "pairs", "integer"):
        assert (facts.low, facts.high) != (None, None)
    assert wanted(spot)


@pytest.mark.parametrize("path, spot", FIELDS, ids=IDS)
def test_a_default_has_a_source_and_can_be_read(path: str, spot: Field) -> None:
    facts = spot.facts
    if facts.default is not None:
        assert facts.source
        convert(spot, facts.default)
    if facts.band:
        assert read(facts.band).numbers[0] > 0
        dimension = unit(read(facts.band).unit_text).exponents
        assert dimension in (DIMENSIONS["ratio"], DIMENSIONS[facts.dimension])


def test_every_rule_belongs_to_a_field_and_every_derived_default_to_a_rule() -> None:
    assert set(RULES) <= set(IDS)
    assert set(COMPLETIONS) <= set(IDS)
    derived = {path for path, spot in FIELDS if spot.facts.derived}
    always_given = {"head.intake.peak_flow", "head.exhaust.peak_flow", "throttle.flow"}
    assert derived - set(RULES) - always_given == set()


def test_a_static_default_has_no_rule_besides() -> None:
    both = {path for path, spot in FIELDS if spot.facts.default is not None} & set(RULES)
    # the exhaust follows the intake, and events have a height only where there are events
    assert both <= {"head.exhaust.n_valves", "cam.events.height"}


def test_after_at_there_is_a_sibling() -> None:
    known = dict(FIELDS)
    for path, spot in FIELDS:
        if spot.facts.at:
            assert f"{path.rpartition('.')[0]}.{spot.facts.at}" in known


def test_names_are_those_of_the_glossary() -> None:
    for path in IDS:
        assert re.fullmatch(r"[a-z][a-z0-9_]*(\.[a-z][a-z0-9_]*)*", path)
