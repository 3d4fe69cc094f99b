"""Is only run what the store does not have, each point once, and kept as it comes?"""

from __future__ import annotations

import threading
import time
from pathlib import Path
from typing import Any

import pytest

from enginesim.base.errors import CycleError, NetworkError, StoreError
from enginesim.case import Case, amend
from enginesim.cycle import curves
from enginesim.cycle.simulation import CancelledError
from enginesim.network import engine
from enginesim.performance import Performance
from enginesim.study import store_claims
from enginesim.study.obtain import obtain
from enginesim.study.store import Store
from enginesim.study.store_claims import Claims
from enginesim.study.store_rows import Failure
from tests.records import case, record
from tests.unit.study.results import result

OTHER = amend(case(), {"cam.lobe_separation": "112"})
RENAMED = amend(case(), {"name": "The same engine"})


class Simulation:
    """Stands in for the simulation of one speed."""

    def __init__(self) -> None:
        self.runs: list[tuple[str, float]] = []
        self.error: dict[float, Exception] = {}
        self.prepared: list[str] = []

    def simulate(self, engine: Case, rpm: float, **options: Any) -> Any:
        self.runs.append((engine.digest, rpm))
        if options["cancel"].is_set():
            raise CancelledError("stopped")
        if rpm in self.error:
            raise self.error[rpm]
        return record(rpm)

    def prepare(self, engine: Case) -> Any:
        self.prepared.append(engine.digest)
        return object()


@pytest.fixture
def simulation(monkeypatch: pytest.MonkeyPatch) -> Simulation:
    made = Simulation()
    monkeypatch.setattr(curves, "simulate", made.simulate)
    monkeypatch.setattr(engine, "prepare", made.prepare)
    return made


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "results.sqlite"


def test_what_is_missing_is_run_and_kept(simulation: Simulation, path: Path) -> None:
    told: list[tuple[int, float]] = []
    with Store.open(path) as store:
        store.put(case(), result(3000.0, torque=1.0))
        one, other = obtain(
            [case(), OTHER], [4000, 3000], store=store, on_done=lambda i, p: told.append((i, p.rpm))
        )
        assert list(one.points) == list(other.points) == [3000.0, 4000.0]
        assert one.points[3000.0].torque == 1.0
        assert one.stored == {3000.0}
        assert other.stored == set()
        assert sorted(told) == [(0, 4000.0), (1, 3000.0), (1, 4000.0)]
        assert list(one.curve["rpm"]) == [3000.0, 4000.0]
        assert set(store.get_many(OTHER)) == {3000.0, 4000.0}
        n = len(simulation.runs)
        again = obtain([case(), OTHER], [3000, 4000], store=store)
    assert len(simulation.runs) == n == 3
    assert again[0].points == one.points
    assert sorted(simulation.prepared) == sorted([case().digest, OTHER.digest])


def test_the_same_engine_twice_is_run_once(simulation: Simulation, path: Path) -> None:
    told: list[int] = []
    found = obtain([case(), RENAMED], [3000.0], store=None, on_done=lambda i, _: told.append(i))
    assert len(simulation.runs) == 1
    assert told == [0, 1]
    assert found[0].points == found[1].points


def test_failures_are_kept_with_their_reason(simulation: Simulation, path: Path) -> None:
    simulation.error = {3000.0: CycleError("no gas"), 4000.0: NetworkError("no duct")}
    told: list[Failure] = []
    with Store.open(path) as store:
        for _ in range(2):
            (found,) = obtain(
                [case()], [2000, 3000, 4000], store=store, on_failed=lambda _, f: told.append(f)
            )
            assert list(found.points) == [2000.0]
            assert found.failed[3000.0] == Failure(3000.0, "broke down", "no gas")
            assert found.failed[4000.0] == Failure(4000.0, "cannot be built", "no duct")
    assert len(simulation.runs) == 3
    assert len(told) == 2


def test_what_ran_out_of_time_in_a_study_is_run_again(simulation: Simulation, path: Path) -> None:
    with Store.open(path) as store:
        store.put(case(), Failure(3000.0, "time limit", "", 5.0))
        (found,) = obtain([case()], [3000], store=store)
    assert isinstance(found.points[3000.0], Performance)


