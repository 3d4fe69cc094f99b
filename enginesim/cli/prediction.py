"""How is a curve worked out with somebody waiting: progress, Ctrl-C, refinement?"""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import click

from enginesim.base.errors import StoreError
from enginesim.base.provenance import stamp
from enginesim.cli.progress import progress
from enginesim.cycle.speeds import refine
from enginesim.performance import Curve, summarise
from enginesim.performance.quoting import is_quotable
from enginesim.report.units import scale
from enginesim.study.store_rows import Failure

if TYPE_CHECKING:
    from types import FrameType

    from enginesim.base.errors import CycleError
    from enginesim.base.provenance import Provenance
    from enginesim.case import Case
    from enginesim.cli.progress import Expect
    from enginesim.cycle.record import CycleRecord
    from enginesim.performance import Performance
    from enginesim.report.units import System
    from enginesim.study.store import Store

_LOOK = 1.0  # between two looks at speeds that another process runs [s]


@dataclass
class Prediction:
    """
    What was worked out of what was asked for.

    Attributes
    ----------
    provenance : Provenance
        Stamp of the result.
    points : dict of float to Performance
        By speed. [rpm]
    records : list of CycleRecord
        Cycles of the speeds that were run now, and of those to be drawn.
    failed : dict of float to str
        Speeds that broke down [rpm], and why.
    stored : set of float
        Those of both that came from the store. [rpm]
    is_interrupted : bool
        Whether the user stopped it.
    """

    provenance: Provenance
    points: dict[float, Performance] = field(default_factory=dict)
    records: list[CycleRecord] = field(default_factory=list)
    failed: dict[float, str] = field(default_factory=dict)
    stored: set[float] = field(default_factory=set)
    is_interrupted: bool = False

    @property
    def curve(self) -> Curve:
        """Results over speed."""
        return Curve(self.points.values())


def predict(
    case: Case,
    speeds: tuple[float, ...],
    traced: frozenset[float],
    *,
    is_refined: bool,
    jobs: int | None,
    units: System,
    store: Store | None = None,
    keep_cycles: bool = False,
) -> Prediction:
    """
    Work out a curve, showing how far it is.

    The first Ctrl-C stops the simulations and keeps what is finished; a second one ends the
    program at once.

    Parameters
    ----------
    case : Case
        The engine.
    speeds : tuple of float
        Speeds to work out. [rpm]
    traced : frozenset of float
        Those among them whose ducts are to be kept. [rpm]
    is_refined : bool
        Whether speeds are added where the curve bends.
    jobs : int or None
        Speeds at a time. [-]
    units : {"us", "si"}
        Units of what is shown meanwhile.
    store : Store or None
        Where results are looked for, and kept.
    keep_cycles : bool
        Whether the cycles that are run are kept there as well.

    Returns
    -------
    Prediction
        All that was finished.
    """
    found = Prediction(stamp(case.digest))
    keep = _Keeper(case, store, keep_cycles)
    claims = _Claimed(case, store)
    cancel = threading.Event()
    with progress() as (expect, tell), interruptible(cancel):

        def done(record: CycleRecord) -> None:
            from enginesim.cycle.curves import tables_of

            if record.rpm in found.points:  # known already: only its cycle was wanted
                keep(found.points[record.rpm], record)
            else:
                point = summarise(case, tables_of(case, record.rpm), record)
                keep(point, record)
                found.points[record.rpm] = point
                tell(line(point, units))
            found.records.append(record)
            claims.renew()

        def broken(rpm: float, error: CycleError) -> None:
            failure = Failure(rpm, "broke down", str(error))
            keep(failure, None)
            found.failed[rpm] = failure.reason
            tell(f"{rpm:.0f} rpm: FAILED")

        asked = speeds
        while asked and not cancel.is_set():
            missing = _take_stored(case, asked, traced, store, found)
            ours, others = claims.taken(missing)
            # Another process may have finished some between the look and the claim.
            ours = _take_stored(case, ours, traced, store, found)
            if ours:
                _run(case, ours, traced, jobs, expect, done, broken, cancel)
            if others:  # another process runs them: look again
                asked = others
                cancel.wait(_LOOK)
            else:
                asked = _added(found) if is_refined else ()
    found.is_interrupted = cancel.is_set()
    claims.drop()
    return found


