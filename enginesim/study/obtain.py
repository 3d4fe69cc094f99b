"""Which results are there already, and what must be run for the rest?"""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from enginesim.base.errors import CaseError, EngineSimError, GasError, NetworkError
from enginesim.study.store_rows import Failure

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.cycle import CycleRecord
    from enginesim.cycle.simulation import Cancel
    from enginesim.network.engine import Prepared
    from enginesim.performance import Curve, Performance
    from enginesim.study.store import Store


@dataclass
class Obtained:
    """
    What is known of one case.

    Attributes
    ----------
    case : Case
        The engine.
    points : dict of float to Performance
        Results by speed, rising. [rpm]
    failed : dict of float to Failure
        Speeds that gave none [rpm], and why.
    records : dict of float to CycleRecord
        Cycles, where they were asked for. [rpm]
    stored : set of float
        Those of these speeds that came from the store. [rpm]
    """

    case: Case
    points: dict[float, Performance] = field(default_factory=dict)
    failed: dict[float, Failure] = field(default_factory=dict)
    records: dict[float, CycleRecord] = field(default_factory=dict)
    stored: set[float] = field(default_factory=set)

    @property
    def curve(self) -> Curve:
        """Results over speed; raises ResultError where there is none."""
        from enginesim.performance import Curve

        return Curve(self.points.values())


#: Gets the number of the case, and what came of one speed.
Done = Callable[[int, "Performance"], None]
Failed = Callable[[int, Failure], None]


def obtain(
    cases: Sequence[Case],
    rpms: Sequence[float],
    *,
    store: Store | None,
    jobs: int | None = None,
    on_done: Done | None = None,
    on_failed: Failed | None = None,
    cancel: threading.Event | None = None,
    keep_records: bool = False,
) -> tuple[Obtained, ...]:
    """
    Results of some cases at some speeds: from the store what is there, by running the rest.

    Parameters
    ----------
    cases : sequence of Case
        Engines; two that are the same are run once.
    rpms : sequence of float
        Engine speeds of each. [rpm]
    store : Store or None
        Where results are looked for and kept; None to run everything and keep nothing.
    jobs : int, optional
        Runs under way at a time; as many as there are processors if left out. [-]
    on_done : callable, optional
        Gets the number of the case in `cases` and each result that was run, in this thread, after
        it was stored. Results from the store are not told.
    on_failed : callable, optional
        The same for each run that failed.
    cancel : threading.Event, optional
        Set it to stop: runs under way are dropped, what is finished is given back.
    keep_records : bool
        Whether the cycles themselves are wanted: from the store, or run again. A few are kept in
        memory at a time, so not for many cases.

    Returns
    -------
    tuple of Obtained
        One for each of `cases`. A speed is in `points`, in `failed`, or, if it was cancelled, in
        neither.

    Raises
    ------
    StoreError
        If the store cannot be read or written.
    KeyboardInterrupt
        If the user interrupts; runs under way are stopped first.

    Notes
    -----
    Nothing that simulates is imported where everything is in the store. Runs are in threads, as
    those of a curve are: see docs/decisions/0005 and 0009.
    """
    found = tuple(Obtained(case) for case in cases)
    waiting: dict[tuple[str, float], list[int]] = {}
    for i, part in enumerate(found):
        missing = _take_stored(part, rpms, store, keep_records)
        for rpm in missing:
            waiting.setdefault((part.case.digest, rpm), []).append(i)
    if waiting:
        stop = threading.Event() if cancel is None else cancel
        for key, result, record, seconds in _run(found, waiting, jobs, stop):
            numbers = waiting[key]
            if store is not None and store.is_writable:
                kept = record if keep_records else None
                store.put(found[numbers[0]].case, result, seconds=seconds, record=kept)
            for i in numbers:
                _take(found[i], result, record if keep_records else None)
                if isinstance(result, Failure):
                    if on_failed is not None:
                        on_failed(i, result)
                elif on_done is not None:
                    on_done(i, result)
    for part in found:
        part.points = dict(sorted(part.points.items()))
    return found


def _take_stored(
    part: Obtained, rpms: Sequence[float], store: Store | None, keep_records: bool
) -> list[float]:
    """Fill in what the store has; speeds that must be run, rising."""
    asked = sorted({float(rpm) for rpm in rpms})
    if store is None:
        return asked
    known = store.get_many(part.case, asked)
    missing = []
    for rpm in asked:
        result = known.get(rpm)
        if result is None or (isinstance(result, Failure) and not result.holds(None)):
            missing.append(rpm)
            continue
        record = store.record(part.case, rpm) if keep_records else None
        if keep_records and record is None and not isinstance(result, Failure):
            missing.append(rpm)
            continue
        _take(part, result, record)
        part.stored.add(rpm)
    return missing


def _take(part: Obtained, result: Performance | Failure, record: CycleRecord | None) -> None:
    if isinstance(result, Failure):
        part.failed[result.rpm] = result
    else:
        part.points[result.rpm] = result
    if record is not None:
        part.records[result.rpm] = record


Outcome = tuple[
    tuple[str, float], "Performance | Failure", "CycleRecord | None", float
]  # key, result, record, seconds


def _run(
    found: Sequence[Obtained],
    waiting: dict[tuple[str, float], list[int]],
    jobs: int | None,
    stop: threading.Event,
) -> Iterator[Outcome]:
    """Run all that is waiting, several at a time; each as it is finished."""
    from enginesim.cycle.simulation import CancelledError

    ready: dict[str, Future[Prepared]] = {}
    lock = threading.Lock()

    def one(key: tuple[str, float], case: Case) -> Outcome:
        return (key, *run_one(case, key[1], _prepared(case, ready, lock), stop))

    n_workers = max(1, min(jobs or os.cpu_count() or 1, len(waiting)))
    with ThreadPoolExecutor(n_workers) as pool:
        # Case by case, and the slow speeds of each first, which take the most steps.
        futures = {
            pool.submit(one, key, found[numbers[0]].case) for key, numbers in waiting.items()
        }
        try:
            while futures:
                done, futures = wait(futures, timeout=0.2, return_when=FIRST_COMPLETED)
                for future in done:
                    try:
                        outcome = future.result()
                    except CancelledError:
                        continue
                    yield outcome
        finally:
            if futures:
                stop.set()
                for future in futures:
                    future.cancel()


def _prepared(
    case: Case, ready: dict[str, Future[Prepared]], lock: threading.Lock
) -> Callable[[], Prepared]:
    """What does not depend on the speed, made once a case by whichever thread comes first."""

    def give() -> Prepared:
        from enginesim.network.engine import prepare

        with lock:
            is_first = case.digest not in ready
            future = ready.setdefault(case.digest, Future())
        if is_first:
            try:
                future.set_result(prepare(case))
            except BaseException as error:
                future.set_exception(error)
                raise
        return future.result()

    return give


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
