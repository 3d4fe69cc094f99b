"""How are points run in threads of this process, none that another process is at?"""

from __future__ import annotations

import os
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeAlias

from enginesim.base.errors import CaseError, EngineSimError, GasError, NetworkError, StoreError
from enginesim.study.store_claims import Claims
from enginesim.study.store_rows import Failure

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.cycle import CycleRecord
    from enginesim.cycle.simulation import Cancel
    from enginesim.network.engine import Prepared
    from enginesim.performance import Performance
    from enginesim.study.store import Store

Point: TypeAlias = tuple["Case", float]
#: Result and, where it is wanted, cycle of a point that the store has; None where it must be run.
Known: TypeAlias = Callable[
    ["Case", float], "tuple[Performance | Failure, CycleRecord | None] | None"
]

_TICK: Final = 0.2  # longest wait between two looks at what has ended [s]
_LOOK: Final = 1.0  # between two looks at points that another process runs [s]


@dataclass(frozen=True, slots=True)
class Run:
    """
    What came of a point.

    Attributes
    ----------
    case : Case
        The engine.
    result : Performance or Failure
        Its outcome.
    record : CycleRecord or None
        The cycle, if there is one.
    seconds : float or None
        Time that it took; None if another process ran it meanwhile, and stored it. [s]
    """

    case: Case
    result: Performance | Failure
    record: CycleRecord | None
    seconds: float | None


def run_all(
    points: Sequence[Point],
    known: Known,
    *,
    store: Store | None,
    jobs: int | None,
    stop: threading.Event,
) -> Iterator[Run]:
    """
    Have the outcome of points that the store did not have, several run at a time.

    Parameters
    ----------
    points : sequence of (Case, rpm)
        In the order in which they are begun, each once.
    known : callable
        Looks into the store again, once a point is claimed.
    store : Store or None
        Where points are claimed, if it can be written.
    jobs : int or None
        Runs at a time; as many as there are processors if None. [-]
    stop : Event
        Set it to stop: points under way are dropped.

    Yields
    ------
    Run
        As each is finished. The claim of a point ends with the storing of its result.

    Raises
    ------
    StoreError
        If the store cannot be read or written.
    """
    work = _Work(points, known, store, jobs, stop)
    try:
        yield from work.everything()
    finally:
        work.close()


class _Work:
    """One call of :func:`run_all`."""

    def __init__(
        self,
        points: Sequence[Point],
        known: Known,
        store: Store | None,
        jobs: int | None,
        stop: threading.Event,
    ) -> None:
        self.known, self.stop = known, stop
        self.n_workers = max(1, min(jobs or os.cpu_count() or 1, len(points)))
        self.claims = Claims(store) if store is not None and store.is_writable else None
        self.ready = deque(points)
        self.elsewhere: list[Point] = []
        self.looked = time.monotonic()
        self.pool = ThreadPoolExecutor(self.n_workers)
        self.under_way: set[Future[Run]] = set()
        self.prepared: dict[str, Future[Prepared]] = {}
        self.lock = threading.Lock()

    def everything(self) -> Iterator[Run]:
        from enginesim.cycle.simulation import CancelledError

        while self.under_way or ((self.ready or self.elsewhere) and not self.stop.is_set()):
            if not self.stop.is_set():
                yield from self._begun()
            if self.under_way:
                ended, self.under_way = wait(self.under_way, _TICK, FIRST_COMPLETED)
            else:
                ended = set()
                self.stop.wait(_TICK)
            for future in ended:
                with suppress(CancelledError):
                    yield future.result()
            if self.claims is not None:
                self.claims.renew()
                yield from self._ended_elsewhere(self.claims)

    def close(self) -> None:
        if self.under_way:
            self.stop.set()
        self.pool.shutdown(cancel_futures=True)
        if self.claims is not None:
            # Where the disk is full, they end with this process.
            with suppress(StoreError):
                self.claims.drop()

    def _begun(self) -> Iterator[Run]:
        """Begin points that nobody else works on; those that are stored by now."""
        free = min(self.n_workers - len(self.under_way), len(self.ready))
        chosen = [self.ready.popleft() for _ in range(free)]
        if self.claims is None:
            self.under_way |= {self.pool.submit(self._run, *point) for point in chosen}
            return
        taken = self.claims.take(chosen) if chosen else []
        for (case, rpm), is_ours in zip(chosen, taken, strict=True):
            if not is_ours:
                self.elsewhere.append((case, rpm))
                continue
            # Another process may have finished it between the look and the claim.
            found = self.known(case, rpm)
            if found is None:
                self.under_way.add(self.pool.submit(self._run, case, rpm))
            else:
                self.claims.give_back(case, rpm)
                yield Run(case, *found, None)

    def _ended_elsewhere(self, claims: Claims) -> Iterator[Run]:
        """Points of other processes that are stored by now; those of lost ones are run here."""
        if time.monotonic() - self.looked < _LOOK:
            return
        self.looked = time.monotonic()
        waiting, self.elsewhere = self.elsewhere, []
        for case, rpm in waiting:
            found = self.known(case, rpm)
            if found is not None:
                yield Run(case, *found, None)
            elif claims.is_free(case, rpm):
                self.ready.appendleft((case, rpm))
            else:
                self.elsewhere.append((case, rpm))

    def _run(self, case: Case, rpm: float) -> Run:
        return Run(case, *run_one(case, rpm, lambda: self._prepared(case), self.stop))

    def _prepared(self, case: Case) -> Prepared:
        """What does not depend on the speed, made once a case by whichever thread comes first."""
        from enginesim.network.engine import prepare

        with self.lock:
            is_first = case.digest not in self.prepared
            future = self.prepared.setdefault(case.digest, Future())
        if is_first:
            try:
                future.set_result(prepare(case))
            except BaseException as error:
                future.set_exception(error)
                raise
        return future.result()


def run_one(
    case: Case,
    rpm: float,
    prepared: Callable[[], Prepared],
    cancel: Cancel,
) -> tuple[Performance | Failure, CycleRecord | None, float]:
    """
    Run one case at one speed, whatever comes of it.

    Parameters
    ----------
    case : Case
        The engine.
    rpm : float
        Engine speed. [rpm]
    prepared : callable
        Gives what does not depend on the speed.
    cancel : Cancel
        Asked many times a cycle whether to stop.

    Returns
    -------
    result : Performance or Failure
        What came of it.
    record : CycleRecord or None
        The cycle, if there is one.
    seconds : float
        Time that it took. [s]

    Raises
    ------
    CancelledError
        If it was told to stop.
    """
    from enginesim.cycle.curves import simulate, tables_of
    from enginesim.cycle.simulation import CancelledError
    from enginesim.performance import summarise

    begun = time.perf_counter()
    try:
        tables = tables_of(case, rpm)
        record = simulate(case, rpm, tables=tables, prepared=prepared(), cancel=cancel)
        result = summarise(case, tables, record)
    except CancelledError:
        raise
    except (CaseError, NetworkError, GasError) as error:
        return Failure(rpm, "cannot be built", str(error)), None, time.perf_counter() - begun
    except EngineSimError as error:
        return Failure(rpm, "broke down", str(error)), None, time.perf_counter() - begun
    return result, record, time.perf_counter() - begun
