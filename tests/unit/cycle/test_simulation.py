"""How does a run end: periodic, not periodic in time, broken down, stopped, saved by a retry?"""

from __future__ import annotations

import math
import threading

import numpy as np
import pytest

from enginesim.base.errors import CycleError
from enginesim.cycle import marching, simulation
from enginesim.cycle.curves import curve, simulate, tables_of
from enginesim.cycle.marching import march_to
from enginesim.kernels import layout as at
from enginesim.kernels import rollback
from enginesim.kernels.status import OK
from enginesim.network.state import fill_cells
from tests.engines import FIXED_SPARK, engine


def begun(*changes: str, name: str = "minimal", rpm: float = 4000.0) -> simulation.Run:
    case = engine(name, *FIXED_SPARK, *changes)
    return simulation.begin(case, tables_of(case, rpm), rpm)


def test_periodic() -> None:
    record = simulate(engine("minimal"), 4000.0)
    assert record.converged
    assert record.status == f"periodic after {record.cycles} cycles"
    assert record.cycles == len(record.convergence) >= 3
    (before, _), (last, imbalance) = record.convergence[-2:]
    assert abs(last - before) < 1e3
    assert imbalance == record.imbalance < 1e-4
    assert record.rejected == 0


def test_too_few_cycles_is_a_status_not_a_number() -> None:
    record = simulate(engine("minimal", "numerics.max_cycles=2", "numerics.min_cycles=2"), 4000.0)
    assert not record.converged
    assert record.cycles == 2
    assert record.status.startswith("not periodic after 2 cycles: ")
    assert "mean effective pressure" in record.status
    assert "allowed" in record.status


def test_step_too_long_is_taken_back_and_halved() -> None:
    """Far beyond the Courant number of the scheme's limit no step survives."""
    run, calm = begun(), begun()
    run.settings[at.S_CFL] = 2.5
    simulation.run_cycle(run)
    simulation.run_cycle(calm)
    assert run.engine.state.clock[at.T_REJECTED] > 0.0
    assert calm.engine.state.clock[at.T_REJECTED] == 0.0
    assert run.books is not None
    # What was taken back is nowhere in the books.
    assert abs(run.books.mass_gap / run.books.air) < 1e-12
    assert abs(run.books.energy_gap / run.books.fuel_heat) < 1e-12
    assert run.history[0][0] == pytest.approx(calm.history[0][0], rel=0.05)


def marched(run: simulation.Run, degrees: float) -> int:
    """March to an engine angle; answer: status."""
    status, _, _ = march_to(run, math.radians(degrees))
    return status


def test_retry_ends_where_short_steps_end() -> None:
    """Steps taken back leave no trace: the segment ends as if it had begun with the short step."""
    run = begun()
    state = run.engine.state
    run.settings[at.S_CFL] = 2.5
    network = run.engine.network
    names = ("x", "end", "res", "link", "cyl", "exchange", "clock")
    for segment in range(1, 73):
        before = {name: getattr(state, name).copy() for name in names}
        assert marched(run, 10.0 * segment) == OK
        if state.clock[at.T_REJECTED] > 0.0:
            break
    else:
        pytest.fail("no step was taken back")
    # A state that comes back takes Newton's next step for the temperature, which is not small in
    # the front of a blow-down: both ways begin with those steps taken.
    for name in names:
        getattr(state, name)[...] = before[name]
    for _ in range(3):
        rollback.keep(state.saved, state.x, len(network.groups), state.tables)
        rollback.bring_back(state.saved, state.x, network.groups, network.gas, state.tables)
    before = {name: getattr(state, name).copy() for name in names}
    assert marched(run, 10.0 * segment) == OK
    assert state.clock[at.T_REJECTED] > 0.0
    retried = state.x.copy()
    for _ in range(8):
        for name in names:
            getattr(state, name)[...] = before[name]
        run.settings[[at.S_CFL, at.S_MAX_STEP]] *= 0.5
        assert marched(run, 10.0 * segment) == OK
        if state.clock[at.T_REJECTED] == 0.0:
            break
    rows, other = (x.reshape(-1, at.N_ROWS, at.STRIDE) for x in (state.x, retried))
    for group, first, n in network.ducts:
        for row in (at.R_RHO, at.R_ENE):
            cells = (group, row, slice(first, first + n))
            # What is left of the third of those steps.
            assert other[cells] == pytest.approx(rows[cells], rel=1e-6)


def test_what_no_step_saves_names_the_place() -> None:
    run = begun()
    network, state = run.engine.network, run.engine.state
    d = 3
    n = int(network.ducts[d, at.D_COUNT])
    fill_cells(
        network, state, d,
        p=np.full(n, 1e5), t=np.full(n, 300.0), u=np.zeros(n), y_b=np.zeros(n),
    )  # fmt: skip
    group, first, _ = network.ducts[d]
    state.x.reshape(-1, at.N_ROWS, at.STRIDE)[group, at.R_ENE, first + 2] = np.nan
    with pytest.raises(CycleError) as caught:
        simulation.run_cycle(run)
    message = str(caught.value)
    assert message.startswith(network.plan.ducts[d].name)
    assert "mm from its start" in message
    assert "cycle 1" in message
    assert "4000 rpm" in message


def test_empty_volume_names_the_volume() -> None:
    run = begun()
    state = run.engine.state
    state.res[1, at.V_ENERGY] = np.nan
    with pytest.raises(CycleError, match="plenum"):
        simulation.run_cycle(run)


def test_a_failed_speed_does_not_take_the_others_with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    shipped = marching.march

    def march(*arguments: object) -> tuple[int, int, int]:
        if arguments[15][at.S_OMEGA] > 350.0:  # type: ignore[index]
            return 2, -1, -1
        return shipped(*arguments)

    monkeypatch.setattr(marching, "march", march)
    failed = []
    records = curve(
        engine("minimal", *FIXED_SPARK),
        (3000.0, 4000.0),
        on_failed=lambda rpm, error: failed.append((rpm, str(error))),
    )
    assert [r.rpm for r in records] == [3000.0]
    assert [rpm for rpm, _ in failed] == [4000.0]
    with pytest.raises(CycleError, match="4000 rpm"):
        curve(engine("minimal", *FIXED_SPARK), (4000.0,))


def test_stop_is_at_once() -> None:
    stop = threading.Event()
    cycles = []

    def progress(count: int, mep: float) -> None:
        cycles.append(count)
        stop.set()

    with pytest.raises(simulation.CancelledError, match="stopped in cycle 2"):
        simulate(engine("minimal"), 4000.0, cancel=stop, progress=progress)
    assert cycles == [1]
    assert curve(engine("minimal"), (3000.0, 4000.0), cancel=stop) == ()
