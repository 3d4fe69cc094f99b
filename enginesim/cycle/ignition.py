"""Where does the spark come to rest, when each cycle is run with what the last one asked for?"""

from __future__ import annotations

import math

import numpy as np

from enginesim.cycle.simulation import CYCLE, N_SAMPLE, WITHOUT_WAVES, Run
from enginesim.cycle.spark import STEP, ClosedParts, best_spark, knock_limited_spark
from enginesim.kernels import cylinder_layout as cl
from enginesim.kernels import layout as at
from enginesim.kernels.sampling import cylinder_volumes

SPARK_TOLERANCE = math.radians(0.1)
NEAR = math.radians(2.0)  # a search that moved the spark less begins the next one at close hand
BOLD_CYCLES = 4  # from then on the spark goes half the way: whole steps can keep cycles alternating
NEARLY_PERIODIC = 1e-3  # imbalance below which the charge hardly changes: the spark may rest


def typical_parts(run: Run) -> ClosedParts:
    """
    Closed parts of the cylinders that decide the spark.

    Parameters
    ----------
    run : Run
        A run with at least one cycle.

    Returns
    -------
    ClosedParts
        The cylinder nearest to knock and the one that trapped least: the best spark of all lies
        between theirs, and in a V8 the search costs a quarter of one over all cylinders. Those of
        earlier cycles stay, or the spark could swing between two that knock in turn.
    """
    cyl = run.engine.state.cyl
    if len(run.history) == 1:
        # Most cylinders were still filled by the first state: take the last one to close.
        closing = np.mod(run.engine.network.phase + cyl[:, cl.C_IVC_ANGLE], CYCLE)
        rows = [int(np.argmax(closing))]
    else:
        worst = int(np.argmax(cyl[:, cl.C_LAST_KNOCK]))
        least = int(np.argmin(cyl[:, cl.C_IVC_AIR]))
        run.watched.update((worst, least))
        rows = sorted(run.watched)
    par = run.par[rows].copy()
    par[:, cl.P_MEMORY] = 0.0  # what another spark would do in the end
    return ClosedParts(
        np.ascontiguousarray(cyl[rows]),
        par,
        run.engine.network.gas,
        run.omega,
        np.array([_work_after_opening(run, c) for c in rows]),
        # Without waves the burns of the engine itself go in such steps.
        STEP if run.engine.network.coupling is None else WITHOUT_WAVES * STEP,
    )


def _work_after_opening(run: Run, c: int) -> float:
    """
    Work from exhaust opening to bottom dead centre per pressure at the opening. [m3].

    Of the last cycle: the pressure then falls much the same way whatever it began from, so that
    another spark's share follows from its pressure at the opening.
    """
    network = run.engine.network
    opening = run.engine.state.cyl[c, cl.C_EVO_P]
    own = np.radians(np.arange(math.ceil(math.degrees(run.par[c, cl.P_EVO])), 181.0))
    if opening <= 0.0 or len(own) < 2:
        return 0.0
    samples = np.rint((network.phase[c] + own) / CYCLE * (N_SAMPLE - 1)).astype(int)
    p = run.tape[samples % (N_SAMPLE - 1), c * at.K_PER_CYLINDER + at.K_P]
    volume = np.empty((1, len(own)))
    cylinder_volumes(volume, run.par[c : c + 1], np.zeros(1), own)
    return float(np.sum(0.5 * (p[1:] + p[:-1]) * np.diff(volume[0])) / opening)


def adjust_spark(run: Run, length: int = 1) -> bool:
    """
    Move the spark to where the case wants it, from what the cylinders trapped last.

    Parameters
    ----------
    run : Run
        The simulation.

    length : int
        Cycles after which a state is to return: 2 where they alternate. [-]

    Returns
    -------
    bool
        Whether the spark has come to rest.

    Raises
    ------
    CycleError
        If the closed part breaks down.

    Notes
    -----
    A spark that turns back goes half as far from then on, so that it closes in on where it turns:
    where cycles alternate, or two sparks are as good, whole steps would never end.
    """
    mode = run.case.spark.mode
    if mode == "schedule" or run.has_settled:
        return True
    parts = typical_parts(run)
    old = float(run.par[0, cl.P_SPARK])
    new = best_spark(parts, old, is_near=run.is_spark_near)
    if mode == "knock limited":
        new = knock_limited_spark(parts, new)
    move = new - old
    if len(run.history) > BOLD_CYCLES:
        turns = move * run.spark_move < 0.0
        run.spark_share = min(run.spark_share, 0.5) * (0.5 if turns else 1.0)
    run.spark_move = move
    run.is_spark_near = abs(move) < NEAR
    move *= run.spark_share
    run.has_settled = abs(move) < SPARK_TOLERANCE and run.gain(length) < NEARLY_PERIODIC
    run.par[:, cl.P_SPARK] = old + move
    return run.has_settled
