"""What does a process do that runs points for a study, here or on another machine?"""

from __future__ import annotations

import os
import signal
import threading
import time
import traceback
from contextlib import suppress
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from enginesim.base.errors import EngineSimError
from enginesim.study.store_rows import Failure

if TYPE_CHECKING:
    from collections.abc import Callable
    from multiprocessing.connection import Connection

    from enginesim.case import Case
    from enginesim.network.engine import Prepared
    from enginesim.performance import Performance

_warm = threading.Event()
_warming = threading.Lock()


class Deadline:
    """
    Tells a run to stop when its time is over.

    Parameters
    ----------
    time_limit : float or None
        From now; None is without end. [s]
    """

    def __init__(self, time_limit: float | None) -> None:
        self._end = None if time_limit is None else time.monotonic() + time_limit

    def is_set(self) -> bool:
        """Whether the time is over."""
        return self._end is not None and time.monotonic() > self._end


def work(
    case: Case,
    rpm: float,
    time_limit: float | None = None,
    on_begun: Callable[[], None] | None = None,
) -> tuple[Performance | Failure, float]:
    """
    Run one point, whatever comes of it.

    Parameters
    ----------
    case : Case
        The engine.
    rpm : float
        Engine speed. [rpm]
    time_limit : float, optional
        Time after which the point is given up; loading and compiling are not counted. [s]
    on_begun : callable, optional
        Called when all is loaded and the time begins to count.

    Returns
    -------
    result : Performance or Failure
        What came of it; a fault of the program is a failure too, with its traceback.
    seconds : float
        Time that it took. [s]
    """
    from enginesim.cycle.simulation import CancelledError
    from enginesim.study.runs import run_one

    begun = time.perf_counter()
    try:
        warm_up(case, rpm)
        if on_begun is not None:
            on_begun()
        begun = time.perf_counter()
        deadline = Deadline(time_limit)
        result, _, seconds = run_one(case, rpm, lambda: _prepared(case), deadline)
    except CancelledError as error:
        reason = f"not finished in {time_limit:g} s: {error}"
        return Failure(rpm, "time limit", reason, time_limit), time.perf_counter() - begun
    except Exception:  # noqa: BLE001  the study goes on; the traceback is in its log
        return Failure(rpm, "fault", traceback.format_exc()), time.perf_counter() - begun
    return result, seconds


@lru_cache(maxsize=8)
def _prepared(case: Case) -> Prepared:
    from enginesim.network.engine import prepare

    return prepare(case)


def warm_up(case: Case, rpm: float) -> None:
    """
    Load or compile all that a run needs, by one cycle of it; once a process.

    Parameters
    ----------
    case : Case
        The engine that is to be run.
    rpm : float
        Engine speed. [rpm]
    """
    if _warm.is_set():
        return
    from enginesim.case import amend
    from enginesim.cycle import simulate

    with _warming:
        if not _warm.is_set():
            short = {"numerics.max_cycles": 1, "numerics.min_cycles": 1}
            with suppress(EngineSimError):
                simulate(amend(case, short), rpm)
            _warm.set()


def is_compiled() -> bool:
    """
    Whether this machine has the compiled kernels of this program already.

    Returns
    -------
    bool
        False means that the first point compiles them, which takes up to a minute.
    """
    from enginesim.base.jit import is_cached

    return is_cached()


def serve(pipe: Connection, nice: int) -> None:
    """
    Run points that come through a pipe until it is closed: the body of a worker process.

    Parameters
    ----------
    pipe : Connection
        Brings ``(case, rpm, time_limit)``; takes ``("ready", is_compiled)`` once, then, for each
        point, ``("begun", None)`` when all is loaded and ``("done", (result, seconds))``.
    nice : int
        Raised by so much, to leave the machine to others. [-]

    Notes
    -----
    Signals that a terminal or a batch queue sends to a whole group of processes are left to the
    parent: it says when to stop, or is gone, which closes the pipe.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    if nice and hasattr(os, "nice"):
        os.nice(nice)
    with suppress(EOFError, OSError):
        pipe.send(("ready", is_compiled()))
        while True:
            job: tuple[Any, float, float | None] = pipe.recv()
            pipe.send(("done", work(*job, on_begun=lambda: pipe.send(("begun", None)))))
