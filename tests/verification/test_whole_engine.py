"""Do the books of a whole engine close, and does its torque not depend on mesh and step?"""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from enginesim.cycle import marching, simulation
from enginesim.cycle.curves import tables_of
from enginesim.kernels import layout as at
from tests.engines import FIXED_SPARK, SHAPES, engine, run, shape

#: Rounding of some thousand steps and some hundred cells; what is asked of the books.
BOOKS = 1e-12
IMBALANCE = 1e-4


def numbers(result: object) -> list[tuple[str, np.ndarray]]:
    """All floats of a record, with their names."""
    found = [(f.name, getattr(result, f.name)) for f in fields(result)]  # type: ignore[arg-type]
    return [
        (name, np.asarray(value, dtype=float))
        for name, value in found
        if isinstance(value, float | np.ndarray)
    ]


@pytest.mark.slow
@pytest.mark.parametrize("rpm", [1500.0, 5500.0])
@pytest.mark.parametrize("name", SHAPES)
def test_books_close(name: str, rpm: float) -> None:
    record, result = run(shape(name), rpm)
    assert record.converged, record.status
    assert record.status.startswith("periodic after")
    assert abs(record.mass_error) <= BOOKS
    assert abs(record.energy_error) <= BOOKS
    assert record.imbalance <= IMBALANCE
    assert all(np.isfinite(values).all() for _, values in numbers(record))
    # The record's samples, a degree apart, hold the work that the steps summed: trapezoids.
    assert abs(result.work_error) < 2e-3
    # What was drawn from the open air is what went through the valves: the cycle is periodic.
    assert record.air_ambient == pytest.approx(record.air_in.sum(), rel=10 * IMBALANCE)
    assert record.fuel_ambient == pytest.approx(record.fuel_in.sum(), rel=10 * IMBALANCE)
    assert record.air_ambient + record.fuel_ambient == pytest.approx(
        record.exhaust_mass + record.blow_by, rel=10 * IMBALANCE
    )


@pytest.mark.slow
@pytest.mark.parametrize("place", ["plenum", "duct", "cylinder"])
def test_books_notice_what_was_added(place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A billionth of the charge, slipped in half-way, is found again: the audit can fail."""
    case = engine("minimal", *FIXED_SPARK)
    state_of = simulation.begin(case, tables_of(case, 3000.0), 3000.0)
    simulation.run_cycle(state_of)
    added = 1e-9 * state_of.books.air  # type: ignore[union-attr]
    network, state = state_of.engine.network, state_of.engine.state
    shipped, calls = marching.march, []

    def march(*arguments: object) -> tuple[int, int, int]:
        calls.append(None)
        if len(calls) == 4:
            if place == "plenum":
                state.res[1, at.V_MASS] += added
            elif place == "cylinder":
                state.cyl[0, 0] += added
            else:
                group, first, _ = network.ducts[0]
                rows = state.x.reshape(-1, at.N_ROWS, at.STRIDE)[group]
                rows[at.R_RHO, first] += added * rows[at.R_INVERSE_VOLUME, first]
        return shipped(*arguments)

    monkeypatch.setattr(marching, "march", march)
    simulation.run_cycle(state_of)
    assert state_of.books.mass_gap == pytest.approx(added, rel=1e-3)  # type: ignore[union-attr]
