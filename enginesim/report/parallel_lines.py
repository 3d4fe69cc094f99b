"""Which engines of a study are drawn as lines, where there are too many for all?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from enginesim.study.trials import Outcome, Trial

if TYPE_CHECKING:
    from enginesim.study.limits import Aim

_MOST: Final = 400  # lines of each kind; more would be a grey sheet


def lines(outcome: Outcome, aim: Aim) -> Outcome:
    """
    Engines that are drawn as lines.

    Parameters
    ----------
    outcome : Outcome
        A study with a good engine.
    aim : Aim
        By which they are the best.

    Returns
    -------
    Outcome
        At most some hundreds within 1 % of the best and as many others, of either kind first and
        last and what lies evenly between them in the order of the aim; without their curves.
    """
    every = outcome.best(aim, len(outcome.trials))
    near = {id(trial) for trial in outcome.as_good(aim)}
    good = _some([trial for trial in every if id(trial) in near])
    rest = _some([trial for trial in every if id(trial) not in near])
    kept = (Trial(t.point, t.status, t.numbers) for t in (*good, *rest))
    return Outcome(outcome.study, tuple(kept))


def _some(trials: list[Trial]) -> list[Trial]:
    """At most some hundreds, evenly over their order."""
    if len(trials) <= _MOST:
        return trials
    return [trials[round(i * (len(trials) - 1) / (_MOST - 1))] for i in range(_MOST)]
