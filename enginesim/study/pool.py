"""How are the many points of a study run so that nothing is run twice and nothing is lost?"""

from __future__ import annotations

import itertools
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sized
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Final

from enginesim.base.errors import StoreError
from enginesim.study.jobs import Job, Outcome, Pool
from enginesim.study.progress import Log, Progress
from enginesim.study.store_claims import Claims
from enginesim.study.store_rows import Failure

if TYPE_CHECKING:
    from pathlib import Path
    from types import FrameType

    from enginesim.case import Case
    from enginesim.performance import Performance
    from enginesim.study.store import Store

Point = tuple["Case", float]

#: After being told to stop: time in which points under way may still end. [s]
GRACE: Final = 10.0
_TICK = 0.25  # longest wait between two looks at whether to stop [s]
_LOOK = 1.0  # between two looks at points that another process runs [s]
_AHEAD = 256  # speeds of one case that are looked for in the store at once


@contextmanager
def open_pool(
    cluster: str | None = None, *, jobs: int | None = None, nice: int = 0
) -> Iterator[Pool]:
    """
    Where points are run; to be kept open over several calls of :func:`run_points`.

    Parameters
    ----------
    cluster : str, optional
        ``tcp://host:port`` of a Dask scheduler, or ``local:N`` for one of our own with N workers
        on this machine. Processes of this machine if left out.
    jobs : int, optional
        Processes on this machine; as many as there are processors if left out. [-]
    nice : int
        Raised by so much in these processes, to leave the machine to others. [-]

    Yields
    ------
    Pool
        Closed afterwards.

    Raises
    ------
    StudyError
        If there is no such cluster.
    """
    pool: Pool
    if cluster is None:
        from enginesim.study.processes import Processes

        pool = Processes(jobs, nice)
    else:
        from enginesim.study.cluster import Cluster

        pool = Cluster(cluster)
    try:
        yield pool
    finally:
        pool.close()


@contextmanager
def stopping() -> Iterator[threading.Event]:
    """
    Let the first Ctrl-C or termination signal set an event, and the second interrupt at once.

    Yields
    ------
    Event
        To be given to :func:`run_points` as `cancel`. In another thread than the main one, where
        Python has no signals, nothing sets it.
    """
    cancel = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield cancel
        return
    numbers = (signal.SIGINT, signal.SIGTERM)
    previous = {number: signal.getsignal(number) for number in numbers}

    def stop(number: int, frame: FrameType | None) -> None:
        if cancel.is_set():
            signal.default_int_handler(number, frame)
        cancel.set()

    for number in numbers:
        signal.signal(number, stop)
    try:
        yield cancel
    finally:
        for number, handler in previous.items():
            signal.signal(number, handler)


def run_points(
    points: Iterable[Point],
    *,
    store: Store | None,
    pool: Pool | None = None,
    time_limit: float | None = None,
    on_done: Callable[[Case, Performance | Failure], None] | None = None,
    on_progress: Callable[[Progress], None] | None = None,
    cancel: threading.Event | None = None,
    log: Path | None = None,
    total: int | None = None,
) -> Progress:
    """
    Have the outcome of every point: from the store what is there, by running the rest.

    Parameters
    ----------
    points : iterable of (Case, rpm)
        In the order in which they are begun; all speeds of a case together. A generator is drawn
        from only as fast as points are begun.
    store : Store or None
        Where outcomes are looked for and kept; None keeps nothing.
    pool : Pool, optional
        Where they are run; processes of this machine, for this call only, if left out.
    time_limit : float, optional
        Time after which a point is given up, as a failure. [s]
    on_done : callable, optional
        Gets case and outcome of every point, those from the store too, after it was stored.
    on_progress : callable, optional
        Gets the counts whenever they have changed.
    cancel : threading.Event, optional
        Set it to stop: points under way may end for some seconds more, no other is begun.
    log : Path, optional
        File that gets a line for each run.
    total : int, optional
        Points, where `points` cannot say how many there are. [-]

    Returns
    -------
    Progress
        The counts at the end.

    Raises
    ------
    StoreError
        If an outcome cannot be kept. Points that were finished before are in the store.
    StudyError
        If there are no processes or no cluster to run points.
    """
    if store is not None and not store.is_writable:
        raise StoreError(f"{store.path}: found it read-only; a study must keep its results")
    if pool is None:
        with open_pool() as own:
            return run_points(
                points, store=store, pool=own, time_limit=time_limit, on_done=on_done,
                on_progress=on_progress, cancel=cancel, log=log, total=total,
            )  # fmt: skip
    if total is None and isinstance(points, Sized):
        total = len(points)
    book = Log(log)
    run = _Run(store, pool, time_limit, on_done, book, Progress(total))
    try:
        run.everything(points, threading.Event() if cancel is None else cancel, on_progress)
    finally:
        run.close()
        book.summary(run.progress, now=True)
        book.close()
    return run.progress


