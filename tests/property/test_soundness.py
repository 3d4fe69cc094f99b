"""Does `check` say whatever makes `run` refuse, and does a default ever refuse a given value?"""

from __future__ import annotations

import random
from functools import lru_cache
from typing import Any

import pytest

from enginesim.base.errors import CaseError, Problem
from enginesim.base.units import SI_UNITS
from enginesim.case import Case, assemble
from enginesim.case.facts import walk
from enginesim.network.engine import prepare
from enginesim.network.exhaust import add_exhaust
from enginesim.network.filling import without_ducts
from enginesim.network.flow_area import sheet_areas
from enginesim.network.intake import add_intake
from enginesim.network.mesh import cut
from enginesim.network.pieces import Plan
from tests.population.engines import drawn

FIELDS = {path: spot for path, spot in walk(Case) if spot.part is None}
#: How far a number is moved from a sound engine's, at most: another sound engine or none.
MOVED = 1.35
#: Fields of which nothing is known without the others: they are given or left out together.
TOGETHER = (
    *(
        tuple(
            f"head.{side}.sheet.{key}"
            for key in (
                "lift",
                "flow",
                "depression",
                "bench_pressure",
                "bench_temperature",
                "entry",
            )
        )
        for side in ("intake", "exhaust")
    ),
    ("mixture.rpm", "mixture.lambda"),
    ("spark.rpm", "spark.advance", "spark.mode"),
    ("exhaust.muffler", "exhaust.muffler_back_pressure", "exhaust.muffler_volume"),
)
#: Without these there is no engine: something must be said of each.
NEEDED = (
    "head.intake.sheet.flow",
    "block.bore", "block.stroke", "block.n_cylinders", "block.compression_ratio",
    "block.arrangement", "block.firing_order", "cam.lobe_separation", "cam.intake.durations",
    "cam.exhaust.durations", "cam.intake.valve_lift", "cam.exhaust.valve_lift", "intake.layout",
    "throttle.kind", "throttle.diameter", "throttle.flow", "throttle.drop", "exhaust.layout",
    "exhaust.primary_diameter",
)  # fmt: skip


def written(path: str, value: Any) -> Any:
    """A value of a case as a file would give it; None where it has none."""
    spot = FIELDS[path]
    name = SI_UNITS.get(spot.facts.dimension, "")
    if value is None or value == "" or value == ():
        return None
    if spot.kind == "value":
        return f"{value!r} {name}".strip()
    if spot.kind == "values":
        return f"{' '.join(map(repr, value))} {name}".strip()
    if spot.kind == "pairs":
        at = SI_UNITS.get(spot.facts.at_dimension, "")
        pairs = [p[::-1] if spot.facts.at_first else p for p in value]
        return ", ".join(f"{x!r} {name} @ {y!r} {at}".strip() for x, y in pairs)
    if spot.kind == "integers":
        return " ".join(map(str, value))
    if spot.kind == "groups":
        return " / ".join(" ".join(map(str, group)) for group in value)
    return value


@lru_cache(maxsize=64)
def complete(index: int) -> dict[str, Any]:
    """An engine of the population with every field given."""
    case = drawn(11, index).case
    entries: dict[str, Any] = {}
    for path in FIELDS:
        value: Any = case
        for key in path.split("."):
            value = getattr(value, key if key != "lambda" else "lambda_", None)
        text = written(path, value)
        if text is not None and not path.startswith(("cam.events", "name", "notes", "mixture.afr")):
            entries[path] = text
    for both in ("cam.advance", "head.intake.peak_flow", "head.exhaust.peak_flow",
                 "cam.intake.lobe_lift", "cam.exhaust.lobe_lift"):  # fmt: skip
        entries.pop(both, None)
    return entries


def moved(entries: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """The same with some single numbers moved."""
    found = dict(entries)
    for path, text in entries.items():
        if FIELDS[path].kind == "value" and chance.random() < 0.05:
            number, _, name = str(text).partition(" ")
            found[path] = f"{float(number) * chance.uniform(1 / MOVED, MOVED)!r} {name}".strip()
    return found


def sound(entries: dict[str, Any]) -> Case | tuple[Problem, ...]:
    """The case, or what is said against it."""
    try:
        return assemble(entries)
    except CaseError as error:
        return error.problems


def left_out(entries: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """Some of the fields left out."""
    share = chance.choice((0.1, 0.4, 0.8))
    gone = {path for path in entries if chance.random() < share and path not in NEEDED}
    for group in TOGETHER:
        if gone & set(group):
            gone = gone - set(group) if set(group) & set(NEEDED) else gone | set(group)
    return {path: text for path, text in entries.items() if path not in gone}


def built(case: Case) -> None:
    """All of a network that does not depend on speed, gas and lobes."""
    plan = Plan(n_cylinders=case.block.n_cylinders)
    add_intake(case, plan, 0.07)
    add_exhaust(case, plan)
    for duct in plan.ducts:
        cut(duct)
    without_ducts(plan)
    for side in ("intake", "exhaust"):
        sheet_areas(getattr(case.head, side), side)


def check_engine(seed: int) -> None:
    """
    An engine with every field given, some of them moved: if that is sound, then so is each that
    has fewer fields given, and what is sound is built.
    """
    chance = random.Random(seed)
    entries = moved(complete(seed % 20), chance)
    case = sound(entries)
    if not isinstance(case, Case):
        return
    built(case)
    for _ in range(3):
        fewer = left_out(entries, chance)
        found = sound(fewer)
        assert isinstance(found, Case), (sorted(set(entries) - set(fewer)), list(map(str, found)))
        built(found)


@pytest.mark.parametrize("seed", range(30))
def test_a_default_never_refuses_and_what_is_sound_is_built(seed: int) -> None:
    check_engine(seed)


@pytest.mark.slow
@pytest.mark.parametrize("part", range(4))
def test_many_engines(part: int) -> None:
    for seed in range(100 + 100 * part, 200 + 100 * part):
        check_engine(seed)


def test_the_engines_are_no_empty_promise() -> None:
    """Of the engines above at least a third must be sound, and defaults must have given way."""
    cases = [sound(moved(complete(seed % 20), random.Random(seed))) for seed in range(30)]
    assert sum(isinstance(case, Case) for case in cases) >= 10
    given_way = set()
    for seed in range(30):
        chance = random.Random(seed)
        found = sound(left_out(moved(complete(seed % 20), chance), chance))
        if isinstance(found, Case):
            given_way |= {item.path for item in found.assumed if "gives way" in item.source}
    assert given_way


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(3))
def test_the_whole_network_is_built(seed: int) -> None:
    """With lobes, which take a second."""
    found = sound(left_out(complete(seed), random.Random(seed)))
    assert isinstance(found, Case)
    prepare(found)
