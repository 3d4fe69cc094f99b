"""What does each variable of a study do, averaged over all engines and about the best?"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.report.drawing import BLUE, GREY, foot, foot_height, head, literal, sheet, tidy
from enginesim.report.study_scales import headed, scale_of
from enginesim.report.study_table import short_names
from enginesim.study.values import Words, with_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from enginesim.report.units import System
    from enginesim.study.effects import Effect
    from enginesim.study.limits import Aim

_ACROSS: Final = 3  # panels in a row
_SIDE, _TALL, _GAP_X, _GAP_Y, _LEFT, _HEAD = 2.7, 2.1, 0.35, 0.75, 0.8, 0.85
_FEW: Final = 8  # values that are all written under an axis
_MANY: Final = 40  # values that are a line, and dots no longer


@literal()
def effects_figure(
    effects: Sequence[Effect], aim: Aim, title: str, notes: Sequence[str], system: System
) -> Figure:
    """
    Mean of the aim against each variable, and the aim with all else as in the best engine.

    Parameters
    ----------
    effects : sequence of Effect
        Of a study.
    aim : Aim
        What they act on.
    title : str
        Of the study.
    notes : sequence of str
        Small print.
    system : {"us", "si"}
        Units of the aim.

    Returns
    -------
    Figure
        A panel for each variable, all on one scale; one line where both are the same.
    """
    scale = scale_of(aim.measure, system)
    names = short_names([effect.variable.name for effect in effects])
    n_rows = math.ceil(len(effects) / _ACROSS)
    n_columns = min(len(effects), _ACROSS)
    bottom = foot_height(notes) + 0.6
    width = max(_LEFT + n_columns * (_SIDE + _GAP_X), 6.4)
    height = _HEAD + n_rows * (_TALL + _GAP_Y) - _GAP_Y + bottom
    figure = sheet(width, height)
    head(figure, title, headed(aim.measure, system))
    foot(figure, notes)
    every = [x for e in effects for x in (*e.means, *e.about_best) if not math.isnan(x)]
    low, high = (float(scale.of(f(every))) for f in (min, max))
    is_one = all(map(_is_one, effects))
    margin = 0.08 * ((high - low) or abs(high) or 1.0)
    for k, (effect, name) in enumerate(zip(effects, names, strict=True)):
        row, column = divmod(k, _ACROSS)
        top = _HEAD + row * (_TALL + _GAP_Y)
        box = ((_LEFT + column * (_SIDE + _GAP_X)) / width, 1 - (top + _TALL) / height,
               _SIDE / width, _TALL / height)  # fmt: skip
        axes = figure.add_axes(box)
        tidy(axes)
        means = None if is_one else scale.of(effect.means)
        _lines(axes, effect, means, scale.of(effect.about_best), is_first=k == 0)
        axes.set_ylim(low - margin, high + margin)
        axes.tick_params(labelleft=column == 0)
        unit = with_at(effect.variable.values.unit, effect.variable.values.at)
        axes.set_xlabel(f"{name}, {unit}" if unit else name, color=GREY, size=9)
    return figure


def _is_one(effect: Effect) -> bool:
    """Whether both lines are the same, as where nothing else was varied."""
    return np.allclose(effect.means, effect.about_best, rtol=1e-9, atol=0.0, equal_nan=True)


def _lines(
    axes: Axes, effect: Effect, means: np.ndarray | None, about: np.ndarray, *, is_first: bool
) -> None:
    if isinstance(effect.variable.values, Words):
        x = np.arange(len(effect.levels), dtype=float)
        axes.set_xticks(x, effect.texts(), size=8)
        axes.set_xlim(-0.4, len(x) - 0.6)
    else:
        x = np.array(effect.levels, dtype=float)
        order = np.argsort(x)
        x, about = x[order], about[order]
        means = None if means is None else means[order]
        if len(x) <= _FEW:
            axes.set_xticks(x)
    marks = ("s", "o") if len(x) <= _MANY else ("", "")
    if means is not None:
        axes.plot(x, means, color=GREY, linestyle="--", marker=marks[0], markersize=3.5,
                  linewidth=1.3, label="mean of all engines")  # fmt: skip
    words = "all else as in the best" + (", estimated" if effect.is_estimated else "")
    axes.plot(x, about, color=BLUE, marker=marks[1], markersize=4, linewidth=2.0, label=words)
    if is_first and means is not None:
        axes.legend(loc="best", fontsize=8, frameon=False)
