"""
Which engines of a study cannot be told apart, because they differ by less than the error?

Source: the error of a difference, docs/decisions/0014-error-of-a-difference.md.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from enginesim.study.case_numbers import case_number
from enginesim.study.comparison import MESH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.case import Case
    from enginesim.study.limits import Aim
    from enginesim.study.trials import Outcome, Trial

# Results that go with the torque, whose error was measured; acceleration times go with the power.
_WITH_TORQUE: Final = frozenset(
    ("torque", "torque_indicated", "power", "bmep", "imep_net", "imep_gross", "ve", "ve_plenum",
     "delivery_ratio", "air_flow", "fuel_flow", "bsfc")
)  # fmt: skip


def difference_error(outcome: Outcome, aim: Aim, base: Case) -> float | None:
    """
    Numerical error of the difference between the best engine and another one.

    Parameters
    ----------
    outcome : Outcome
        A study.
    aim : Aim
        By which engines are ranked.
    base : Case
        The engine that the study began with.

    Returns
    -------
    float or None
        Both tolerances of convergence and the mesh, as in a comparison; zero for a number that
        the case alone decides; None where it was never measured, or no engine is good. [SI]
    """
    measure = aim.measure
    if measure.origin == "case":
        return 0.0
    if measure.origin == "result" and measure.number not in _WITH_TORQUE:
        return None
    best = outcome.best(aim)
    if not best or not best[0].curve:
        return None
    torques = [torque for _, torque, _ in best[0].curve]
    mean = sum(torques) / len(torques)
    if mean <= 0.0:
        return None
    pressure = 4.0 * math.pi * mean / case_number(base, "displacement")
    share = math.hypot(math.sqrt(2.0) * base.numerics.bmep_tolerance / pressure, MESH)
    return share * abs(outcome.number(best[0], measure))


def ranks(outcome: Outcome, aim: Aim, trials: Sequence[Trial], error: float) -> tuple[int, ...]:
    """
    Ranks of some engines: one more than the number of good engines that are surely better.

    Parameters
    ----------
    outcome : Outcome
        A study.
    aim : Aim
        By which engines are ranked.
    trials : sequence of Trial
        Good engines.
    error : float
        From `difference_error`. [SI]

    Returns
    -------
    tuple of int
        The same rank for engines that nothing is surely between. [-]
    """
    costs = [aim.cost(outcome.number(trial, aim.measure)) for trial in outcome.of_status("good")]
    found = []
    for trial in trials:
        own = aim.cost(outcome.number(trial, aim.measure))
        found.append(1 + sum(cost < own - error for cost in costs))
    return tuple(found)


def tied(outcome: Outcome, aim: Aim, error: float) -> int:
    """
    How many good engines cannot be told from the best one.

    Parameters
    ----------
    outcome : Outcome
        A study.
    aim : Aim
        By which engines are ranked.
    error : float
        From `difference_error`. [SI]

    Returns
    -------
    int
        The best itself counts. [-]
    """
    costs = [
        aim.cost(outcome.number(trial, aim.measure))
        for trial in outcome.best(aim, len(outcome.trials))
    ]
    return sum(cost <= costs[0] + error for cost in costs)
