"""What does each variable of a study do: averages over all engines, and bars about the best?"""

from __future__ import annotations

import math
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
    sheet,
    tidy,
)
from enginesim.report.study_scales import headed, scale_of
from enginesim.report.study_table import short_names
from enginesim.study.values import Words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from enginesim.report.units import System
    from enginesim.study.effects import Effect
    from enginesim.study.limits import Aim

_ACROSS: Final = 3  # panels in a row
_SIDE, _TALL, _GAP_X, _GAP_Y, _LEFT, _HEAD = 2.7, 2.1, 0.35, 0.75, 0.8, 0.85
_BAR: Final = 0.36
_FEW: Final = 8  # values that are all written under an axis


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
        A panel for each variable, all on one scale.
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
    margin = 0.08 * ((high - low) or abs(high) or 1.0)
    for k, (effect, name) in enumerate(zip(effects, names, strict=True)):
        row, column = divmod(k, _ACROSS)
        top = _HEAD + row * (_TALL + _GAP_Y)
        box = ((_LEFT + column * (_SIDE + _GAP_X)) / width, 1 - (top + _TALL) / height,
               _SIDE / width, _TALL / height)  # fmt: skip
        axes = figure.add_axes(box)
        tidy(axes)
        _lines(axes, effect, scale.of(effect.means), scale.of(effect.about_best), is_first=k == 0)
        axes.set_ylim(low - margin, high + margin)
        axes.tick_params(labelleft=column == 0)
        unit = effect.variable.values.unit
        axes.set_xlabel(f"{name}, {unit}" if unit else name, color=GREY, size=9)
    return figure


def _lines(
    axes: Axes, effect: Effect, means: np.ndarray, about: np.ndarray, *, is_first: bool
) -> None:
    if isinstance(effect.variable.values, Words):
        x = np.arange(len(effect.levels), dtype=float)
        axes.set_xticks(x, effect.texts(), size=8)
        axes.set_xlim(-0.4, len(x) - 0.6)
    else:
        x = np.array(effect.levels, dtype=float)
        order = np.argsort(x)
        x, means, about = x[order], means[order], about[order]
        if len(x) <= _FEW:
            axes.set_xticks(x)
    axes.plot(x, means, color=GREY, linestyle="--", marker="s", markersize=3.5, linewidth=1.3,
              label="mean of all engines")  # fmt: skip
    words = "all else as in the best" + (", estimated" if effect.is_estimated else "")
    axes.plot(x, about, color=BLUE, marker="o", markersize=4, linewidth=2.0, label=words)
    if is_first:
        axes.legend(loc="best", fontsize=8, frameon=False)


def tornado_figure(
    effects: Sequence[Effect], aim: Aim, title: str, notes: Sequence[str], system: System
) -> Figure:
    """
    How far the aim moves when one variable alone leaves the best engine, as bars.

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
        The longest bar on top; the values at its ends are written there.
    """
    scale = scale_of(aim.measure, system)
    names = dict(
        zip(
            [effect.variable.name for effect in effects],
            short_names([effect.variable.name for effect in effects]),
            strict=True,
        )
    )
    ordered = sorted(effects, key=lambda e: e.span_about_best if e.span_about_best > 0 else 0.0)
    bottom = foot_height(notes) + 0.6
    width, height = 8.0, _HEAD + _BAR * len(effects) + 0.3 + bottom
    figure = sheet(width, height)
    head(figure, title, f"{headed(aim.measure, system)}: one variable at a time about the best")
    foot(figure, notes)
    axes = figure.add_axes((0.23, bottom / height, 0.66, (height - _HEAD - bottom) / height))
    tidy(axes)
    axes.grid(visible=False, axis="y")
    axes.set_ylim(-0.7, len(ordered) - 0.3)
    ends: list[float] = []
    for k, effect in enumerate(ordered):
        known = [i for i, value in enumerate(effect.about_best) if not math.isnan(value)]
        if not known:
            continue
        values = scale.of(effect.about_best)
        first, last = (f(known, key=lambda i: values[i]) for f in (min, max))
        low, high = float(values[first]), float(values[last])
        axes.barh(k, high - low, left=low, height=0.62, color=BLUE, alpha=0.85)
        texts = effect.texts()
        for i, x, side, shift in ((first, low, "right", -4), (last, high, "left", 4)):
            axes.annotate(texts[i], (x, k), xytext=(shift, 0), textcoords="offset points",
                          ha=side, va="center", size=8, color=GREY)  # fmt: skip
        ends += [low, high]
    best = max(ends, default=0.0) if aim.is_most else min(ends, default=0.0)
    axes.axvline(best, color=VERMILLION, linewidth=1.4, linestyle="--", zorder=0.5)
    room = 0.22 * ((max(ends, default=1.0) - min(ends, default=0.0)) or 1.0)
    axes.set_xlim(min(ends, default=0.0) - room, max(ends, default=1.0) + room)
    axes.set_yticks(range(len(ordered)), [names[e.variable.name] for e in ordered], size=9)
    axes.spines["left"].set_color(FAINT)
    axes.set_xlabel(scale.symbol, color=GREY)
    return figure
