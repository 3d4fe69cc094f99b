"""What is there to be drawn of the aim of a study over two of its variables?"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.report.map_border import between
from enginesim.report.study_scales import label
from enginesim.report.study_table import short_names
from enginesim.study.candidates import Space
from enginesim.study.effects import surrogate
from enginesim.study.plan import shown
from enginesim.study.values import Span, Steps

if TYPE_CHECKING:
    from enginesim.study.limits import Aim
    from enginesim.study.trials import Outcome

Floats = np.ndarray

_FINE: Final = 61  # points along each side where a surrogate is drawn
_MOST_PANELS: Final = 4


@dataclass(frozen=True)
class Surface:
    """
    A measure over two variables, all else as in the best engine but for the panel.

    Attributes
    ----------
    x, y : ndarray
        Values along the sides, in the variables' units.
    z : ndarray, shape (len(y), len(x))
        The measure; not a number where there is none, and outside all engines that were run. [SI]
    good : ndarray of bool, shape (len(y), len(x))
        Whether the engine there keeps every limit; all where it is a surrogate.
    title : str
        Which panel it is; empty where there is one.
    runs : ndarray, shape (n, 2)
        Engines run, where `z` is a surrogate; else none.
    """

    x: Floats
    y: Floats
    z: Floats
    good: Floats
    title: str
    runs: Floats = field(default_factory=lambda: np.empty((0, 2)))


def map_sides(outcome: Outcome) -> tuple[int, int] | None:
    """
    The two variables that a map is drawn over: the first two with three numbers or more.

    Parameters
    ----------
    outcome : Outcome
        A study.

    Returns
    -------
    tuple of int or None
        Their numbers in the study; None if there are no two.
    """
    sides = [
        i
        for i, variable in enumerate(outcome.study.variables)
        if isinstance(variable.values, Span)
        or (isinstance(variable.values, Steps) and len(variable.values.numbers) > 2)
    ]
    return (sides[0], sides[1]) if len(sides) > 1 else None


def surfaces(outcome: Outcome, aim: Aim, *, is_whole: bool) -> list[Surface]:
    """
    What is drawn: a panel, or one for each value of a third variable of few values.

    Parameters
    ----------
    outcome : Outcome
        A study with an engine that has a result.
    aim : Aim
        What is drawn.
    is_whole : bool
        Whether every combination was run; else a surrogate is drawn.

    Returns
    -------
    list of Surface
        Empty if there are no two variables for the sides, or nothing lies between engines run.
    """
    sides = map_sides(outcome)
    best = outcome.best(aim)
    if sides is None or not best:
        return []
    variables = outcome.study.variables
    third = next(
        (
            i
            for i, v in enumerate(variables)
            if i not in sides
            and not isinstance(v.values, Span)
            and 1 < len(v.values.items) <= _MOST_PANELS
        ),
        None,
    )
    centre = best[0].point
    if third is None:
        panels = [(centre, "")]
    else:
        variable = variables[third]
        levels = () if isinstance(variable.values, Span) else variable.values.items
        panels = [
            ((*centre[:third], level, *centre[third + 1 :]), shown(variable, level))
            for level in levels
        ]
    make = _grid if is_whole else _estimate
    drawn = [make(outcome, aim, sides, point, title) for point, title in panels]
    return drawn if any(np.isfinite(surface.z).any() for surface in drawn) else []


def _grid(
    outcome: Outcome, aim: Aim, sides: tuple[int, int], centre: tuple[float | str, ...], title: str
) -> Surface:
    i, j = sides
    given = [[float(trial.point[k]) for trial in outcome.trials] for k in sides]
    axes = [np.unique(np.array(values)) for values in given]
    place = [{float(value): n for n, value in enumerate(axis)} for axis in axes]
    z = np.full((len(axes[1]), len(axes[0])), np.nan)
    good = np.zeros(z.shape, dtype=bool)
    others = [k for k in range(len(centre)) if k not in sides]
    column = outcome.study.measures.index(aim.measure)
    for trial in outcome.trials:
        if trial.numbers and all(trial.point[k] == centre[k] for k in others):
            at = place[1][float(trial.point[j])], place[0][float(trial.point[i])]
            z[at] = trial.numbers[column]
            good[at] = trial.status == "good"
    return Surface(axes[0], axes[1], z, good, title)


def _estimate(
    outcome: Outcome, aim: Aim, sides: tuple[int, int], centre: tuple[float | str, ...], title: str
) -> Surface:
    i, j = sides
    variables = outcome.study.variables
    ends = []
    for k in sides:
        values = variables[k].values
        if isinstance(values, Span):
            ends.append((values.low, values.high))
        elif isinstance(values, Steps):
            ends.append((min(values.numbers), max(values.numbers)))
    x, y = (np.linspace(low, high, _FINE) for low, high in ends)
    space = Space(variables)
    points = []
    for b in y:
        for a in x:
            point = list(centre)
            point[i], point[j] = float(a), float(b)
            points.append(tuple(point))
    z = surrogate(outcome, aim).expected(space.places(points)).reshape(len(y), len(x))
    words = [k for k in range(len(centre)) if isinstance(centre[k], str)]
    wanted = [centre[k] for k in words]
    runs = [
        (trial.point[i], trial.point[j])
        for trial in outcome.of_status("good", "beyond limits")
        if [trial.point[k] for k in words] == wanted
    ]
    dots = np.array(runs, dtype=np.float64).reshape(-1, 2)
    # Beyond the engines that were run there is nothing to estimate from.
    places = np.array([[point[i], point[j]] for point in points], dtype=np.float64)
    z = np.where(between(places, dots).reshape(z.shape), z, np.nan)
    return Surface(x, y, z, np.ones(z.shape, dtype=bool), title, dots)


def about(outcome: Outcome, aim: Aim) -> str:
    """
    What the map holds fixed, in words.

    Parameters
    ----------
    outcome : Outcome
        The study.
    aim : Aim
        What is drawn.

    Returns
    -------
    str
        Empty where every variable is a side.
    """
    sides = map_sides(outcome) or ()
    best = outcome.best(aim)[0]
    names = short_names([v.name for v in outcome.study.variables])
    fixed = [
        f"{names[k]} {shown(v, best.point[k])}"
        for k, v in enumerate(outcome.study.variables)
        if k not in sides
    ]
    return f"{label(aim.measure)}; fixed as in the best: {', '.join(fixed)}" if fixed else ""
