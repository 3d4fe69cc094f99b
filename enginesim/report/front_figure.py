"""What does one aim cost of the other? The front of two aims among all engines."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.report.drawing import BLUE, GREY, SKY, foot, foot_height, head, literal, sheet, tidy
from enginesim.report.study_scales import front_title, headed, scale_of
from enginesim.study.front import front
from enginesim.study.plan import shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.figure import Figure

    from enginesim.report.units import Scale, System
    from enginesim.study.limits import Aim
    from enginesim.study.trials import Outcome, Trial

_WIDTH, _TALL, _HEAD = 8.0, 4.4, 0.85
_LABELS: Final = 3  # engines of the front that are named


@literal()
def front_figure(
    outcome: Outcome, aims: Sequence[Aim], title: str, notes: Sequence[str], system: System
) -> Figure:
    """
    Every engine by its two aims; those that no other beats in both are joined.

    Parameters
    ----------
    outcome : Outcome
        A study with a good engine.
    aims : sequence of Aim
        Two.
    title : str
        Of the study.
    notes : sequence of str
        Small print.
    system : {"us", "si"}
        Units.

    Returns
    -------
    Figure
        The ends of the front and its middle are named by their values.
    """
    scales = [scale_of(aim.measure, system) for aim in aims]
    kept = front(outcome, aims)
    bottom = foot_height(notes) + 0.6
    height = _HEAD + _TALL + bottom
    figure = sheet(_WIDTH, height)
    head(figure, title, front_title(len(kept)))
    foot(figure, notes)
    axes = figure.add_axes((0.11, bottom / height, 0.85, _TALL / height))
    tidy(axes)
    for status, marker, colour, words in (
        ("beyond limits", "x", GREY, "beyond a limit"),
        ("good", "o", SKY, "good"),
    ):
        trials = outcome.of_status(status)  # type: ignore[arg-type]
        if trials:
            x, y = _columns(outcome, aims, trials, scales)
            axes.plot(x, y, marker, color=colour, markersize=4, alpha=0.7, label=words)
    x, y = _columns(outcome, aims, kept, scales)
    axes.plot(x, y, "-", color=BLUE, linewidth=1.6, drawstyle="default")
    axes.plot(x, y, "D", color=BLUE, markersize=6, label="front")
    named = sorted({0, len(kept) // 2, len(kept) - 1})[:_LABELS]
    centre = float(np.mean(x)), float(np.mean(y))
    for i in named:
        aside = -1 if x[i] > centre[0] else 1
        axes.annotate(
            _name(outcome, kept[i]),
            (x[i], y[i]),
            xytext=(8 * aside, -10),
            textcoords="offset points",
            ha="left" if aside > 0 else "right",
            va="top",
            size=8,
            color="black",
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 0.5},
        )
    axes.set_xlabel(headed(aims[0].measure, system) + _better(aims[0]), color=GREY)
    axes.set_ylabel(headed(aims[1].measure, system) + _better(aims[1]), color=GREY)
    axes.legend(loc="best", fontsize=8, frameon=False)
    axes.margins(0.08)
    return figure


def _columns(
    outcome: Outcome, aims: Sequence[Aim], trials: Sequence[Trial], scales: Sequence[Scale]
) -> tuple[np.ndarray, np.ndarray]:
    one, other = (
        np.asarray(scale.of(outcome.column(aim.measure, trials)))
        for aim, scale in zip(aims, scales, strict=True)
    )
    return one, other


def _better(aim: Aim) -> str:
    return "  (more is better)" if aim.is_most else "  (less is better)"


def _name(outcome: Outcome, trial: Trial) -> str:
    texts = [shown(v, x) for v, x in zip(outcome.study.variables, trial.point, strict=True)]
    return "\n".join(texts)