def test_cycles_are_kept_when_wanted(simulation: Simulation, path: Path) -> None:
    with Store.open(path) as store:
        (found,) = obtain([case()], [3000], store=store)
        assert found.records == {}
        for runs in (2, 2):  # the result was known, the cycle was not; then it is
            (found,) = obtain([case()], [3000], store=store, keep_records=True)
            assert found.records[3000.0].rpm == 3000.0
            assert len(simulation.runs) == runs


def test_cancelled_keeps_what_is_finished(simulation: Simulation, path: Path) -> None:
    cancel = threading.Event()
    with Store.open(path) as store:
        (found,) = obtain(
            [case()], range(1000, 9000, 500), store=store, jobs=1, cancel=cancel,
            on_done=lambda *_: cancel.set(),
        )  # fmt: skip
        assert 1 <= len(found.points) < 16
        assert list(store.get_many(case())) == list(found.points)


def test_a_store_that_fails_stops_it(
    simulation: Simulation, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise StoreError("no room left")

    with Store.open(path) as store:
        monkeypatch.setattr(store, "put", full)
        with pytest.raises(StoreError, match="no room left"):
            obtain([case()], range(1000, 9000, 100), store=store, jobs=1)
    assert len(simulation.runs) < 80


def test_a_fault_of_the_program_is_not_a_result(simulation: Simulation, path: Path) -> None:
    simulation.error = {3000.0: TypeError("a fault")}
    with Store.open(path) as store:
        with pytest.raises(TypeError, match="a fault"):
            obtain([case()], [3000], store=store)
        assert store.get_many(case()) == {}


def test_points_that_another_works_on_are_waited_for(simulation: Simulation, path: Path) -> None:
    """It claims two speeds, finishes one after a while, and gives the other back."""
    claimed, other_is_done = threading.Event(), threading.Event()

    def work() -> None:
        with Store.open(path) as store:
            claims = Claims(store)
            assert claims.take([(case(), 3000.0), (case(), 4000.0)]) == [True, True]
            claimed.set()
            time.sleep(0.5)
            store.put(case(), result(3000.0, torque=1.0))
            claims.drop()
        other_is_done.set()

    thread = threading.Thread(target=work)
    thread.start()
    claimed.wait()
    told: list[float] = []
    with Store.open(path) as store:
        (found,) = obtain(
            [case()], [2000, 3000, 4000], store=store, on_done=lambda _, p: told.append(p.rpm)
        )
    thread.join()
    assert other_is_done.is_set()
    assert found.points[3000.0].torque == 1.0
    assert found.stored == {3000.0}
    assert sorted(told) == [2000.0, 3000.0, 4000.0]
    assert sorted(rpm for _, rpm in simulation.runs) == [2000.0, 4000.0]


def test_a_claim_that_nobody_renews_is_void(
    simulation: Simulation, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store.open(path) as store:
        monkeypatch.setattr(store_claims, "LEASE", 0.5)
        assert Claims(store).take([(case(), 3000.0)]) == [True]
        (found,) = obtain([case()], [3000], store=store)
        assert list(found.points) == [3000.0]
        assert found.stored == set()
        with store.reading() as connection:
            assert connection.execute("SELECT count(*) FROM claims").fetchone() == (0,)


def test_claims_end_with_the_call_however_it_ends(simulation: Simulation, path: Path) -> None:
    simulation.error = {3000.0: TypeError("a fault")}
    with Store.open(path) as store:
        with pytest.raises(TypeError):
            obtain([case()], [3000, 4000], store=store, jobs=2)
        with store.reading() as connection:
            assert connection.execute("SELECT count(*) FROM claims").fetchone() == (0,)


def test_nothing_is_claimed_where_nothing_can_be_kept(simulation: Simulation, path: Path) -> None:
    with Store.open(path) as store:
        assert Claims(store).take([(case(), 3000.0)]) == [True]
        store.is_writable = False
        (found,) = obtain([case()], [3000], store=store)
    assert list(found.points) == [3000.0]


def test_stopped_while_another_works(simulation: Simulation, path: Path) -> None:
    cancel = threading.Event()
    threading.Timer(0.5, cancel.set).start()
    with Store.open(path) as store:
        assert Claims(store).take([(case(), 3000.0)]) == [True]
        (found,) = obtain([case()], [3000], store=store, cancel=cancel)
    assert (found.points, found.failed, simulation.runs) == ({}, {}, [])
