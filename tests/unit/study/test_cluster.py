"""What does a study say of each way in which a cluster can fail it?

The client is a stand-in: real schedulers and workers are killed in `tests/faults`, but not at a
moment that one can choose.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import CancelledError
from typing import Any

import pytest

from enginesim.base.errors import StudyError
from enginesim.base.provenance import PHYSICS_VERSION
from enginesim.study.cluster import AHEAD, Cluster
from enginesim.study.jobs import Job
from enginesim.study.store_rows import Failure
from tests.records import case
from tests.unit.study.results import result, same

distributed = pytest.importorskip("distributed")


class KilledWorker(Exception):
    """Named as Dask's is, which is known by its name."""


class FakeFuture:
    """A point that has ended in a given way."""

    def __init__(self, status: str, value: Any) -> None:
        self.status, self.value = status, value

    def add_done_callback(self, call: Callable[[Any], None]) -> None:
        call(self)

    def result(self, timeout: float) -> Any:
        assert timeout > 0
        if isinstance(self.value, BaseException):
            raise self.value
        return self.value

    def exception(self) -> Any:
        return self.value


class FakeClient:
    """A client of two workers of one thread each, whose points end as told."""

    status = "running"

    def __init__(self, *_: Any, **__: Any) -> None:
        self.future: FakeFuture | None = None

    def wait_for_workers(self, *_: Any, **__: Any) -> None: ...

    def nthreads(self) -> dict[str, int]:
        return {"tcp://a": 1, "tcp://b": 1}

    def submit(self, *_: Any, **__: Any) -> FakeFuture:
        if self.future is None:
            raise distributed.client.ClosedClientError("Client is closed.")
        return self.future

    def close(self, timeout: float) -> None: ...


@pytest.fixture
def cluster(monkeypatch: pytest.MonkeyPatch) -> Cluster:
    monkeypatch.setattr(distributed, "Client", FakeClient)
    return Cluster("tcp://somewhere:8786")


def ended(cluster: Cluster, status: str, value: Any) -> Any:
    """Submit a point that ends so, and hear of it."""
    cluster._client.future = FakeFuture(status, value)
    cluster.submit(Job(case(), 3000.0))
    return cluster.wait(0.0)


def test_result_arrives(cluster: Cluster) -> None:
    [outcome] = ended(cluster, "finished", (PHYSICS_VERSION, result(3000.0), 0.5))
    assert same(outcome.result, result(3000.0))
    assert outcome.seconds == 0.5
    assert cluster.free == 2 * AHEAD


@pytest.mark.parametrize(
    "broken",
    [
        distributed.comm.CommClosedError("reset by peer"),
        TimeoutError("no answer"),
        CancelledError("client is closed"),
    ],
    ids=["connection", "time", "cancelled"],
)
def test_scheduler_lost_while_a_result_is_fetched(cluster: Cluster, broken: Exception) -> None:
    with pytest.raises(StudyError, match="scheduler gone"):
        ended(cluster, "finished", broken)
    assert cluster.free == 2 * AHEAD - 1  # not counted as ended: it is run again next time


def test_scheduler_lost_before_a_point_is_handed_over(cluster: Cluster) -> None:
    with pytest.raises(StudyError, match="scheduler gone"):
        cluster.submit(Job(case(), 3000.0))


@pytest.mark.parametrize("status", ["cancelled", "lost"])
def test_scheduler_lost_while_a_point_runs(cluster: Cluster, status: str) -> None:
    with pytest.raises(StudyError, match="scheduler gone"):
        ended(cluster, status, None)


def test_client_that_has_given_up(cluster: Cluster) -> None:
    cluster._client.status = "closed"
    with pytest.raises(StudyError, match="scheduler gone"):
        cluster.wait(0.0)


def test_worker_of_another_physics(cluster: Cluster) -> None:
    with pytest.raises(StudyError, match=f"allowed {PHYSICS_VERSION}"):
        ended(cluster, "finished", (PHYSICS_VERSION - 1, None, 0.0))


@pytest.mark.parametrize(
    "error, kind, text",
    [
        (KilledWorker("tried three"), "worker lost", "its workers were lost"),
        (ValueError("of a worker"), "fault", "ValueError: of a worker"),
    ],
    ids=["killed", "fault"],
)
def test_point_that_fails_there(cluster: Cluster, error: Exception, kind: str, text: str) -> None:
    [outcome] = ended(cluster, "error", error)
    assert isinstance(outcome.result, Failure)
    assert outcome.result.kind == kind
    assert text in outcome.result.reason
