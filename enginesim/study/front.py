"""Which engines are beaten by none in both aims at once?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike

    from enginesim.study.limits import Aim
    from enginesim.study.trials import Outcome, Trial


def front(outcome: Outcome, aims: Sequence[Aim]) -> list[Trial]:
    """
    Good engines that no other good engine beats in both aims.

    Parameters
    ----------
    outcome : Outcome
        A study.
    aims : sequence of Aim
        Two of them.

    Returns
    -------
    list of Trial
        The best in the first aim first.
    """
    good = outcome.of_status("good")
    costs = [[a.cost(outcome.number(trial, a.measure)) for a in aims] for trial in good]
    return [good[i] for i in non_dominated(costs)] if good else []


def non_dominated(costs: ArrayLike) -> list[int]:
    """
    Rows that no other row equals or beats in every column while beating it in one.

    Parameters
    ----------
    costs : array_like, shape (n, 2)
        Two costs of each engine, less is better; a row with what is no number is left out. [any]

    Returns
    -------
    list of int
        Numbers of the rows, the first cost rising; rows that are the same are all kept.

    Examples
    --------
    >>> non_dominated([[1.0, 3.0], [2.0, 2.0], [2.5, 2.5], [3.0, 1.0]])
    [0, 1, 3]
    """
    table = np.asarray(costs, dtype=np.float64).reshape(-1, 2)
    rows = np.flatnonzero(~np.isnan(table).any(axis=1))
    order = rows[np.lexsort((table[rows, 1], table[rows, 0]))]
    kept: list[int] = []
    least = np.inf
    for row in order:
        first, second = table[row]
        if second < least or (kept and table[kept[-1]].tolist() == [first, second]):
            kept.append(int(row))
            least = min(least, second)
    return kept


def hypervolume(costs: ArrayLike, corner: tuple[float, float]) -> float:
    """
    Area between a front and a corner that is worse than all of it.

    Parameters
    ----------
    costs : array_like, shape (n, 2)
        Two costs of each engine. [any]
    corner : tuple of float
        Costs beyond which nothing counts. [any]

    Returns
    -------
    float
        Area, by which two fronts are compared. [any]

    Examples
    --------
    >>> hypervolume([[1.0, 2.0], [2.0, 1.0]], (3.0, 3.0))
    3.0
    """
    table = np.asarray(costs, dtype=np.float64).reshape(-1, 2)
    area, ceiling = 0.0, corner[1]
    for row in non_dominated(table):
        first, second = table[row]
        if first < corner[0] and second < ceiling:
            area += (corner[0] - first) * (ceiling - second)
            ceiling = second
    return float(area)
