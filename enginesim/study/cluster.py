"""How are points run by the workers of a Dask cluster, on this machine or on many?"""

from __future__ import annotations

import logging
import queue
import signal
import threading
import time
import warnings
from collections.abc import Callable
from concurrent.futures import CancelledError
from contextlib import suppress
from functools import partial
from multiprocessing.resource_tracker import ensure_running
from typing import TYPE_CHECKING, Any, Final

from enginesim.base.characters import quoted
from enginesim.base.errors import StudyError
from enginesim.base.provenance import PHYSICS_VERSION
from enginesim.study.jobs import Job, Outcome
from enginesim.study.lateness import Lateness, tell_begun
from enginesim.study.store_rows import Failure

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.performance import Performance

#: Points handed to the scheduler for each thread of the workers, so that none waits for work.
AHEAD: Final = 3
_PATIENCE = 15.0  # for a scheduler to answer, and for its first worker [s]
_COUNT = 5.0  # between two counts of the workers [s]
_LOCAL = "local:"
_ALLOWED = "tcp://host:port, or local:N for N workers on this machine"


class Cluster:
    """
    A pool of the workers of a Dask cluster.

    Workers may come and go. A point whose worker is lost is run again by another; one that has
    lost several is a failure. The store is written by this process alone: workers need no common
    disk.

    Parameters
    ----------
    address : str
        ``tcp://host:port`` of a scheduler, or ``local:N``.

    Raises
    ------
    StudyError
        If there is no such scheduler, it has no workers, or Dask is not installed.
    """

    def __init__(self, address: str) -> None:
        try:
            import distributed
        except ImportError as error:
            raise StudyError(
                "--cluster: found no Dask (install it with: pip install 'enginesim[cluster]')"
            ) from error
        self.address = address
        self._local: Any = None
        self._ended: queue.SimpleQueue[Any] = queue.SimpleQueue()
        self._jobs: dict[Any, Job] = {}
        self._n_threads = 0
        self._counted = -_COUNT
        self._number = 0
        self._lateness: Lateness | None = None
        n_local = _local_workers(address)
        # What it says when workers come and go is said by the study's own log.
        for name in ("distributed", "distributed.client", "tornado.application"):
            logging.getLogger(name).setLevel(logging.CRITICAL)
        try:
            if n_local:
                self._local = _undisturbed(partial(_local_cluster, n_local))
            self._client: Any = distributed.Client(  # type: ignore[no-untyped-call]
                self._local or address, timeout=_PATIENCE
            )
            self._client.wait_for_workers(1, timeout=_PATIENCE)
        except (OSError, RuntimeError, TimeoutError, ValueError) as error:
            self.close()
            if n_local:
                raise StudyError(
                    f"--cluster {address}: found a worker process that ended while it started (run "
                    "the same command again; with fewer workers if memory is short)"
                ) from error
            raise StudyError(
                f"--cluster {address}: found no scheduler with workers there in {_PATIENCE:.0f} s "
                "(start `dask scheduler`, then `dask worker` with its address)"
            ) from error

    @property
    def free(self) -> int:
        """Points that can be handed to the scheduler now."""
        return max(AHEAD * self._threads() - len(self._jobs), 0)

    def submit(self, job: Job) -> None:
        """
        Have a point run.

        Parameters
        ----------
        job : Job
            The point.

        Raises
        ------
        StudyError
            If the scheduler has been lost.
        """
        from distributed.client import ClosedClientError

        self._number += 1
        try:
            if job.time_limit is not None and self._lateness is None:
                self._lateness = Lateness(self._client)
            future = self._client.submit(
                _work,
                job.case,
                job.rpm,
                job.time_limit,
                PHYSICS_VERSION,
                "" if self._lateness is None else self._lateness.topic,
                key=f"enginesim-{job.case.digest[:12]}-{job.rpm:g}-{self._number}",
                pure=False,
            )
        except ClosedClientError as error:
            raise self._lost() from error
        self._jobs[future] = job
        future.add_done_callback(self._ended.put)

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
            If the scheduler has been lost, or a worker has another physics than this process.
        """
        outcomes = []
        with suppress(queue.Empty):
            outcomes.append(self._outcome(self._ended.get(timeout=timeout)))
            while True:
                outcomes.append(self._outcome(self._ended.get_nowait()))
        if self._client.status not in ("running", "connecting"):
            raise self._lost()
        return [*(outcome for outcome in outcomes if outcome is not None), *self._late()]

    def _late(self) -> list[Outcome]:
        """Points that do not see that their time is over; their workers are started anew."""
        if self._lateness is None:
            return []
        outcomes = []
        futures = {future.key: future for future in self._jobs}
        for key in self._lateness.late():
            future = futures.get(key)
            if future is None:  # dropped
                self._lateness.ended(key)
                continue
            job = self._jobs.pop(future)
            limit = float(job.time_limit or 0.0)
            with suppress(Exception):  # before its worker ends, or another would run it again
                future.cancel()
            self._lateness.restart(key)
            reason = f"not finished in {limit:g} s, and its worker did not answer"
            outcomes.append(Outcome(job, Failure(job.rpm, "time limit", reason, limit), limit))
        return outcomes

    def drop(self) -> None:
        """Give up all points that have not ended."""
        with suppress(Exception):  # the scheduler may be the reason
            self._client.cancel(list(self._jobs), force=True)
        self._jobs.clear()

    def close(self) -> None:
        """Let go of the cluster; end it if it is ours."""
        for part in (getattr(self, "_client", None), self._local):
            if part is not None:
                with suppress(Exception):  # it may be gone
                    part.close(timeout=5)

    def _outcome(self, future: Any) -> Outcome | None:
        job = self._jobs.pop(future, None)
        if job is None:  # dropped
            return None
        if self._lateness is not None:
            self._lateness.ended(future.key)
        if future.status == "finished":
            try:
                physics, result, seconds = future.result(timeout=_PATIENCE)
            except (OSError, TimeoutError, CancelledError) as broken:
                # It was computed, but the way here broke while its value was fetched.
                self._jobs[future] = job
                raise self._lost() from broken
            if physics != PHYSICS_VERSION:
                raise StudyError(
                    f"--cluster {self.address}: found a worker with physics {physics}; allowed "
                    f"{PHYSICS_VERSION} (install the same enginesim on all machines)"
                )
            return Outcome(job, result, seconds)
        if future.status == "error":
            error = future.exception()
            reason = f"its workers were lost: {error}"
            kind: Any = "worker lost"
            if type(error).__name__ != "KilledWorker":
                reason, kind = f"{type(error).__name__}: {error}", "fault"
            return Outcome(job, Failure(job.rpm, kind, reason), 0.0)
        self._jobs[future] = job
        raise self._lost()

    def _lost(self) -> StudyError:
        return StudyError(
            f"--cluster {self.address}: found the scheduler gone (what was finished is stored: "
            "start the cluster, and run the same command again)"
        )

    def _threads(self) -> int:
        """Threads of all workers, counted now and then."""
        if time.monotonic() - self._counted > _COUNT:
            self._counted = time.monotonic()
            try:
                self._n_threads = sum(self._client.nthreads().values())
            except Exception as error:
                raise self._lost() from error
        return self._n_threads


def _local_cluster(n_workers: int) -> Any:
    """A scheduler and workers on this machine, not waiting for a port that is taken."""
    import distributed

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)
        return distributed.LocalCluster(  # type: ignore[no-untyped-call]
            n_workers=n_workers,
            threads_per_worker=1,
            processes=True,
            dashboard_address=None,
            silence_logs=logging.CRITICAL,
        )


def _undisturbed(make: Callable[[], Any]) -> Any:
    """
    What a function makes, in processes that a Ctrl-C does not reach.

    A terminal sends it to every process of a command, and a worker that has only begun to load
    would end with a traceback. What it means is decided here, where the study is led. Processes
    have the signal mask of the thread that starts them, so it is a thread of its own.
    """
    made: queue.SimpleQueue[Any] = queue.SimpleQueue()

    def work() -> None:
        if hasattr(signal, "pthread_sigmask"):
            ensure_running()  # to start it later would let the signal through again
            signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        try:
            made.put((make(), None))
        except Exception as error:  # noqa: BLE001 (raised again where it is waited for)
            made.put((None, error))

    threading.Thread(target=work, name="starts the cluster", daemon=True).start()
    found, error = made.get()
    if error is not None:
        raise error
    return found


def _local_workers(address: str) -> int:
    """Number of workers in ``local:N``; 0 for the address of a scheduler."""
    if not address.startswith(_LOCAL):
        if "://" not in address:
            raise StudyError(f"--cluster: found {quoted(address)}; allowed {_ALLOWED}")
        return 0
    text = address.removeprefix(_LOCAL)
    if not text.isdigit() or not 1 <= int(text) <= 256:
        raise StudyError(f"--cluster: found {quoted(address)}; allowed {_ALLOWED}, N from 1 to 256")
    return int(text)


def _work(
    case: Case, rpm: float, time_limit: float | None, physics: int, topic: str = ""
) -> tuple[int, Performance | Failure | None, float]:
    """Run a point on a worker, unless its physics is not that of the study."""
    from enginesim.study.worker import work

    if physics != PHYSICS_VERSION:
        return PHYSICS_VERSION, None, 0.0

    def begun() -> None:
        if time_limit is not None and topic:
            tell_begun(topic, time_limit)

    return (PHYSICS_VERSION, *work(case, rpm, time_limit, begun))
