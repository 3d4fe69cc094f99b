"""Do strong and weak cycles follow each other, and what is the mean of the two?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from enginesim.cycle.record import CycleRecord
from enginesim.cycle.simulation import run_cycle
from enginesim.kernels import cylinder_layout as cl

if TYPE_CHECKING:
    from enginesim.cycle.simulation import Cancel, Run

Array = NDArray[np.float64]

#: Cycles of a proof: an even number [-].
PROOF = 6
#: Residual above which burns depend on it so much that they are damped from the start: a third of
#: burned gas leaves an eighth of the burning velocity [-].
DILUTE = 0.33
#: Most of the last burn in the next: from then on it is too slow [-].
MOST_DAMPING = 0.875
#: Residual below which a swing has other causes than the burn [-].
CLEAN = 0.2

_SEEN = 5  # cycles that are looked at for a swing: four changes
_LONG = 8  # the same for a scatter: seven changes
_OPPOSITE = -0.7  # cosine between successive changes that counts as back and forth [-]
_LASTING = 0.7  # a swing of which less is left after two cycles dies by itself [-]
_SMALLEST = 2e-3  # swings of the work that the plain search settles, relative [-]
_STILL = 1e-2  # changes of the work that are no scatter, relative [-]
_RETURN = 0.5  # way from first to last over the way gone: a drift that leads nowhere [-]
_UNDIMINISHED = 0.5  # changes of which so much is left do not die [-]
_LATER = math.radians(3.0)  # spark of a disturbed cycle
#: Fields of a record that are of the whole run, not of a cycle.
_OF_THE_RUN = ("rpm", "theta", "phase", "spark", "knock_margin", "steps", "rejected", "cycles")
_WORST = ("mass_error", "energy_error", "imbalance")


class Alternation:
    """
    Work of the cylinders cycle after cycle, and whether it goes back and forth without end.

    Where much burned gas stays in the cylinders, a weak cycle leaves fuel and air for a strong one,
    which leaves little: cylinders may swing in turn or against each other.
    """

    def __init__(self) -> None:
        self._seen: list[Array] = []

    def add(self, work: Sequence[float] | Array) -> None:
        """
        Take note of a cycle.

        Parameters
        ----------
        work : sequence of float, shape (n_cylinder,)
            Of each cylinder. [J]
        """
        self._seen.append(np.array(work, dtype=np.float64))
        del self._seen[:-_LONG]

    def clear(self) -> None:
        """Begin anew: what follows is another iteration."""
        self._seen.clear()

    @property
    def is_lasting(self) -> bool:
        """Whether the last cycles went back and forth by a swing that does not die away."""
        if len(self._seen) < _SEEN:
            return False
        changes = np.diff(self._seen[-_SEEN:], axis=0)
        sizes = np.linalg.norm(changes, axis=1)
        scale = float(np.linalg.norm(np.mean(np.abs(self._seen), axis=0)))
        if not sizes.min() > _SMALLEST * scale:
            return False
        cosines = np.sum(changes[1:] * changes[:-1], axis=1) / (sizes[1:] * sizes[:-1])
        return bool(np.all(cosines < _OPPOSITE) and np.all(sizes[2:] > _LASTING * sizes[:-2]))

    @property
    def is_scattered(self) -> bool:
        """Whether the last cycles changed without getting anywhere, in whatever order."""
        if len(self._seen) < _LONG:
            return False
        sizes = np.linalg.norm(np.diff(self._seen, axis=0), axis=1)
        scale = float(np.linalg.norm(np.mean(np.abs(self._seen), axis=0)))
        way = float(np.linalg.norm(self._seen[-1] - self._seen[0]))
        early, late = float(np.median(sizes[:3])), float(np.median(sizes[-3:]))
        return late > max(_STILL * scale, _UNDIMINISHED * early) and way < _RETURN * sizes.sum()


def damp(run: Run, part: float) -> None:
    """
    Let burns follow their charge only in part, or fully again.

    How fast a dilute charge burns depends so much on what the last burn left that each cycle would
    overshoot. Delay and duration of a damped burn lie, geometrically, between those of the last and
    what the charge asks for. A cycle that repeats itself is the same with either: only the way to
    it is damped.

    Parameters
    ----------
    run : Run
        Between two cycles.
    part : float
        Part of the last burn in the next; 0: none. [-]
    """
    run.par[:, cl.P_MEMORY] = part


def damping(run: Run) -> float:
    """
    How much burns are damped.

    Parameters
    ----------
    run : Run
        A run.

    Returns
    -------
    float
        As :func:`damp` left it; 0: not at all. [-]
    """
    return float(run.par[0, cl.P_MEMORY])


def most_residual(run: Run) -> float:
    """
    Burned gas in the charge of the cylinder that has most of it.

    Parameters
    ----------
    run : Run
        After a cycle.

    Returns
    -------
    float
        Part of the mass at intake closing. [-]
    """
    held = run.engine.state.cyl[:, [cl.C_IVC_AIR, cl.C_IVC_FUEL, cl.C_IVC_BURNED]]
    return float(np.max(held[:, 2] / held.sum(axis=1)))


def grows(run: Run, cancel: Cancel | None) -> bool:
    """
    Whether a small disturbance of a cycle that repeats itself grows in the next ones.

    Parameters
    ----------
    run : Run
        Between two cycles; some cycles older afterwards.
    cancel : Cancel, optional
        Asked between chunks.

    Returns
    -------
    bool
        After a late spark in one cycle.
    """
    sparks = run.par[:, cl.P_SPARK].copy()
    run.par[:, cl.P_SPARK] += _LATER
    run_cycle(run, cancel)
    run.par[:, cl.P_SPARK] = sparks
    for _ in range(PROOF):
        run_cycle(run, cancel)
    changes = np.diff(run.works[-PROOF:], axis=0)
    first, *_, last = np.linalg.norm(changes, axis=1)
    return bool(last > first)


def swing_of(run: Run) -> Array:
    """
    Half the difference between the last cycle and the one before.

    Parameters
    ----------
    run : Run
        A run of two cycles or more.

    Returns
    -------
    ndarray, shape (n_cylinder,)
        Of the work of each cylinder. [J]
    """
    before, last = run.works[-2:]
    swing: Array = 0.5 * (last - before)
    return swing


def mean_of(first: CycleRecord, second: CycleRecord) -> CycleRecord:
    """
    Mean of two cycles that follow each other in turn.

    Parameters
    ----------
    first, second : CycleRecord
        Of the same run.

    Returns
    -------
    CycleRecord
        Mean of every number and channel, the worse of the book-keeping, and in `swing` what the
        second has more than the mean.
    """
    values: dict[str, Any] = {"swing": 0.5 * (second.work - first.work)}
    for field in fields(CycleRecord):
        one, other = getattr(first, field.name), getattr(second, field.name)
        if field.name in _WORST:
            values[field.name] = max(one, other, key=abs)
        elif isinstance(one, float | np.ndarray) and field.name not in (*_OF_THE_RUN, *values):
            values[field.name] = 0.5 * (one + other)
    return replace(second, **values)
