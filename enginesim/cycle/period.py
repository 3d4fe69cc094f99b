"""How are cycles repeated until they are periodic?"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from enginesim.base.errors import CycleError
from enginesim.cycle.acceleration import Acceleration, carried
from enginesim.cycle.alternation import (
    CLEAN,
    DILUTE,
    MOST_DAMPING,
    PROOF,
    Alternation,
    damp,
    damping,
    grows,
    most_residual,
    swing_of,
)
from enginesim.cycle.ignition import adjust_spark
from enginesim.cycle.simulation import (
    Cancel,
    CancelledError,
    Run,
    blank_tape,
    kept,
    run_cycle,
)
from enginesim.kernels import layout as at
from enginesim.network.engine import build_rough
from enginesim.network.rough import LONGER, carry

_PATIENCE = 24  # cycles that a disturbance is followed
_STAYS = 0.5  # part of the swing that must be left after them [-]
#: Imbalance at which a run leaves the rough mesh: about as well as the two meshes agree [-].
ENOUGH = 1e-2

#: Steps of the rough start over the others, without ducts [-].
STRIDE = 4.0

Progress = Callable[[int, float], None]


@dataclass(frozen=True)
class Ending:
    """
    How a run ended.

    Attributes
    ----------
    kind : str
        "periodic", "alternating" (two cycles, strong and weak, in turn), "unsteady" (a periodic
        cycle that the least disturbance leaves) or "not periodic".
    reason : str
        One sentence.
    """

    kind: Literal["periodic", "alternating", "unsteady", "not periodic"]
    reason: str


def run_to_period(
    run: Run, cancel: Cancel | None = None, progress: Progress | None = None
) -> Ending:
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
    Ending
        Periodic: the last cycle repeats the one before, mean effective pressure and the masses of
        all volumes within the case's tolerances, no more of the pressure is to come as far as can
        be told, and the spark is at rest. Alternating: the last two repeat the two before them in
        the same sense, with half the step too. Cycles on the rough mesh count as cycles, but never
        as repeated ones.

    Raises
    ------
    CycleError
        If a step fails however small.
    """
    numerics = run.case.numerics
    acceleration, watch = _start_roughly(run, cancel, progress), Alternation()
    acceleration = acceleration or Acceleration(run)
    while True:
        if not _next_cycle(run, acceleration, cancel, progress):
            continue
        count = len(run.history)
        is_last = count >= numerics.max_cycles
        is_at_rest = run.has_settled if is_last else adjust_spark(run, acceleration.length)
        if is_at_rest and count - run.n_rough >= max(numerics.min_cycles, 2):
            if _repeats(run, acceleration, 1):
                if damping(run) == 0.0:
                    return Ending("periodic", f"periodic after {count} cycles")
                if (ending := _undamped(run, acceleration, cancel)) is not None:
                    return ending
            elif acceleration.length == 2 and _repeats(run, acceleration, 2):
                return _alternating(run, cancel)
        if is_last:
            return Ending("not periodic", _why(run, acceleration))
        acceleration = _led_on(run, acceleration, watch)


def _led_on(run: Run, acceleration: Acceleration, watch: Alternation) -> Acceleration:
    """Put the engine where the next cycle begins; gives what is to choose the one after."""
    acceleration.move(run)
    watch.add(run.works[-1])
    residual, part = most_residual(run), damping(run)
    is_restless = watch.is_scattered or watch.is_lasting
    if (part == 0.0 and residual > DILUTE) or (is_restless and residual > CLEAN):
        damp(run, min(0.5 + 0.5 * part, MOST_DAMPING))
        watch.clear()
    elif is_restless and acceleration.length == 1:
        return Acceleration(run, 2)
    return acceleration


def _next_cycle(
    run: Run, acceleration: Acceleration, cancel: Cancel | None, progress: Progress | None
) -> bool:
    """Run a cycle; False if it broke down and begins again from a plain start."""
    acceleration.begin(run)
    try:
        run_cycle(run, cancel)
    except CancelledError:
        raise
    except CycleError:
        if not acceleration.recover(run):
            raise
        return False
    if progress is not None:
        progress(len(run.history), run.history[-1][0])
    acceleration.note(run)
    return True


