"""How do the best few engines of a study pull over speed, beside the one that it began with?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.report.drawing import (
    BLUE,
    FAINT,
    GREEN,
    GREY,
    ORANGE,
    PURPLE,
    SKY,
    VERMILLION,
    foot,
    foot_height,
    head,
    literal,
    sheet,
    tidy,
)
from enginesim.report.study_scales import best_title, scale_of
from enginesim.report.units import scale
from enginesim.study.plan import shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from enginesim.report.units import System
    from enginesim.study.limits import Aim
    from enginesim.study.trials import Outcome, Trial

_WIDTH, _TALL, _GAP, _HEAD = 9.0, 2.7, 0.35, 0.85
#: Colour, dash and marker: no line is told by its colour alone.
_LINES: Final = (
    (BLUE, "-", "o"),
    (VERMILLION, "--", "s"),
    (GREEN, "-.", "^"),
    (PURPLE, ":", "D"),
    (ORANGE, "-", "v"),
    (SKY, "--", "x"),
)


@literal()
def best_figure(
    outcome: Outcome,
    aim: Aim,
    trials: Sequence[Trial],
    title: str,
    notes: Sequence[str],
    system: System,
) -> Figure:
    """
    Torque and power of some engines over speed.

    Parameters
    ----------
    outcome : Outcome
        The study.
    aim : Aim
        By which they are the best; its window is shaded.
    trials : sequence of Trial
        The best first; six at most are drawn.
    title : str
        Of the study.
    notes : sequence of str
        Small print.
    system : {"us", "si"}
        Units.

    Returns
    -------
    Figure
        Speeds that did not converge are left out.
    """
    drawn = [trial for trial in trials if len(trial.curve) > 1][: len(_LINES)]
    key = 0.2 * len(drawn) + 0.1
    bottom = foot_height(notes) + 0.55 + key
    height = _HEAD + 2 * _TALL + _GAP + bottom
    figure = sheet(_WIDTH, height)
    head(figure, title, best_title(aim, len(drawn)))
    foot(figure, notes)
    axes = []
    for k, (field, column) in enumerate((("torque", 1), ("power", 2))):
        top = _HEAD + k * (_TALL + _GAP)
        box = (0.085, 1 - (top + _TALL) / height, 0.88, _TALL / height)
        part = figure.add_axes(box)
        tidy(part)
        shown_in = scale(field, system)
        for trial, (colour, dash, marker) in zip(drawn, _LINES, strict=False):
            curve = np.array(trial.curve)
            part.plot(
                *(curve[:, 0], shown_in.of(curve[:, column])),
                color=colour,
                linestyle=dash,
                marker=marker,
                markersize=4,
                linewidth=1.8,
            )
        part.set_ylabel(f"{field}, {shown_in.symbol}", color=GREY)
        part.tick_params(labelbottom=k == 1)
        _shade(part, aim)
        axes.append(part)
    axes[1].set_xlabel("engine speed, rpm", color=GREY)
    _key(figure, outcome, aim, drawn, system, (bottom - 0.5) / height)
    return figure


def _shade(axes: Axes, aim: Aim) -> None:
    measure = aim.measure
    if measure.low is not None and measure.high is not None:
        axes.axvspan(measure.low, measure.high, color=FAINT, alpha=0.35, zorder=0)


def _key(
    figure: Figure,
    outcome: Outcome,
    aim: Aim,
    trials: Sequence[Trial],
    system: System,
    top: float,
) -> None:
    """A row for each engine: its line, its aim, its values."""
    shown_in = scale_of(aim.measure, system).finer(outcome.column(aim.measure, trials))
    height = figure.get_figheight()
    for k, (trial, (colour, dash, marker)) in enumerate(zip(trials, _LINES, strict=False)):
        y = top - (0.2 * k + 0.1) / height
        from matplotlib.lines import Line2D

        line = Line2D(
            [0.085, 0.115, 0.145],
            [y] * 3,
            color=colour,
            linestyle=dash,  # type: ignore[arg-type]
            marker=marker,
            markevery=[1],
            markersize=4,
            linewidth=1.8,
            transform=figure.transFigure,
        )
        figure.add_artist(line)
        texts = [shown(v, x) for v, x in zip(outcome.study.variables, trial.point, strict=True)]
        value = shown_in.with_unit(outcome.number(trial, aim.measure))
        figure.text(0.155, y, f"{value}:  {',  '.join(texts)}", size=8.5, va="center")
