"""How far does each variable move the aim when it alone leaves the best engine?"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

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
    tidy,
)
from enginesim.report.study_scales import headed, scale_of
from enginesim.report.study_table import short_names

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.figure import Figure

    from enginesim.report.units import System
    from enginesim.study.effects import Effect
    from enginesim.study.limits import Aim

_HEAD: Final = 0.85
_BAR: Final = 0.36


@literal()
def tornado_figure(
    effects: Sequence[Effect], aim: Aim, title: str, notes: Sequence[str], system: System
) -> Figure:
    """
    How far the aim moves when one variable alone leaves the best engine, as bars.

    Parameters
    ----------
    effects : sequence of Effect
        Of a study; each known at two values of its variable or more.
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
    ordered = sorted(effects, key=lambda e: e.span_about_best)
    bottom = foot_height(notes) + 0.6
    width, height = 8.0, _HEAD + _BAR * len(ordered) + 0.3 + bottom
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