class _Keeper:
    """Keeps what was run; a store that fails is told of once, and costs no result."""

    def __init__(self, case: Case, store: Store | None, keep_cycles: bool) -> None:
        self._case = case
        self._store = store if store is not None and store.is_writable else None
        self._keep_cycles = keep_cycles

    def __call__(self, result: Performance | Failure, record: CycleRecord | None) -> None:
        if self._store is None:
            return
        try:
            self._store.put(self._case, result, record=record if self._keep_cycles else None)
        except StoreError as error:
            self._store = None
            click.echo(f"results are not kept: {error}", err=True)


class _Claimed:
    """Speeds that this process has taken upon itself, so that no two on one store run the same."""

    def __init__(self, case: Case, store: Store | None) -> None:
        from enginesim.study.store_claims import Claims

        self._case = case
        self._claims = Claims(store) if store is not None and store.is_writable else None

    def taken(self, speeds: tuple[float, ...]) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Those that are ours to run, and those that another process runs at this moment."""
        if self._claims is None or not speeds:
            return speeds, ()
        try:
            ours = self._claims.take([(self._case, rpm) for rpm in speeds])
        except StoreError:  # whoever keeps the results will tell of it
            self._claims = None
            return speeds, ()
        pairs = list(zip(speeds, ours, strict=True))
        return tuple(r for r, mine in pairs if mine), tuple(r for r, mine in pairs if not mine)

    def renew(self) -> None:
        """Hold on to them."""
        if self._claims is not None:
            with suppress(StoreError):
                self._claims.renew()

    def drop(self) -> None:
        """Let go of what was not finished."""
        if self._claims is not None:
            with suppress(StoreError):
                self._claims.drop()


def _take_stored(
    case: Case,
    speeds: tuple[float, ...],
    traced: frozenset[float],
    store: Store | None,
    found: Prediction,
) -> tuple[float, ...]:
    """Fill in what the store has; speeds that are to be run."""
    if store is None:
        return speeds
    missing = []
    known = store.get_many(case, speeds)
    for rpm in speeds:
        result = known.get(rpm)
        if result is None or (isinstance(result, Failure) and not result.holds(None)):
            missing.append(rpm)
            continue
        found.stored.add(rpm)
        if isinstance(result, Failure):
            found.failed[rpm] = result.reason
            continue
        found.points[rpm] = result
        if rpm in traced:
            record = store.record(case, rpm, traces=True)
            if record is None:
                missing.append(rpm)
            else:
                found.records.append(record)
    return tuple(missing)


def _run(
    case: Case,
    speeds: tuple[float, ...],
    traced: frozenset[float],
    jobs: int | None,
    expect: Expect,
    done: Callable[[CycleRecord], None],
    broken: Callable[[float, CycleError], None],
    cancel: threading.Event,
) -> None:
    # Not where everything is stored: it takes longer to import than to read.
    from enginesim.cycle import curve

    expect(len(speeds))
    curve(case, speeds, jobs=jobs, on_done=done, on_failed=broken, cancel=cancel, traces=traced)


def _added(found: Prediction) -> tuple[float, ...]:
    curve = found.curve.quotable if found.points else None
    if curve is None:
        return ()
    return tuple(
        rpm for rpm in refine(curve["rpm"].tolist(), curve["torque"].tolist())
        if rpm not in found.failed and rpm not in found.points
    )  # fmt: skip


@contextmanager
def interruptible(cancel: threading.Event) -> Iterator[None]:
    """
    Let the first Ctrl-C set an event, and the second be what it always is.

    Parameters
    ----------
    cancel : Event
        Set by the first.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    previous = signal.getsignal(signal.SIGINT)

    def stop(number: int, frame: FrameType | None) -> None:  # noqa: ARG001
        cancel.set()
        signal.signal(signal.SIGINT, previous)

    signal.signal(signal.SIGINT, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, previous)


def line(point: Performance, units: System) -> str:
    """
    One finished speed in a few words.

    Parameters
    ----------
    point : Performance
        Its results.
    units : {"us", "si"}
        Units.

    Returns
    -------
    str
        Speed, torque and how it ended.
    """
    if not is_quotable(point):
        return f"{point.rpm:.0f} rpm: NOT CONVERGED in {point.cycles} cycles"
    torque = scale("torque", units).finer(point.torque).with_unit(point.torque)
    return f"{point.rpm:.0f} rpm: {torque}, {point.cycles} cycles"
