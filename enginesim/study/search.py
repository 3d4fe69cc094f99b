"""
Which engine is the best, found with few runs?

Some engines, evenly spread, are run first. From then on a surrogate of each measure says where the
next ones are most likely to be better and within the limits; they are run, and so on. All that is
drawn at random comes from the study's seed and the number of engines tried so far: a search that
was stopped goes the same way again, and finds its finished points in the store.

Source: D. R. Jones, M. Schonlau, W. J. Welch 1998 (one aim); J. Knowles, *ParEGO*, 2006 (two aims,
weighed differently each time); both from memory. Why this and no other:
docs/decisions/0011-search.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.study.candidates import Space
from enginesim.study.plan import samples
from enginesim.study.surrogate import chance_below, expected_gain, fitted
from enginesim.study.trials import Outcome, Trial
from enginesim.study.values import Words

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.study.definition import Study
    from enginesim.study.evaluation import Evaluation
    from enginesim.study.plan import Point
    from enginesim.study.surrogate import Floats, Surrogate

#: A search ends when no engine is expected to be better by this part of the best in so many
#: rounds running: an expectation drawn from few engines may be wrong.
SMALLEST_GAIN: Final = 1e-4
POOR_ROUNDS: Final = 3
# How much the sum of two aims counts beside the worse of them.
_BOTH = 0.05


@dataclass(frozen=True, slots=True)
class Found:
    """
    What a search came to.

    Attributes
    ----------
    outcome : Outcome
        Every engine tried, in the order in which they were tried.
    ended : str
        Why it ended, in words.
    n_run : int
        Engines that took a simulation, those from the store counted. [-]
    """

    outcome: Outcome
    ended: str
    n_run: int


def first_engines(study: Study) -> int:
    """
    Engines that are run before anything is concluded.

    Parameters
    ----------
    study : Study
        Says what is varied.

    Returns
    -------
    int
        Three for each number and one for each word of a list, at least six. [-]
    """
    wanted = 0
    for variable in study.variables:
        values = variable.values
        wanted += len(values.items) if isinstance(values, Words) else 3
    return min(max(6, wanted), max(study.points // 2, 1))


def search(evaluation: Evaluation, on_trial: Callable[[Trial], None] | None = None) -> Found:
    """
    Look for the best engine, or for the front of two aims.

    Parameters
    ----------
    evaluation : Evaluation
        Judges points; its study says what is wanted.
    on_trial : callable, optional
        Gets each trial as soon as it is known.

    Returns
    -------
    Found
        All that was tried.
    """
    return _Search(evaluation, on_trial).run()


class _Search:
    def __init__(self, evaluation: Evaluation, on_trial: Callable[[Trial], None] | None) -> None:
        self.evaluation, self.study = evaluation, evaluation.study
        self.on_trial = on_trial
        self.space = Space(self.study.variables)
        self.trials: list[Trial] = []
        self.tried: set[Point] = set()
        self.limits = [c for c in self.study.constraints if c.measure.origin != "case"]

    @property
    def n_run(self) -> int:
        return sum(trial.status != "ruled out" for trial in self.trials)

    def run(self) -> Found:
        study = self.study
        wanted = first_engines(study)
        drawn = samples(study, 20 * wanted)
        is_whole = self._assess(self._allowed(drawn, wanted))
        poor_rounds = 0
        while is_whole and self.n_run < study.points:
            chosen, gain = self._next(min(study.batch, study.points - self.n_run))
            if not chosen:
                return self._found("every engine that the limits allow was tried")
            poor_rounds = poor_rounds + 1 if gain < SMALLEST_GAIN else 0
            if poor_rounds == POOR_ROUNDS:
                return self._found(
                    f"no engine is expected to be better by {SMALLEST_GAIN:.2%}".replace("%", " %")
                )
            is_whole = self._assess(chosen)
        if not is_whole:
            return self._found("stopped; the same command goes on from here")
        return self._found(f"{self.n_run} engines were run, as many as allowed")

    def _found(self, ended: str) -> Found:
        return Found(Outcome(self.study, tuple(self.trials)), ended, self.n_run)

    def _allowed(self, points: list[Point], n: int) -> list[Point]:
        """The first few that the case does not rule out; the others are noted as ruled out."""
        kept: list[Point] = []
        for point in points:
            if len(kept) == n:
                break
            if point in self.tried or point in kept:
                continue
            if self.evaluation.rules_out(point):
                self._assess([point])
            else:
                kept.append(point)
        return kept

    def _assess(self, points: list[Point]) -> bool:
        """Judge points; whether all of them were finished."""
        found = self.evaluation.assess(points, self.on_trial)
        self.tried.update(points)
        self.trials += found
        return all(trial.status != "unfinished" for trial in found)

    def _next(self, n: int) -> tuple[list[Point], float]:
        """Engines that promise most, and the largest gain expected, over the best."""
        run = [trial for trial in self.trials if trial.status != "ruled out"]
        places = self.space.places([trial.point for trial in run])
        rng = np.random.default_rng([self.study.seed, len(self.trials)])
        leaders = [trial.point for trial in self._leaders(run)]
        points = [p for p in self.space.candidates(rng, leaders) if p not in self.tried]
        chosen: list[Point] = []
        largest = 0.0
        fences = [self._fence(i, run, places) for i in range(len(self.limits))]
        model: Surrogate | None = None
        for k in range(n):
            if not points:
                break
            costs, best = self._costs(run, len(self.trials) + k)
            if model is None or len(self.study.aims) > 1:
                model = fitted(places, costs, self.space.groups)
                for point in chosen:
                    model = model.with_belief(self.space.places([point])[0])
            at = self.space.places(points)
            promise, gain = self._promise(model, fences, at, best)
            for i in np.argsort(-promise, kind="stable")[:50]:
                if not self.evaluation.rules_out(points[i]):
                    break
                self._assess([points[i]])
            else:
                break
            chosen.append(points[i])
            scale = abs(best) if math.isfinite(best) else 0.0
            largest = max(largest, gain[i] / scale if scale and len(self.study.aims) == 1 else 1.0)
            model = model.with_belief(at[i])
            points = [p for p in points if p not in self.tried and p != chosen[-1]]
        return chosen, largest

    def _promise(
        self, model: Surrogate, fences: list[Surrogate], at: Floats, best: float
    ) -> tuple[Floats, Floats]:
        """Expected gain times the chance to keep the limits; that alone while none keeps them."""
        chance = np.ones(len(at))
        for fence in fences:
            chance = chance * chance_below(*fence.at(at))
        if not math.isfinite(best):
            return chance, chance
        gain = expected_gain(*model.at(at), best) * chance
        return gain, gain

    def _leaders(self, run: list[Trial]) -> list[Trial]:
        costs, _ = self._costs(run, len(self.trials))
        order = np.argsort(costs, kind="stable")
        good = [run[i] for i in order if run[i].status == "good"]
        return (good or [run[i] for i in order])[:5]

    def _costs(self, run: list[Trial], turn: int) -> tuple[Floats, float]:
        """One cost of each engine, and the least among the good; infinite if none is good."""
        measures, columns = self.study.measures, []
        for aim in self.study.aims:
            i = measures.index(aim.measure)
            column = np.array([aim.cost(t.numbers[i]) if t.numbers else math.nan for t in run])
            columns.append(_filled(column))
        costs = columns[0] if len(columns) == 1 else _weighed(columns[0], columns[1], _share(turn))
        good = [cost for cost, trial in zip(costs, run, strict=True) if trial.status == "good"]
        return costs, min(good, default=math.inf)

    def _fence(self, i: int, run: list[Trial], places: Floats) -> Surrogate:
        limit = self.limits[i]
        column = self.study.measures.index(limit.measure)
        beyond = [limit.excess(t.numbers[column]) if t.numbers else math.inf for t in run]
        values = np.array(beyond)
        values[~np.isfinite(values)] = np.nan
        return fitted(places, _filled(values), self.space.groups)


def _filled(column: Floats) -> Floats:
    """Where there is no result, the worst that was seen: a place to stay away from."""
    known = column[np.isfinite(column)]
    return np.where(np.isfinite(column), column, known.max() if len(known) else 1.0)


def _weighed(first: Floats, second: Floats, share: float) -> Floats:
    """The worse of two costs after weighing, each over its own range."""
    one, other = ((c - c.min()) / max(float(np.ptp(c)), 1e-300) for c in (first, second))
    parts = share * one, (1.0 - share) * other
    result: Floats = np.maximum(*parts) + _BOTH * (parts[0] + parts[1])
    return result


def _share(turn: int) -> float:
    """Weights that fill the range between 0 and 1 evenly, turn by turn (base two, reversed)."""
    value, part = 0.0, 0.5
    while turn:
        value += part * (turn & 1)
        turn >>= 1
        part *= 0.5
    return value
