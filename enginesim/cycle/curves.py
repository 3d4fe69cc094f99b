"""One speed, or a curve over many speeds: from a case to records."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Collection, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from functools import lru_cache
from typing import TYPE_CHECKING

from enginesim.base.errors import CycleError
from enginesim.cycle.alternation import mean_of
from enginesim.cycle.period import run_to_period
from enginesim.cycle.recording import recorded
from enginesim.cycle.simulation import Cancel, CancelledError, begin, run_cycle
from enginesim.gas import humidity_ratio
from enginesim.gas import tables as gas_tables
from enginesim.network.engine import Prepared, prepare

if TYPE_CHECKING:
    from enginesim.case.tree import Case
    from enginesim.cycle.record import CycleRecord
    from enginesim.gas.tables import GasTables


def tables_of(case: Case, rpm: float) -> GasTables:
    """
    Gas tables of a case at one speed's mixture.

    Parameters
    ----------
    case : Case
        A loaded case.
    rpm : float
        Engine speed. [rpm]

    Returns
    -------
    GasTables
        From memory or disk, or built.
    """
    air, fuel = case.air, case.fuel
    humidity = humidity_ratio(air.pressure, air.temperature, air.humidity)
    return _tables(
        fuel.name, case.mixture.at(rpm), humidity, fuel.octane_research, fuel.octane_motor
    )


@lru_cache(maxsize=64)
def _tables(
    fuel: str, lambda_: float, humidity: float, research: float | None, motor: float | None
) -> GasTables:
    return gas_tables(fuel, lambda_, humidity, octane_research=research, octane_motor=motor)


def simulate(
    case: Case,
    rpm: float,
    *,
    tables: GasTables | None = None,
    prepared: Prepared | None = None,
    progress: Callable[[int, float], None] | None = None,
    cancel: Cancel | None = None,
    traces: bool = False,
) -> CycleRecord:
    """
    Simulate a case at one speed until the cycle repeats itself.

    Parameters
    ----------
    case : Case
        A loaded case.
    rpm : float
        Engine speed. [rpm]
    tables : GasTables, optional
        Gas at this speed's mixture; the case's own if left out.
    prepared : Prepared, optional
        What does not depend on the speed, if at hand.
    progress : callable, optional
        Gets the number of cycles and the mean effective pressure [Pa] after each cycle.
    cancel : Cancel, optional
        Asked many times a cycle whether to stop.
    traces : bool
        Keep pressure, velocity and temperature of every duct cell; all else stays the same.

    Returns
    -------
    CycleRecord
        The last cycle; `converged` and `status` say whether it is periodic.

    Raises
    ------
    CycleError
        If a step fails however small, or the run was told to stop.
    CaseError, NetworkError
        If the case cannot be built.

    Examples
    --------
    >>> import enginesim
    >>> case = enginesim.load("cases/teaching-single.toml")
    >>> record = simulate(case, 3000.0)
    >>> record.converged
    True
    """
    ready = prepare(case) if prepared is None else prepared
    run = begin(case, tables_of(case, rpm) if tables is None else tables, rpm, ready, traces=traces)
    ending = run_to_period(run, cancel, progress)
    record = recorded(run, ending, traces)
    if ending.kind != "alternating":
        return record
    run_cycle(run, cancel)
    return mean_of(record, recorded(run, ending, traces))


def curve(
    case: Case,
    rpms: Sequence[float],
    *,
    tables: GasTables | None = None,
    jobs: int | None = None,
    on_done: Callable[[CycleRecord], None] | None = None,
    on_failed: Callable[[float, CycleError], None] | None = None,
    cancel: threading.Event | None = None,
    traces: Collection[float] = (),
) -> tuple[CycleRecord, ...]:
    """
    Simulate a case at many speeds, several at a time.

    Parameters
    ----------
    case : Case
        A loaded case.
    rpms : sequence of float
        Engine speeds. [rpm]
    tables : GasTables, optional
        Gas for all speeds; each speed's own mixture if left out.
    jobs : int, optional
        Speeds under way at a time; as many as there are processors if left out. [-]
    on_done : callable, optional
        Gets each record as it is finished, in the calling thread.
    on_failed : callable, optional
        Gets speed and error of each one that fails; without it the first error is raised.
    cancel : threading.Event, optional
        Set it to stop; speeds under way end within a small part of a cycle.
    traces : collection of float
        Speeds whose duct cells are kept. [rpm]

    Returns
    -------
    tuple of CycleRecord
        Records of all speeds that were finished, in the order of `rpms`.

    Raises
    ------
    CycleError
        If a speed fails and there is no `on_failed`.
    CaseError, NetworkError
        If the case cannot be built.
    KeyboardInterrupt
        If the user interrupts; speeds under way are stopped first.

    Notes
    -----
    Each speed starts from the same first state, whatever ran before it, so a result does not
    depend on the other speeds or on `jobs`. The kernels release Python's lock, so that threads
    keep all processors busy without the second that a process takes to start.
    """
    stop = threading.Event() if cancel is None else cancel
    ready = prepare(case)
    workers = max(1, min(jobs or os.cpu_count() or 1, len(rpms)))
    found: dict[float, CycleRecord] = {}

    def one(rpm: float) -> CycleRecord:
        return simulate(case, rpm, tables=tables, prepared=ready, cancel=stop, traces=rpm in traces)

    with ThreadPoolExecutor(workers) as pool:
        # The slowest cranks take the most steps: begin with them, so that none is left over.
        waiting: dict[Future[CycleRecord], float] = {
            pool.submit(one, rpm): rpm for rpm in sorted(set(rpms))
        }
        try:
            while waiting:
                done, _ = wait(waiting, timeout=0.2, return_when=FIRST_COMPLETED)
                for future in done:
                    rpm = waiting.pop(future)
                    try:
                        found[rpm] = future.result()
                    except CancelledError:
                        continue
                    except CycleError as error:
                        if on_failed is None:
                            raise
                        on_failed(rpm, error)
                        continue
                    if on_done is not None:
                        on_done(found[rpm])
        finally:
            if waiting:
                stop.set()
                for future in waiting:
                    future.cancel()
    return tuple(found[rpm] for rpm in rpms if rpm in found)