def _repeats(run: Run, acceleration: Acceleration, length: int) -> bool:
    """Whether the last `length` cycles were those before once more."""
    numerics, history = run.case.numerics, run.history
    if len(history) - run.n_rough < 2 * length or not acceleration.is_whole:
        return False
    # Where a cycle began elsewhere than the one before it ended, it must also end where it began.
    if length == 1 and history[-1][1] >= numerics.imbalance_tolerance:
        return False
    change = max(abs(history[-1 - k][0] - history[-1 - k - length][0]) for k in range(length))
    return (
        change < numerics.bmep_tolerance
        and not abs(acceleration.ahead) >= numerics.bmep_tolerance
        and run.gain(length) < numerics.imbalance_tolerance
    )


def _undamped(run: Run, acceleration: Acceleration, cancel: Cancel | None) -> Ending | None:
    """Whether a cycle found with damped burns repeats itself without, and for how long."""
    part = damping(run)
    damp(run, 0.0)
    run_cycle(run, cancel)
    if not _repeats(run, acceleration, 1):
        damp(run, part)
        return None
    count = len(run.history)
    put_back = kept(run)
    if not grows(run, cancel):
        put_back()
        return Ending("periodic", f"periodic after {count} cycles")
    ending = _swung_up(run, cancel)
    if ending is None:
        put_back()
        return Ending(
            "unsteady",
            f"unsteady: a cycle that repeats itself was found after {count} cycles, but the least "
            "disturbance of it grows, and strong and weak cycles follow each other",
        )
    return ending


def _swung_up(run: Run, cancel: Cancel | None) -> Ending | None:
    """Two cycles in turn that a disturbed run comes to by itself; None if it comes to none."""
    acceleration, watch = Acceleration(run), Alternation()
    for _ in range(_PATIENCE):
        _next_cycle(run, acceleration, cancel, None)
        watch.add(run.works[-1])
        if acceleration.length == 2:
            if _repeats(run, acceleration, 2):
                return _alternating(run, cancel)
            acceleration.move(run)
        elif watch.is_lasting:
            acceleration = Acceleration(run, 2)
    return None


def _alternating(run: Run, cancel: Cancel | None) -> Ending:
    """Whether two cycles that repeat do so as well with half the step: if not, it is the step's."""
    count = len(run.history)
    weak, strong = sorted(1e-5 * mep for mep, _ in run.history[-2:])
    swing = swing_of(run)
    put_back = kept(run)
    run.settings[[at.S_CFL, at.S_MAX_STEP]] *= 0.5
    for _ in range(PROOF):
        run_cycle(run, cancel)
    finer = swing_of(run)
    put_back()
    values = f"mean effective pressure {strong:.3f} and {weak:.3f} bar"
    if finer @ swing < _STAYS * float(swing @ swing):
        return Ending(
            "not periodic",
            f"not periodic after {count} cycles: strong and weak cycles alternate, {values}, but "
            "not with half the step",
        )
    return Ending(
        "alternating",
        f"cycles alternate after {count} cycles: {values}, in turn, as well with half the step; "
        "results are their mean",
    )


def _why(run: Run, acceleration: Acceleration) -> str:
    mep, imbalance = run.history[-1]
    numerics = run.case.numerics
    change = abs(mep - run.history[-2][0]) if len(run.history) > 1 else math.nan
    return (
        f"not periodic after {len(run.history)} cycles: mean effective pressure still moves by "
        f"{change / 1e5:.4f} bar (allowed {numerics.bmep_tolerance / 1e5:.4f}), masses by "
        f"{imbalance:.1e} of the air (allowed {numerics.imbalance_tolerance:.0e}); in the last "
        f"cycle {acceleration.restless}"
    )


def _start_roughly(
    run: Run, cancel: Cancel | None, progress: Progress | None
) -> Acceleration | None:
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
    rough.history, rough.watched, rough.stocks, rough.works = [], set(), [], []
    acceleration, watch = Acceleration(rough), Alternation()
    try:
        while True:
            if not _next_cycle(rough, acceleration, cancel, progress):
                continue
            adjust_spark(rough)
            is_enough = rough.history[-1][1] < ENOUGH or acceleration.length == 2
            if is_enough or len(rough.history) >= run.case.numerics.max_cycles // 2:
                break
            acceleration = _led_on(rough, acceleration, watch)
    except CancelledError:
        raise
    except CycleError:
        return None
    run.par[:] = rough.par
    run.history, run.watched, run.works = rough.history, rough.watched, rough.works
    run.is_spark_near, run.n_rough = rough.is_spark_near, len(rough.history)
    run.spark_move, run.spark_share = rough.spark_move, rough.spark_share
    carry(engine.network, engine.state, run.engine.network, run.engine.state)
    return carried(acceleration, rough, run)
