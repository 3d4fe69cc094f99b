"""Does a result hang on the last bits of what a run begins with?"""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest

from docs.pictures import lessons as made
from docs.pictures.results import Lesson, lessons
from enginesim.case import Case, amend, load
from enginesim.cycle.curves import simulate, tables_of
from enginesim.network import engine as engine_module
from enginesim.network.assemble import Network
from enginesim.network.state import State, first_state
from enginesim.performance.summary import summarise
from tests.regression.engines import CASES, FIDELITIES, Pinned, pinned

SHIPPED = {name: one for name, one in pinned().items() if one.is_light or not one.changes}
LESSONS = {lesson.name: lesson for lesson in lessons(made.PAGES)}
LESSON_SPEEDS = (2000.0, 4000.0)
PART = 1e-12  # of every pressure at the beginning

pytestmark = [pytest.mark.slow, pytest.mark.rounding]


@pytest.fixture
def perturbed(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    """From here on, runs begin with pressures that are off by a few bits, each by its own."""
    chance = np.random.default_rng(5)

    def off(network: Network) -> State:
        def moved(places: list[Any]) -> list[Any]:
            return [
                dataclasses.replace(place, p=place.p * (1.0 + PART * chance.choice((-1.0, 1.0))))
                for place in places
            ]

        plan = network.plan
        changed = dataclasses.replace(plan, ducts=moved(plan.ducts), volumes=moved(plan.volumes))
        return first_state(dataclasses.replace(network, plan=changed))

    monkeypatch.setattr(engine_module, "first_state", off)
    return monkeypatch


def gaps(case: Case, rpms: tuple[float, ...], perturbed: pytest.MonkeyPatch) -> dict[float, str]:
    """Speeds at which a perturbed run gives something else, and what."""
    allowed = 2.0 * case.numerics.bmep_tolerance
    found = {}
    for rpm in rpms:
        tables = tables_of(case, rpm)
        changed = simulate(case, rpm, tables=tables)
        with perturbed.context() as plain:
            plain.setattr(engine_module, "first_state", first_state)
            record = simulate(case, rpm, tables=tables)
        assert not np.array_equal(changed.pressure, record.pressure)  # the perturbation arrives
        if (record.converged, changed.converged) != (True, True):
            found[rpm] = f"{record.status} / {changed.status}"
            continue
        one, other = (summarise(case, tables, run) for run in (record, changed))
        gap = abs(one.torque - other.torque) * 4.0 * math.pi / one.displacement
        if gap > allowed:
            found[rpm] = f"torque {one.torque:.4f} and {other.torque:.4f} N m"
    return found


@pytest.mark.parametrize("engine", SHIPPED.values(), ids=SHIPPED)
def test_shipped_cases(engine: Pinned, perturbed: pytest.MonkeyPatch) -> None:
    changes = (*engine.changes, f"numerics.fidelity={engine.fidelity}")
    case = load(CASES / f"{engine.case}.toml", changes)
    assert gaps(case, engine.speeds, perturbed) == {}


@pytest.mark.parametrize("lesson", LESSONS.values(), ids=LESSONS)
@pytest.mark.parametrize("fidelity", FIDELITIES)
def test_lessons(lesson: Lesson, fidelity: str, perturbed: pytest.MonkeyPatch) -> None:
    engines = {entrant.letter: entrant.case for entrant in lesson.contest().entry.entrants}
    found = {
        name: gaps(amend(case, {"numerics.fidelity": fidelity}), LESSON_SPEEDS, perturbed)
        for name, case in engines.items()
    }
    assert {name: wrong for name, wrong in found.items() if wrong} == {}
