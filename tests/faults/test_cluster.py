"""Does a study on a cluster give the same bits, whatever of the cluster is killed on the way?"""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psutil
import pytest

from enginesim.base.errors import StudyError
from enginesim.base.provenance import PHYSICS_VERSION
from enginesim.study import cluster
from enginesim.study.store import Store
from enginesim.study.store_rows import Failure
from tests.faults.conftest import ROOT, Start, contents, runs
from tests.faults.study import N_POINTS, cases, endless
from tests.patience import PATIENCE

pytestmark = pytest.mark.slow
pytest.importorskip("distributed")

Found = dict[tuple[Any, ...], str]


class Machines:
    """A scheduler and its workers over loopback, each a process of its own."""

    def __init__(self, folder: Path) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.address = f"tcp://127.0.0.1:{self.port}"
        self._log = folder / "cluster.log"
        self.scheduler = self._scheduler()
        self.workers = [self.worker(), self.worker()]

    def _started(self, *words: str) -> subprocess.Popen[bytes]:
        with self._log.open("ab") as log:
            return subprocess.Popen(
                [sys.executable, "-m", *words], cwd=ROOT, env=os.environ, stdout=log, stderr=log
            )

    def _scheduler(self) -> subprocess.Popen[bytes]:
        words = ("--host", "127.0.0.1", "--port", str(self.port), "--no-dashboard")
        made = self._started("distributed.cli.dask_scheduler", *words)
        end = time.monotonic() + PATIENCE
        while True:
            try:
                socket.create_connection(("127.0.0.1", self.port), 1.0).close()
                break
            except OSError:
                assert time.monotonic() < end, self._log.read_text("utf-8")
                time.sleep(0.1)
        return made

    def worker(self) -> subprocess.Popen[bytes]:
        words = ("--nthreads", "1", "--no-nanny", "--no-dashboard", "--death-timeout", "60")
        return self._started("distributed.cli.dask_worker", self.address, *words)

    def restart(self) -> None:
        self.stop()
        self.scheduler = self._scheduler()
        self.workers = [self.worker(), self.worker()]

    def stop(self) -> None:
        for process in (self.scheduler, *self.workers):
            process.kill()
            process.wait()


@pytest.fixture
def machines(tmp_path: Path) -> Iterator[Machines]:
    made = Machines(tmp_path)
    yield made
    made.stop()


def test_same_bits_and_a_worker_killed_on_the_way(
    start: Start, machines: Machines, undisturbed: Found
) -> None:
    study = start("--cluster", machines.address)
    study.after(3)
    machines.workers[0].kill()
    study.completes()
    assert contents(study.store) == undisturbed
    assert set(runs(study).values()) == {1}


def test_scheduler_killed(start: Start, machines: Machines, undisturbed: Found) -> None:
    first = start("--cluster", machines.address)
    first.after(3)
    machines.scheduler.kill()
    code, err = first.ends()
    assert (code, "scheduler gone" in err) == (2, True), err
    assert "Traceback" not in err
    kept = contents(first.store)
    assert 3 <= len(kept) < N_POINTS
    machines.restart()
    second = start("--cluster", machines.address)
    second.completes()
    assert contents(second.store) == undisturbed
    assert set(runs(first, second).values()) == {1}


def test_parent_killed_and_finished_without_the_cluster(
    start: Start, machines: Machines, undisturbed: Found
) -> None:
    first = start("--cluster", machines.address)
    first.after(3)
    first.kill()
    second = start()
    second.completes()
    assert contents(second.store) == undisturbed
    assert set(runs(first, second).values()) == {1}


def test_time_limit_on_workers_of_our_own(start: Start, undisturbed: Found) -> None:
    study = start("--cluster", "local:2", "--endless", "--limit", "8")
    study.completes()
    with Store.open(study.store) as store:
        failure = store.get(endless(), 3000.0)
    assert isinstance(failure, Failure)
    assert failure.kind == "time limit"
    assert undisturbed.items() <= contents(study.store).items()


@pytest.mark.skipif(sys.platform == "win32", reason="needs a signal that halts a process")
def test_a_worker_that_does_not_answer(start: Start, undisturbed: Found) -> None:
    """It is the only one: the points behind are run by the one that its nanny starts instead."""
    study = start("--cluster", "local:1", "--endless", "--limit", "40")
    study.after(1)  # the next one is endless
    time.sleep(0.5)
    parts = psutil.Process(study.process.pid).children(recursive=True)
    worker = max(parts, key=lambda part: part.cpu_times().user)
    worker.send_signal(signal.SIGSTOP)
    study.completes()
    assert not worker.is_running()
    with Store.open(study.store) as store:
        failure = store.get(endless(), 3000.0)
    assert isinstance(failure, Failure)
    assert (failure.kind, failure.time_limit) == ("time limit", 40.0)
    assert "its worker did not answer" in failure.reason
    assert undisturbed.items() <= contents(study.store).items()
    assert set(runs(study).values()) == {1}


def test_nobody_there(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "_PATIENCE", 0.5)
    with pytest.raises(StudyError, match=r"tcp://127.0.0.1:9: found no scheduler"):
        cluster.Cluster("tcp://127.0.0.1:9")


@pytest.mark.parametrize("address", ["local:", "local:0", "local:many", "somewhere", "local:-1"])
def test_no_address(address: str) -> None:
    with pytest.raises(StudyError, match=r"allowed tcp://host:port, or local:N"):
        cluster.Cluster(address)


def test_a_worker_of_another_physics_runs_nothing() -> None:
    told = cluster._work(cases()[0], 3000.0, None, PHYSICS_VERSION + 1)
    assert told == (PHYSICS_VERSION, None, 0.0)
