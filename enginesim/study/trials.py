"""What came of each engine of a study, and which are the best?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.study.definition import Study
    from enginesim.study.limits import Aim
    from enginesim.study.measures import Measure
    from enginesim.study.plan import Point

#: Good; beyond a limit after it was run; ruled out before it was run; without a result; not
#: reached when the study was stopped.
Status: TypeAlias = Literal["good", "beyond limits", "ruled out", "failed", "unfinished"]
#: An engine within this part of the best is as good as the best.
AS_GOOD: Final = 0.01


@dataclass(frozen=True, slots=True)
class Trial:
    """
    One engine of a study.

    Attributes
    ----------
    point : Point
        Value of each variable.
    status : Status
        How it ended.
    numbers : tuple of float
        Each measure of the study, not a number where there is none. [SI]
    reason : str
        Which limit is broken, or why there is no result.
    digest : str
        Of the case; empty if there is none.
    curve : tuple of tuple of float
        Speed [rpm], torque [N m] and power [W] of every speed that converged.
    dropped : int
        Speeds that did not converge. [-]
    warnings : tuple of str
        What is doubtful about the engine, or must be heeded; not of one that was ruled out.
    """

    point: Point
    status: Status
    numbers: tuple[float, ...] = ()
    reason: str = ""
    digest: str = ""
    curve: tuple[tuple[float, float, float], ...] = ()
    dropped: int = 0
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Outcome:
    """
    All engines of a study; equal to itself alone, so that what follows from it can be remembered.

    Attributes
    ----------
    study : Study
        What was asked.
    trials : tuple of Trial
        In the order of the plan.
    """

    study: Study
    trials: tuple[Trial, ...]

    def number(self, trial: Trial, measure: Measure) -> float:
        """Measure of an engine, not a number where there is none. [SI]."""
        i = self.study.measures.index(measure)
        return trial.numbers[i] if trial.numbers else math.nan

    def column(self, measure: Measure, trials: Sequence[Trial]) -> list[float]:
        """Measure of several engines. [SI]."""
        i = self.study.measures.index(measure)
        return [trial.numbers[i] if trial.numbers else math.nan for trial in trials]

    def of_status(self, *wanted: Status) -> list[Trial]:
        """Engines that ended in one of some ways."""
        return [trial for trial in self.trials if trial.status in wanted]

    def best(self, aim: Aim, n: int = 1) -> list[Trial]:
        """The good engines that come first by an aim; of equals, the earlier one."""
        i = self.study.measures.index(aim.measure)
        good = [t for t in self.of_status("good") if not math.isnan(t.numbers[i])]
        return sorted(good, key=lambda trial: aim.cost(trial.numbers[i]))[:n]

    def as_good(self, aim: Aim, share: float = AS_GOOD) -> list[Trial]:
        """Good engines within a share of the best."""
        first = self.best(aim)
        if not first:
            return []
        i = self.study.measures.index(aim.measure)
        cost = aim.cost(first[0].numbers[i])
        allowed = cost + share * abs(cost)
        return [t for t in self.of_status("good") if aim.cost(t.numbers[i]) <= allowed]
