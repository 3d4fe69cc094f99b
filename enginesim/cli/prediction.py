"""How is a curve worked out with somebody waiting: progress, Ctrl-C, refinement?"""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import click

from enginesim.base.provenance import stamp
from enginesim.cycle.speeds import refine
from enginesim.performance import Curve, summarise
from enginesim.report.units import scale

if TYPE_CHECKING:
    from types import FrameType

    from enginesim.base.errors import CycleError
    from enginesim.base.provenance import Provenance
    from enginesim.case import Case
    from enginesim.cycle.record import CycleRecord
    from enginesim.performance import Performance
    from enginesim.report.units import System


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
        The same speeds, in the order in which they were finished.
    failed : dict of float to str
        Speeds that broke down [rpm], and why.
    is_interrupted : bool
        Whether the user stopped it.
    """

    provenance: Provenance
    points: dict[float, Performance] = field(default_factory=dict)
    records: list[CycleRecord] = field(default_factory=list)
    failed: dict[float, str] = field(default_factory=dict)
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

    Returns
    -------
    Prediction
        All that was finished.
    """
    from enginesim.base.jit import is_cached

    if not is_cached():
        click.echo("compiling, once on this machine: up to a minute ...", err=True)

    from enginesim.cycle import curve
    from enginesim.cycle.curves import tables_of

    found = Prediction(stamp(case.digest))
    cancel = threading.Event()
    with _progress() as (expect, tell), _interruptible(cancel):

        def done(record: CycleRecord) -> None:
            point = summarise(case, tables_of(case, record.rpm), record)
            found.points[record.rpm] = point
            found.records.append(record)
            tell(_line(point, units))

        def broken(rpm: float, error: CycleError) -> None:
            found.failed[rpm] = str(error)
            tell(f"{rpm:.0f} rpm: FAILED")

        waiting = speeds
        while waiting and not cancel.is_set():
            expect(len(waiting))
            curve(
                case,
                waiting,
                jobs=jobs,
                on_done=done,
                on_failed=broken,
                cancel=cancel,
                traces=traced,
            )
            waiting = _added(found) if is_refined else ()
    found.is_interrupted = cancel.is_set()
    return found


def _added(found: Prediction) -> tuple[float, ...]:
    if not found.points:
        return ()
    curve = found.curve
    return tuple(
        rpm for rpm in refine(curve["rpm"].tolist(), curve["torque"].tolist())
        if rpm not in found.failed
    )  # fmt: skip


@contextmanager
def _interruptible(cancel: threading.Event) -> Iterator[None]:
    """Let the first Ctrl-C set an event, and the second be what it always is."""
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


Expect = Callable[[int], None]
Tell = Callable[[str], None]


@contextmanager
def _progress() -> Iterator[tuple[Expect, Tell]]:
    """A bar on a terminal, a line for each speed anywhere else; on the error stream."""
    if not sys.stderr.isatty():
        yield (lambda _: None), (lambda line: click.echo(line, err=True))
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns: tuple[Any, ...] = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("simulating", total=0)

        def expect(n: int) -> None:
            bar.update(task, total=(bar.tasks[0].total or 0) + n)

        def tell(line: str) -> None:
            bar.update(task, advance=1, description=line)

        yield expect, tell


def _line(point: Performance, units: System) -> str:
    torque = scale("torque", units).with_unit(point.torque)
    ended = f"{point.cycles} cycles" if point.converged else "NOT CONVERGED"
    return f"{point.rpm:.0f} rpm: {torque}, {ended}"
