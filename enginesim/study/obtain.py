"""Which results are there already, and what must be run for the rest?"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

from enginesim.study.store_rows import Failure

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.cycle import CycleRecord
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
#: A result of the store, with its cycle where that is wanted.
Stored: TypeAlias = "tuple[Performance | Failure, CycleRecord | None]"


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
        Gets the number of the case in `cases` and each result that was run, here or by another
        process meanwhile, in this thread, after it was stored. Results that were in the store
        before are not told.
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
    those of a curve are: see docs/decisions/0005 and 0009. Points are claimed in a store that can
    be written, as those of a study are: of several processes one runs each, the others wait for it.
    """
    found = tuple(Obtained(case) for case in cases)
    waiting: dict[tuple[str, float], list[int]] = {}
    for i, part in enumerate(found):
        for rpm in _take_stored(part, rpms, store, keep_records):
            waiting.setdefault((part.case.digest, rpm), []).append(i)
    if waiting:
        from enginesim.study.runs import run_all

        def known(case: Case, rpm: float) -> Stored | None:
            return _stored(case, [rpm], store, keep_records).get(rpm)

        # Case by case, and the slow speeds of each first, which take the most steps.
        points = [(found[numbers[0]].case, rpm) for (_, rpm), numbers in waiting.items()]
        stop = threading.Event() if cancel is None else cancel
        for run in run_all(points, known, store=store, jobs=jobs, stop=stop):
            result, record = run.result, run.record if keep_records else None
            is_ours = run.seconds is not None
            if is_ours and store is not None and store.is_writable:
                store.put(run.case, result, seconds=run.seconds, record=record)
            for i in waiting[run.case.digest, result.rpm]:
                _take(found[i], result, record)
                if not is_ours:
                    found[i].stored.add(result.rpm)
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
    known = _stored(part.case, asked, store, keep_records)
    for rpm, (result, record) in known.items():
        _take(part, result, record)
        part.stored.add(rpm)
    return [rpm for rpm in asked if rpm not in known]


def _stored(
    case: Case, rpms: Sequence[float], store: Store | None, keep_records: bool
) -> dict[float, Stored]:
    """What the store has of a case and would not come out otherwise now; cycles if wanted."""
    found: dict[float, Stored] = {}
    if store is None:
        return found
    for rpm, result in store.get_many(case, rpms).items():
        if isinstance(result, Failure):
            if result.holds(None):
                found[rpm] = result, None
            continue
        record = store.record(case, rpm) if keep_records else None
        if record is not None or not keep_records:
            found[rpm] = result, record
    return found


def _take(part: Obtained, result: Performance | Failure, record: CycleRecord | None) -> None:
    if isinstance(result, Failure):
        part.failed[result.rpm] = result
    else:
        part.points[result.rpm] = result
    if record is not None:
        part.records[result.rpm] = record
