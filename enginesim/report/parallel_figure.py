"""Which values do good engines share? Every engine as a line across an axis for each variable."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.report.drawing import (
    BLUE,
    FAINT,
    GREY,
    VERMILLION,
    foot,
    foot_height,
    head,
    literal,
    sheet,
)
from enginesim.report.study_scales import label, scale_of
from enginesim.report.study_table import short_names
from enginesim.study.plan import shown
from enginesim.study.values import Span, Words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from enginesim.report.units import System
    from enginesim.study.definition import Variable
    from enginesim.study.limits import Aim
    from enginesim.study.trials import Outcome, Trial

_STEP, _HEAD, _TALL = 1.55, 0.95, 3.2
_TICKS: Final = 6


@literal()
def parallel_figure(
    outcome: Outcome, aim: Aim, title: str, notes: Sequence[str], system: System
) -> Figure:
    """
    Lines of all engines with a result; those within 1 % of the best stand out.

    Parameters
    ----------
    outcome : Outcome
        Engines to be drawn, from :func:`lines`.
    aim : Aim
        The last axis.
    title : str
        Of the study.
    notes : sequence of str
        Small print.
    system : {"us", "si"}
        Units of the aim.

    Returns
    -------
    Figure
        An axis for each variable, and one for the aim.
    """
    from matplotlib.collections import LineCollection

    variables = outcome.study.variables
    scale = scale_of(aim.measure, system)
    every = outcome.best(aim, len(outcome.trials))
    near = {id(trial) for trial in outcome.as_good(aim)}
    good = [trial for trial in every if id(trial) in near]
    rest = [trial for trial in every if id(trial) not in near]
    values = np.array(outcome.column(aim.measure, every))
    low, high = float(values.min()), float(values.max())
    scale = scale.finer((low, high))

    def rows(trials: Sequence[Trial]) -> np.ndarray:
        numbers = np.array(outcome.column(aim.measure, trials))
        last = (numbers - low) / ((high - low) or 1.0)
        columns = [
            [_height(variable, trial.point[k]) for trial in trials]
            for k, variable in enumerate(variables)
        ]
        return np.column_stack([*map(np.array, columns), last])

    bottom = foot_height(notes) + 0.75
    width = max(1.2 + _STEP * len(variables) + 0.9, 6.4)
    height = _HEAD + _TALL + bottom
    figure = sheet(width, height)
    head(figure, title, "Each line is an engine; bold: within 1 % of the best, dashed: the best")
    foot(figure, notes)
    axes = figure.add_axes((1.2 / width, bottom / height, 1 - 2.1 / width, _TALL / height))
    across = np.arange(len(variables) + 1, dtype=float)
    for trials, colour, wide, strength in ((rest, FAINT, 0.8, 0.9), (good, BLUE, 1.3, 0.55)):
        if trials:
            heights = rows(trials)
            lines = np.stack([np.broadcast_to(across, heights.shape), heights], axis=-1)
            axes.add_collection(
                LineCollection(list(lines), colors=colour, linewidths=wide, alpha=strength)
            )
    axes.plot(across, rows(every[:1])[0], color=VERMILLION, linewidth=2.4, linestyle="--")
    axes.set_xlim(-0.05, len(variables) + 0.05)
    axes.set_ylim(-0.04, 1.04)
    for side in axes.spines.values():
        side.set_visible(False)
    axes.set_yticks([])
    names = [*short_names([v.name for v in variables]), f"{label(aim.measure)}, {scale.symbol}"]
    axes.set_xticks(across, [_folded(name) for name in names], size=9, color=GREY)
    axes.tick_params(length=0)
    for k, variable in enumerate(variables):
        _axis(axes, k, _ticks(variable))
    ends = np.linspace(low, high, 5)
    _axis(axes, len(variables), [((x - low) / ((high - low) or 1.0), scale.text(x)) for x in ends])
    return figure


def _axis(axes: Axes, place: int, ticks: list[tuple[float, str]]) -> None:
    axes.axvline(place, color=GREY, linewidth=0.9)
    for height, text in ticks:
        axes.annotate(
            text, (place, height), xytext=(-4, 0), textcoords="offset points", ha="right",
            va="center", size=8, color="black", zorder=5,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.75, "pad": 0.4},
        )  # fmt: skip


def _ends(variable: Variable) -> tuple[float, float]:
    values = variable.values
    if isinstance(values, Words):
        return 0.0, float(max(len(values.items) - 1, 1))
    if isinstance(values, Span):
        return values.low, values.high
    low, high = min(values.numbers), max(values.numbers)
    return low, high if high > low else low + 1.0


def _height(variable: Variable, value: float | str) -> float:
    low, high = _ends(variable)
    number = variable.values.items.index(value) if isinstance(variable.values, Words) else value
    return (float(number) - low) / (high - low)


def _ticks(variable: Variable) -> list[tuple[float, str]]:
    values = variable.values
    if isinstance(values, Span):
        levels: Sequence[float | str] = np.linspace(values.low, values.high, 5).round(6).tolist()
    else:
        levels = values.items
        if len(levels) > _TICKS:
            chosen = np.linspace(0, len(levels) - 1, _TICKS).round().astype(int)
            levels = [levels[i] for i in chosen]
    return [(_height(variable, level), shown(variable, level)) for level in levels]


def _folded(name: str) -> str:
    """Name in lines of not many letters."""
    import textwrap

    return textwrap.fill(name, 16)
