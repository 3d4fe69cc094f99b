"""How are cycles repeated until they are periodic?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from enginesim.base.errors import CycleError
from enginesim.cycle.forecast import Forecast
from enginesim.cycle.simulation import (
    Cancel,
    CancelledError,
    Run,
    adjust_spark,
    blank_tape,
    run_cycle,
)
from enginesim.kernels import layout as at
from enginesim.network.engine import build_rough
from enginesim.network.rough import LONGER, carry

#: Imbalance at which a run leaves the rough mesh: about as well as the two meshes agree [-].
ENOUGH = 1e-2

#: Steps of the rough start over the others, without ducts [-].
STRIDE = 4.0

Progress = Callable[[int, float], None]


def run_to_period(run: Run, cancel: Cancel | None = None, progress: Progress | None = None) -> bool:
    """
    Repeat cycles, first on a rough mesh, until they are periodic or their number is used up.

    Parameters
    ----------
    run : Run
        The simulation.
    cancel : Cancel, optional
        Asked many times a cycle.
    progress : callable, optional
        Gets the number of cycles and the mean effective pressure [Pa] after each.

    Returns
    -------
    bool
        Whether the last cycle repeats the one before: mean effective pressure and the masses of
        all volumes within the case's tolerances, spark at rest. Cycles on the rough mesh count
        as cycles, but never as repeated ones.

    Raises
    ------
    CycleError
        If a step fails however small.
    """
    numerics = run.case.numerics
    _start_roughly(run, cancel, progress)
    forecast = Forecast()
    while True:
        run_cycle(run, cancel)
        mep, imbalance = run.history[-1]
        count = len(run.history)
        if progress is not None:
            progress(count, mep)
        is_last = count >= numerics.max_cycles
        is_at_rest = run.has_settled if is_last else adjust_spark(run)
        proper = count - run.n_rough
        if proper >= max(numerics.min_cycles, 2) and is_at_rest:
            change = abs(mep - run.history[-2][0])
            if change < numerics.bmep_tolerance and imbalance < numerics.imbalance_tolerance:
                return True
        if is_last:
            return False
        if proper > 1:
            forecast.move(run.engine.network, run.engine.state)


def _start_roughly(run: Run, cancel: Cancel | None, progress: Progress | None) -> None:
    """
    Bring a run near its periodic cycle on a mesh that costs about a third.

    If a step fails there, the run begins on its own mesh as if nothing had been tried. Source:
    nested iteration, W. L. Briggs et al., *A Multigrid Tutorial*, SIAM 2000 (from memory).
    """
    engine = build_rough(run.engine)
    settings = run.settings.copy()
    settings[at.S_MAX_STEP] *= LONGER if engine.network.coupling is None else STRIDE
    rough = replace(
        run,
        engine=engine,
        par=run.par.copy(),
        tape=blank_tape(engine, 0),
        places=run.places[:0],
        settings=settings,
    )
    rough.history, rough.watched = [], set()
    forecast = Forecast()
    try:
        while len(rough.history) < run.case.numerics.max_cycles // 2:
            run_cycle(rough, cancel)
            if progress is not None:
                progress(len(rough.history), rough.history[-1][0])
            adjust_spark(rough)
            if rough.history[-1][1] < ENOUGH:
                break
            if len(rough.history) > 1:
                forecast.move(engine.network, engine.state)
    except CancelledError:
        raise
    except CycleError:
        return
    run.par[:] = rough.par
    run.history, run.watched = rough.history, rough.watched
    run.is_spark_near, run.n_rough = rough.is_spark_near, len(rough.history)
    carry(engine.network, engine.state, run.engine.network, run.engine.state)
