"""How much does each variable matter: on the whole, and about the best engine?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.study.candidates import Space
from enginesim.study.plan import shown
from enginesim.study.surrogate import fitted
from enginesim.study.values import Span, Steps, Words

if TYPE_CHECKING:
    from enginesim.study.definition import Variable
    from enginesim.study.limits import Aim
    from enginesim.study.surrogate import Surrogate
    from enginesim.study.trials import Outcome, Trial

# Parts into which a span is divided for averages.
_PARTS: Final = 6
#: Most engines from which a surrogate is made: its work grows with the cube of their number.
MOST: Final = 400
# Most of them from which its reaches are found, for which it is made some hundred times.
_FITTED: Final = 120


@dataclass(frozen=True, slots=True)
class Effect:
    """
    What one variable does to a measure.

    Attributes
    ----------
    variable : Variable
        The variable.
    levels : tuple of float or str
        Its values, or the middles of the parts of its span.
    means : tuple of float
        Mean of the measure over all engines with that value; not a number where there is none.
    about_best : tuple of float
        The measure with all else as in the best engine.
    is_estimated : bool
        Whether `about_best` comes from a surrogate, because not all these engines were run.
    """

    variable: Variable
    levels: tuple[float | str, ...]
    means: tuple[float, ...]
    about_best: tuple[float, ...]
    is_estimated: bool

    @property
    def span(self) -> float:
        """Largest less smallest mean; not a number with fewer than two. [SI]."""
        return _span(self.means)

    @property
    def span_about_best(self) -> float:
        """Largest less smallest value about the best; not a number with fewer than two. [SI]."""
        return _span(self.about_best)

    @property
    def is_known(self) -> bool:
        """Whether the best engine and another one can be set side by side."""
        return not math.isnan(self.span_about_best)

    def texts(self) -> tuple[str, ...]:
        """Values for people."""
        return tuple(shown(self.variable, level) for level in self.levels)


def _span(values: tuple[float, ...]) -> float:
    known = [value for value in values if not math.isnan(value)]
    return max(known) - min(known) if len(known) > 1 else math.nan


def effects(outcome: Outcome, aim: Aim) -> tuple[Effect, ...]:
    """
    Effect of each variable on what a study aims at.

    Parameters
    ----------
    outcome : Outcome
        All engines; those beyond a limit count too, as they were run.
    aim : Aim
        What is looked at.

    Returns
    -------
    tuple of Effect
        In the order of the variables; empty if no engine has a result.
    """
    run = [t for t in outcome.of_status("good", "beyond limits") if t.numbers]
    values = np.array(outcome.column(aim.measure, run))
    kept = np.isfinite(values)
    run = [trial for trial, is_kept in zip(run, kept, strict=True) if is_kept]
    values = values[kept]
    best = outcome.best(aim)
    if not run:
        return ()
    centre = (best or run)[0].point
    by_point = {trial.point: float(value) for trial, value in zip(run, values, strict=True)}
    found = []
    space = Space(outcome.study.variables)
    for i, variable in enumerate(outcome.study.variables):
        levels, means = _means(variable, i, run, values)
        lines = [(*centre[:i], level, *centre[i + 1 :]) for level in levels]
        about = [by_point.get(point, math.nan) for point in lines]
        # Half of them run is enough where values were ruled out; otherwise the rest is estimated.
        is_estimated = sum(map(math.isnan, about)) > 0.5 * len(about) or isinstance(
            variable.values, Span
        )
        if is_estimated:
            about = surrogate(outcome, aim).expected(space.places(lines)).tolist()
        found.append(Effect(variable, levels, means, tuple(about), is_estimated))
    return tuple(found)


def at_the_end(outcome: Outcome, aim: Aim) -> tuple[str, ...]:
    """
    Variables of which the best engine has the first or last value: a better one may lie beyond.

    Parameters
    ----------
    outcome : Outcome
        A study.
    aim : Aim
        What is wanted.

    Returns
    -------
    tuple of str
        Their names and values; numbers only, and only where there are three or more.
    """
    found: list[str] = []
    for trial in outcome.best(aim):
        for variable, value in zip(outcome.study.variables, trial.point, strict=True):
            values = variable.values
            if isinstance(values, Words) or (isinstance(values, Steps) and len(values.items) < 3):
                continue
            ends = (
                (values.low, values.high)
                if isinstance(values, Span)
                else (min(values.numbers), max(values.numbers))
            )
            if value in ends:
                found.append(f"{variable.name} {shown(variable, value)}")
    return tuple(found)


@lru_cache(maxsize=2)
def surrogate(outcome: Outcome, aim: Aim) -> Surrogate:
    """
    Surrogate of a measure from the engines of a study; made once, then remembered.

    Parameters
    ----------
    outcome : Outcome
        All engines.
    aim : Aim
        What is wanted.

    Returns
    -------
    Surrogate
        From all engines with a result, or from some hundreds spread over them; its reaches from
        about a hundred of these.
    """
    space = Space(outcome.study.variables)
    run = [
        (trial.point, outcome.number(trial, aim.measure))
        for trial in outcome.of_status("good", "beyond limits")
    ]
    run = [(point, value) for point, value in run if math.isfinite(value)]
    if len(run) > MOST:
        rng = np.random.default_rng(outcome.study.seed)
        run = [run[i] for i in rng.choice(len(run), MOST, replace=False)]
    places, values = space.places([point for point, _ in run]), np.array([v for _, v in run])
    if len(run) <= _FITTED:
        return fitted(places, values, space.groups)
    return fitted(places[:_FITTED], values[:_FITTED], space.groups).told(places, values)


def _means(
    variable: Variable, i: int, run: list[Trial], values: np.ndarray
) -> tuple[tuple[float | str, ...], tuple[float, ...]]:
    given = [trial.point[i] for trial in run]
    if not isinstance(variable.values, Span):
        levels: tuple[float | str, ...] = tuple(variable.values.items)
        places = {level: k for k, level in enumerate(levels)}
        part = np.array([places[value] for value in given])
    else:
        low, high = variable.values.low, variable.values.high
        edges = np.linspace(low, high, _PARTS + 1)
        levels = tuple(float(f"{m:.6g}") for m in 0.5 * (edges[1:] + edges[:-1]))
        part = np.clip(np.searchsorted(edges, np.array(given, dtype=float)) - 1, 0, _PARTS - 1)
    rows = [part == k for k in range(len(levels))]
    means = tuple(float(values[row].mean()) if row.any() else math.nan for row in rows)
    return levels, means
