"""How are points run by several processes of this machine, any of which may be lost?"""

from __future__ import annotations

import multiprocessing as mp
import os
import time
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from typing import TYPE_CHECKING

from enginesim.base.errors import StudyError
from enginesim.base.threads import ONE_THREAD
from enginesim.study.jobs import BEYOND, Job, Outcome
from enginesim.study.store_rows import Failure
from enginesim.study.worker import serve

if TYPE_CHECKING:
    from multiprocessing.context import SpawnProcess

_TRIES = 2  # a point is run again once when its process is lost
_STARTS = 3  # processes in a row that may end before they are ready


@dataclass(eq=False)
class _Worker:
    process: SpawnProcess
    pipe: Connection
    is_ready: bool = False
    job: Job | None = None
    end: float | None = None  # when it is killed, on the monotonic clock [s]


class Processes:
    """
    A pool of processes on this machine, each with one thread.

    Parameters
    ----------
    jobs : int, optional
        Processes; as many as this process may use processors if left out. [-]
    nice : int
        Raised by so much in the processes, to leave the machine to others. [-]
    """

    def __init__(self, jobs: int | None = None, nice: int = 0) -> None:
        self.n_workers = jobs or _processors()
        self._nice = nice
        self._queue: deque[Job] = deque()
        self._workers: list[_Worker] = []
        self._is_compiled: bool | None = None
        self._lost = 0

    @property
    def free(self) -> int:
        """Points that can be begun at once."""
        busy = sum(worker.job is not None for worker in self._workers)
        return max(self.n_workers - busy - len(self._queue), 0)

    def submit(self, job: Job) -> None:
        """
        Have a point run.

        Parameters
        ----------
        job : Job
            The point.
        """
        self._queue.append(job)
        self._fill()

    def wait(self, timeout: float) -> list[Outcome]:
        """
        What has ended since the last call.

        Parameters
        ----------
        timeout : float
            How long to wait for the first. [s]

        Returns
        -------
        list of Outcome
            Empty if nothing ended.

        Raises
        ------
        StudyError
            If processes end as soon as they are started.
        """
        outcomes: list[Outcome] = []
        self._fill()
        ends = [worker.end for worker in self._workers if worker.end is not None]
        if ends:
            timeout = max(min(timeout, min(ends) - time.monotonic()), 0.0)
        pipes = {worker.pipe: worker for worker in self._workers}
        for pipe in wait(list(pipes), timeout):
            self._hear(pipes[pipe], outcomes)  # type: ignore[index]
        now = time.monotonic()
        for worker in [w for w in self._workers if w.end is not None and now > w.end]:
            self._remove(worker)
            if worker.job is not None:
                limit = worker.job.time_limit
                reason = f"not finished in {limit:g} s, and its process did not answer"
                failure = Failure(worker.job.rpm, "time limit", reason, limit)
                outcomes.append(Outcome(worker.job, failure, float(limit or 0.0)))
        self._fill()
        return outcomes

    def drop(self) -> None:
        """Give up all points that have not ended, and the processes that run them."""
        self._queue.clear()
        for worker in [w for w in self._workers if w.job is not None]:
            self._remove(worker)

    def close(self) -> None:
        """End all processes."""
        self._queue.clear()
        for worker in list(self._workers):
            self._remove(worker)

    def _hear(self, worker: _Worker, outcomes: list[Outcome]) -> None:
        try:
            while worker.pipe.poll():
                word, said = worker.pipe.recv()
                if word == "ready":
                    worker.is_ready, self._lost = True, 0
                    self._is_compiled = self._is_compiled or said
                elif word == "begun":
                    self._is_compiled = True
                    if worker.job is not None and worker.job.time_limit is not None:
                        worker.end = time.monotonic() + worker.job.time_limit + BEYOND
                elif worker.job is not None:
                    outcomes.append(Outcome(worker.job, *said))
                    worker.job = worker.end = None
        except (EOFError, OSError):
            self._bury(worker, outcomes)

    def _bury(self, worker: _Worker, outcomes: list[Outcome]) -> None:
        """A process has ended that should not have: have its point run again, once."""
        job = worker.job
        self._remove(worker)
        if not worker.is_ready:
            self._lost += 1
            if self._lost >= _STARTS:
                raise StudyError(
                    f"workers: found {self._lost} processes in a row that ended while they "
                    "started, the last with exit code "
                    f"{worker.process.exitcode} (a script that starts a study needs "
                    "`if __name__ == '__main__':` around it; or is there no memory left?)"
                )
        if job is None:
            return
        job.losses += 1
        if job.losses < _TRIES:
            self._queue.appendleft(job)
            return
        reason = (
            f"the process that ran it ended {job.losses} times, last with exit code "
            f"{worker.process.exitcode} (-9: killed, often for want of memory)"
        )
        outcomes.append(Outcome(job, Failure(job.rpm, "worker lost", reason), 0.0))

    def _fill(self) -> None:
        """Start processes that are missing, and give points to those that are idle."""
        wanted = min(self.n_workers, len(self._queue) + sum(1 for w in self._workers if w.job))
        while len(self._workers) < wanted:
            self._workers.append(self._started())
        for worker in self._workers:
            if not self._queue:
                return
            if not worker.is_ready or worker.job is not None:
                continue
            # Compiled once, by the first; the others take it from the disk.
            if not self._is_compiled and any(w.job is not None for w in self._workers):
                return
            job = self._queue.popleft()
            worker.job = job
            # A process that has just been lost is found out by the next look at its pipe.
            with suppress(OSError):
                worker.pipe.send((job.case, job.rpm, job.time_limit))

    def _started(self) -> _Worker:
        context = mp.get_context("spawn")
        ours, theirs = context.Pipe()
        process = context.Process(
            target=serve, args=(theirs, self._nice), name="enginesim worker", daemon=True
        )
        with _environment(ONE_THREAD):
            process.start()
        theirs.close()
        return _Worker(process, ours)

    def _remove(self, worker: _Worker) -> None:
        self._workers.remove(worker)
        worker.pipe.close()
        worker.process.kill()
        worker.process.join()


def _processors() -> int:
    """Processors that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@contextmanager
def _environment(values: dict[str, str]) -> Iterator[None]:
    """Set variables that are not set, for the processes started meanwhile."""
    added = {name: value for name, value in values.items() if name not in os.environ}
    os.environ.update(added)
    try:
        yield
    finally:
        for name in added:
            os.environ.pop(name, None)
