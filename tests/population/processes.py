"""Engines of a population, each in a process of its own: what one does, no other suffers from."""

from __future__ import annotations

import multiprocessing
import time
from collections.abc import Callable, Sequence
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess

from tests.population.engines import drawn
from tests.population.points import Point, opening_of, run_point

# For a hang that the guard of a point does not see; generous, the machine may be busy [s].
PATIENCE = 3600.0

_FORK = multiprocessing.get_context("fork")


def run_engine(seed: int, index: int, tell: Callable[[Point], None]) -> None:
    """Run an engine at its three speeds."""
    engine = drawn(seed, index)
    case = engine.case
    for rpm in engine.speeds:
        tell(run_point(engine, case, rpm))


def run_all(
    seed: int, indices: Sequence[int], jobs: int, tell: Callable[[Point], None]
) -> list[Point]:
    """Run engines, some at a time, in processes that may die."""
    waiting, points = list(reversed(indices)), []
    running: dict[Connection, tuple[BaseProcess, int, float, set[float]]] = {}
    while waiting or running:
        while waiting and len(running) < jobs:
            index = waiting.pop()
            mine, its = _FORK.Pipe(duplex=False)
            process = _FORK.Process(target=_work, args=(seed, index, its), daemon=True)
            process.start()
            its.close()
            running[mine] = process, index, time.monotonic() + PATIENCE, set()
        for connection in wait(list(running), timeout=5.0):
            assert isinstance(connection, Connection)
            process, index, _, done = running[connection]
            try:
                point = connection.recv()
            except EOFError:
                process.join()
                del running[connection]
                found = _lost(seed, index, done, f"process ended with {process.exitcode}")
            else:
                done.add(point.rpm)
                found = [point]
            points += found
            for point in found:
                tell(point)
        for process, _, end, _ in running.values():
            if time.monotonic() > end:
                process.kill()  # its end is read as that of any other
    return sorted(points, key=lambda point: (point.index, point.rpm))


def _work(seed: int, index: int, out: Connection) -> None:
    run_engine(seed, index, out.send)


def _lost(seed: int, index: int, done: set[float], why: str) -> list[Point]:
    """Speeds of which a process that is no more has not told."""
    engine = drawn(seed, index)
    case = engine.case
    return [
        Point(seed, index, rpm, case.numerics.fidelity, opening_of(case), "crashed", why)
        for rpm in engine.speeds
        if rpm not in done
    ]
