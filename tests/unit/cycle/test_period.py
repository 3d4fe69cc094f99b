"""Cycles begin on a rough mesh; the result belongs to the proper one."""

from __future__ import annotations

import threading

import pytest

from enginesim.base.errors import CycleError
from enginesim.cycle import period, simulation
from enginesim.cycle.curves import tables_of
from enginesim.cycle.simulation import CancelledError
from tests.engines import FIXED_SPARK, engine

RPM = 4000.0


def begun(*changes: str) -> simulation.Run:
    case = engine("minimal", *FIXED_SPARK, *changes)
    return simulation.begin(case, tables_of(case, RPM), RPM)


def test_the_rough_mesh_leaves_no_trace_in_the_result(monkeypatch: pytest.MonkeyPatch) -> None:
    """Both runs stop within 0.01 bar of the periodic cycle, here 0.1 % of its pressure."""
    run, plain = begun(), begun()
    assert period.run_to_period(run).kind == "periodic"
    monkeypatch.setattr(period, "_start_roughly", lambda *_: None)
    assert period.run_to_period(plain).kind == "periodic"
    assert plain.n_rough == 0
    assert 2 <= run.n_rough < len(run.history)
    assert run.history[-1][0] == pytest.approx(plain.history[-1][0], rel=1e-3)
    assert len(run.history) - run.n_rough < len(plain.history)


def test_at_least_the_least_number_of_cycles_is_on_the_proper_mesh() -> None:
    run = begun("numerics.min_cycles=5")
    assert period.run_to_period(run).kind == "periodic"
    assert len(run.history) - run.n_rough >= 5


def test_the_cycles_allowed_hold_for_both_meshes_together() -> None:
    run = begun("numerics.max_cycles=3", "numerics.min_cycles=2")
    assert period.run_to_period(run).kind == "not periodic"
    assert (run.n_rough, len(run.history)) == (1, 3)


def test_a_step_that_fails_on_the_rough_mesh_costs_only_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    shipped = simulation.run_cycle
    run = begun()
    untried = begun()

    def failing(this: simulation.Run, cancel: simulation.Cancel | None = None) -> None:
        if this is not run and len(this.history) == 1:
            msg = "no valid gas state"
            raise CycleError(msg)
        shipped(this, cancel)

    monkeypatch.setattr(period, "run_cycle", failing)
    assert period.run_to_period(run).kind == "periodic"
    assert run.n_rough == 0
    monkeypatch.undo()
    simulation.run_cycle(untried)
    assert run.history[0] == untried.history[0]


def test_a_run_is_stopped_on_the_rough_mesh_too() -> None:
    stop = threading.Event()
    stop.set()
    with pytest.raises(CancelledError):
        period.run_to_period(begun(), stop)
