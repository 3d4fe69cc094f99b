"""Study to TOML to study is the identity; points lie where they may."""

from __future__ import annotations

from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from enginesim.study.candidates import Space
from enginesim.study.definition import Condition, Study, Variable
from enginesim.study.front import hypervolume, non_dominated
from enginesim.study.limits import Aim, Constraint
from enginesim.study.links import Link
from enginesim.study.measures import parse
from enginesim.study.plan import samples
from enginesim.study.reading import loads
from enginesim.study.values import Amount, Span, Steps, Words, rounded
from enginesim.study.writing import write
from tests.unit.study.studies import CASES

#: Field, unit and a range in which every value passes the checks of the smallest case.
NUMBERS = [
    ("cam.lobe_separation", "deg", 100.0, 118.0),
    ("intake.runner_lengths", "mm", 50.0, 400.0),
    ("intake.runner_lengths", "in", 2.0, 16.0),
    ("exhaust.primary_lengths", "in", 6.0, 30.0),
    ("block.compression_ratio", "", 8.5, 11.0),
    ("air.temperature", "degC", 5.0, 45.0),
]
WORDS = [
    ("intake.entry", ("sharp", "radiused", "bell-mouth")),
    ("fuel.name", ("gasoline 91", "e85")),
    ("cylinder_walls.heat_transfer", ("woschni", "annand")),
]
MEASURES = [
    "average torque",
    "highest power",
    "torque at 2500",
    "average torque 2000-3000",
    "overlap",
    "average bsfc 2000*20 3000*80",
    "residual at idle",
    "block.stroke",
]
LIMITS = [
    ("overlap", "deg"),
    ("lowest knock_margin", "deg"),
    ("highest p_max", "bar"),
    ("residual at idle", "%"),
    ("lowest power 2000-3000", "kW"),
]
SPEEDS = (2000.0, 2250.5, 3000.0)
TEXT = st.text(st.characters(blacklist_categories=["Cs", "Cc"]), max_size=20)


def _within(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False).map(rounded)


@st.composite
def variables(draw: st.DrawFn) -> tuple[Variable, ...]:
    found = {}
    for field, unit, low, high in draw(st.lists(st.sampled_from(NUMBERS), max_size=3)):
        if draw(st.booleans()):
            ends = sorted(draw(st.tuples(_within(low, high), _within(low, high))))
            values: Any = Span(*ends, unit) if ends[0] < ends[1] else Steps((ends[0],), unit)
        else:
            numbers = draw(st.lists(_within(low, high), min_size=1, max_size=4, unique=True))
            values = Steps(tuple(numbers), unit)
        found[field] = Variable(field, values)
    for field, words in draw(st.lists(st.sampled_from(WORDS), max_size=2)):
        chosen = draw(st.lists(st.sampled_from(words), min_size=1, unique=True))
        found[field] = Variable(field, Words(tuple(chosen)))
    if not found:
        found["cam.lobe_separation"] = Variable("cam.lobe_separation", Steps((110.0,), "deg"))
    return tuple(draw(st.permutations(list(found.values()))))


@st.composite
def studies(draw: st.DrawFn) -> Study:
    varied = draw(variables())
    scale = Variable("scale", Span(0.9, 1.1))
    links: tuple[Link, ...] = ()
    if draw(st.booleans()):
        varied = (*varied, scale)
        factor = Amount(draw(_within(80.0, 150.0)), "mm")
        offset = Amount(draw(_within(-10.0, 10.0)), "mm")
        links = (
            Link("exhaust.collector_length", "scale", factor, offset)
            if offset.number
            else Link("exhaust.collector_length", "scale", factor),
        )
    measures = st.lists(st.sampled_from(MEASURES), max_size=3, unique=True)
    limits = draw(st.lists(st.sampled_from(LIMITS), max_size=2, unique=True))
    aims = draw(st.lists(st.sampled_from(MEASURES[:5]), max_size=2, unique=True))
    return Study(
        case="single.toml",
        name=draw(TEXT),
        notes=draw(TEXT),
        speeds=SPEEDS,
        variables=varied,
        links=links,
        overrides=draw(st.sampled_from([(), ("numerics.fidelity=filling",)])),
        conditions=(Condition("idle", draw(_within(500, 1500)), ("throttle.opening=0.1",)),),
        constraints=tuple(
            Constraint(parse(text), draw(st.booleans()), Amount(draw(_within(-50, 50)), unit))
            for text, unit in limits
        ),
        aims=tuple(Aim(parse(text), draw(st.booleans())) for text in aims),
        shown=tuple(map(parse, draw(measures))),
        samples=draw(st.integers(0, 1000)),
        points=draw(st.integers(1, 1000)),
        batch=draw(st.integers(1, 50)),
        seed=draw(st.integers(0, 2**32 - 1)),
    )


@settings(max_examples=40)
@given(studies())
def test_study_to_toml_to_study(study: Study) -> None:
    assert loads(write(study), CASES).study == study


@settings(max_examples=25)
@given(variables(), st.integers(0, 2**32 - 1), st.integers(1, 40))
def test_samples_lie_where_they_may(varied: tuple[Variable, ...], seed: int, n: int) -> None:
    study = Study("single.toml", SPEEDS, varied, seed=seed)
    drawn = samples(study, n)
    assert len(set(drawn)) == len(drawn) <= n
    assert drawn == samples(study, 2 * n)[: len(drawn)]  # more samples begin with the same ones
    for point in drawn:
        for variable, value in zip(varied, point, strict=True):
            if isinstance(variable.values, Span):
                assert variable.values.low <= float(value) <= variable.values.high
            else:
                assert value in variable.values.items
    places = Space(varied).places(drawn)
    assert places.min() >= 0.0
    assert places.max() <= 1.0


COSTS = st.lists(st.tuples(st.integers(0, 8), st.integers(0, 8)), min_size=1, max_size=40)


@given(COSTS)
def test_front_against_comparing_every_pair(costs: list[tuple[int, int]]) -> None:
    def is_beaten(one: tuple[int, int]) -> bool:
        return any(o[0] <= one[0] and o[1] <= one[1] and o != one for o in costs)

    expected = {i for i, one in enumerate(costs) if not is_beaten(one)}
    found = non_dominated(np.array(costs, dtype=float))
    assert set(found) == expected
    assert [costs[i] for i in found] == sorted(costs[i] for i in found)


@given(COSTS)
def test_area_of_a_front_by_counting_squares(costs: list[tuple[int, int]]) -> None:
    squares = sum(
        any(one[0] <= x and one[1] <= y for one in costs) for x in range(9) for y in range(9)
    )
    assert hypervolume(np.array(costs, dtype=float), (9.0, 9.0)) == squares