class _Run:
    """One call of :func:`run_points`."""

    def __init__(
        self,
        store: Store | None,
        pool: Pool,
        time_limit: float | None,
        on_done: Callable[[Case, Performance | Failure], None] | None,
        log: Log,
        progress: Progress,
    ) -> None:
        self.store, self.pool, self.log, self.progress = store, pool, log, progress
        self.time_limit = time_limit
        self.on_done = on_done
        self.claims = None if store is None else Claims(store)
        self.elsewhere: dict[tuple[str, float], list[Point]] = {}
        self.under_way: dict[tuple[str, float], int] = {}  # points asked for more than once
        self.ready: deque[Point] = deque()  # not in the store; to be claimed and begun
        self.looked = time.monotonic()

    def everything(
        self,
        points: Iterable[Point],
        cancel: threading.Event,
        on_progress: Callable[[Progress], None] | None,
    ) -> None:
        blocks = _blocks(points)
        is_drawn = False
        told = ""
        end = None
        while True:
            if cancel.is_set() and end is None:
                end = time.monotonic() + GRACE
                self.log.write("told to stop: points under way may end")
            if end is None:
                while not is_drawn and len(self.ready) < self.pool.free:
                    block = next(blocks, None)
                    is_drawn = block is None
                    if block is not None:
                        self._look_up(block)
                self._begin()
                self._look_elsewhere()
            is_over = is_drawn and not self.ready and not self.elsewhere
            if not self.under_way and (is_over or end is not None):
                self.progress.is_stopped = not is_over
                return
            if end is not None and time.monotonic() > end:
                self.log.write(f"{len(self.under_way)} points under way given up")
                self.progress.is_stopped = True
                return
            self._keep(self.pool.wait(_TICK))
            self.progress.under_way = len(self.under_way)
            self.progress.elsewhere = sum(map(len, self.elsewhere.values()))
            self.log.summary(self.progress)
            line = self.progress.line()
            if on_progress is not None and line != told:
                told = line
                on_progress(self.progress)

    def close(self) -> None:
        if self.under_way:
            self.pool.drop()
        self.under_way.clear()
        self.progress.under_way = self.progress.elsewhere = 0
        if self.claims is not None:
            # Where the disk is full, they end with this process.
            with suppress(StoreError):
                self.claims.drop()

    def _look_up(self, block: list[Point]) -> None:
        """Take what the store has of some speeds of one case; the rest is to be run."""
        case = block[0][0]
        known = self._finished_of(case, [rpm for _, rpm in block])
        for point in block:
            result = known.get(point[1])
            if result is None:
                self.ready.append(point)
            else:
                self._known(case, result)

    def _finished_of(self, case: Case, rpms: list[float]) -> dict[float, Performance | Failure]:
        """What the store has of a case and would not come out otherwise now."""
        if self.store is None:
            return {}
        return {
            rpm: result
            for rpm, result in self.store.get_many(case, rpms).items()
            if not (isinstance(result, Failure) and not result.holds(self.time_limit))
        }

    def _known(self, case: Case, result: Performance | Failure, times: int = 1) -> None:
        self.progress.stored += times
        if self.on_done is not None:
            for _ in range(times):
                self.on_done(case, result)

    def _begin(self) -> None:
        chosen: list[Point] = []
        free = self.pool.free
        while self.ready and len(chosen) < free:
            point = self.ready.popleft()
            key = (point[0].digest, point[1])
            if key in self.under_way:
                self.under_way[key] += 1
                continue
            self.under_way[key] = 1
            chosen.append(point)
        if not chosen:
            return
        taken = [True] * len(chosen) if self.claims is None else self.claims.take(chosen)
        for (case, rpm), is_ours in zip(chosen, taken, strict=True):
            key = (case.digest, rpm)
            if not is_ours:
                times = self.under_way.pop(key)
                self.elsewhere.setdefault(key, []).extend([(case, rpm)] * times)
                continue
            # Another process may have finished it between the look and the claim.
            finished = self._finished_of(case, [rpm]).get(rpm)
            if finished is None:
                self.pool.submit(Job(case, rpm, self.time_limit))
                continue
            if self.claims is not None:
                self.claims.give_back(case, rpm)
            self._known(case, finished, self.under_way.pop(key))

    def _look_elsewhere(self) -> None:
        """Points of other processes that are finished by now, or whose process has been lost."""
        if self.claims is None or time.monotonic() - self.looked < _LOOK:
            return
        self.looked = time.monotonic()
        for key, points in list(self.elsewhere.items()):
            case, rpm = points[0]
            finished = self._finished_of(case, [rpm]).get(rpm)
            if finished is not None:
                del self.elsewhere[key]
                self._known(case, finished, len(points))
            elif self.claims.is_free(case, rpm):
                del self.elsewhere[key]
                self.ready.extendleft(points)

    def _keep(self, outcomes: list[Outcome]) -> None:
        if self.store is not None and outcomes:
            self.store.put_many((o.job.case, o.result, o.seconds) for o in outcomes)
        for outcome in outcomes:
            case, result = outcome.job.case, outcome.result
            times = self.under_way.pop((case.digest, outcome.job.rpm))
            self.progress.count(result)
            self.log.outcome(case, result, outcome.seconds)
            if self.on_done is not None:
                self.on_done(case, result)
            if times > 1:
                self._known(case, result, times - 1)
        if self.claims is not None and self.under_way:
            self.claims.renew()


def _blocks(points: Iterable[Point]) -> Iterator[list[Point]]:
    """Speeds of one case together, as far as they follow on one another."""
    for _, group in itertools.groupby(points, key=lambda point: point[0].digest):
        while block := list(itertools.islice(group, _AHEAD)):
            yield [(case, float(rpm)) for case, rpm in block]
