"""How many points an hour with how many workers, and what is in the way of more?"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import psutil
import pytest

from enginesim.case import load
from enginesim.study import cluster
from enginesim.study.pool import Point, open_pool, run_points
from enginesim.study.store import Store
from tests.bench import sleeping

ROOT = Path(__file__).parent.parent.parent
CASES = ROOT / "tests" / "cases"
SPEEDS = (2500.0, 3500.0, 4500.0, 5500.0)


def points(n: int, name: str = "minimal") -> list[Point]:
    cases = [
        load(CASES / f"{name}.toml", (f"cam.lobe_separation={104 + 12 * i / n:.4f}",))
        for i in range(-(-n // len(SPEEDS)))
    ]
    return [(case, rpm) for case in cases for rpm in SPEEDS][:n]


@pytest.mark.parametrize("where", ["1", "2", "local:1", "local:2", "local:4"])
def test_points_an_hour(where: str, tmp_path: Path) -> None:
    """A V8 with waves. Workers are started and warm before the clock is."""
    todo, warm = points(24), points(8, "four")
    jobs = int(where) if where.isdigit() else None
    seconds: list[float] = []
    with Store.open(tmp_path / "a.sqlite") as store:
        with open_pool(None if jobs else where, jobs=jobs) as pool:
            run_points(warm, store=None, pool=pool)
            begun, before = time.perf_counter(), time.process_time()
            run_points(todo, store=store, pool=pool)
            wall, ours = time.perf_counter() - begun, time.process_time() - before
        with store.reading() as connection:
            seconds += [row[0] for row in connection.execute("SELECT seconds FROM points")]
    n = int(where.rpartition(":")[2])
    idle = wall * n - sum(seconds)
    print(
        f"\n{where}: {len(todo) / wall * 3600:.0f} points an hour; a point {sum(seconds) / 24:.2f} "
        f"s in its worker; {idle / 24 * 1e3:.0f} ms of a worker between points; "
        f"{ours / 24 * 1e3:.1f} ms of the parent's processor a point; load {os.getloadavg()[0]:.1f}"
    )


class Sleepers:
    """A scheduler in a process of its own, and threads that sleep in a few others."""

    def __init__(self, n_processes: int, n_threads: int) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        self.address = f"tcp://127.0.0.1:{port}"
        words = ["--host", "127.0.0.1", "--port", str(port), "--no-dashboard"]
        self.processes = [self._started("distributed.cli.dask_scheduler", *words)]
        words = ["--nthreads", str(n_threads), "--no-nanny", "--no-dashboard"]
        for _ in range(n_processes):
            self.processes.append(
                self._started("distributed.cli.dask_worker", self.address, *words)
            )

    def _started(self, *words: str) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            [sys.executable, "-m", *words],
            cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip

    def used(self) -> float:
        """Processor time of the scheduler [s]."""
        times = psutil.Process(self.processes[0].pid).cpu_times()
        return float(times.user + times.system)

    def stop(self) -> None:
        for process in self.processes:
            process.kill()
            process.wait()


@pytest.fixture
def sleepers(request: pytest.FixtureRequest) -> Iterator[Sleepers]:
    made = Sleepers(*request.param)
    yield made
    made.stop()


@pytest.mark.parametrize(
    "sleepers, n_workers, nap, n",
    [((2, 50), 100, 0.35, 600), ((2, 500), 1000, 3.0, 2000)],
    indirect=["sleepers"],
)
def test_sleeping_points(
    sleepers: Sleepers,
    n_workers: int,
    nap: float,
    n: int,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(cluster, "_work", sleeping.work)
    base = points(1)[0][0]
    todo = [(base, 1000.0 + i) for i in range(n)]
    with Store.open(tmp_path / "a.sqlite") as store, open_pool(sleepers.address) as pool:
        while pool.free < cluster.AHEAD * n_workers:
            time.sleep(1.0)
        run_points(todo[:n_workers], store=None, pool=pool, time_limit=0.01)
        begun, ours, theirs = time.perf_counter(), time.process_time(), sleepers.used()
        run_points(todo, store=store, pool=pool, time_limit=nap)
        wall = time.perf_counter() - begun
        ours, theirs = time.process_time() - ours, sleepers.used() - theirs
    print(
        f"\n{n_workers} workers, points of {nap} s: {n / wall:.0f} a second of "
        f"{n_workers / nap:.0f} possible; processor time a point: scheduler "
        f"{theirs / n * 1e3:.2f} ms, parent {ours / n * 1e3:.2f} ms; load {os.getloadavg()[0]:.1f}"
    )
