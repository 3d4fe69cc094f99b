"""How does the aim of a study run over two of its variables: map, contours, region of the best?"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.report.drawing import (
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
from enginesim.report.map_surface import Floats, map_sides
from enginesim.report.study_scales import headed, scale_of
from enginesim.report.study_table import short_names
from enginesim.study.plan import shown
from enginesim.study.trials import AS_GOOD
from enginesim.study.values import with_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from enginesim.report.map_surface import Surface
    from enginesim.report.units import System
    from enginesim.study.limits import Aim
    from enginesim.study.trials import Outcome

_SIDE, _GAP, _LEFT, _RIGHT, _HEAD, _UNDER = 4.6, 0.45, 0.85, 1.15, 0.95, 0.55
_HAZE: Final = 500  # dots that are told apart
# Pale to dark blue: also a scale of grey when printed, and no red against green.
_COLOURS: Final = ("#F7FBFF", "#DCE9F6", "#BAD5EA", "#89BEDC", "#539ECC", "#2B7BBA", "#0B559F")


@literal()
def map_figure(
    outcome: Outcome,
    aim: Aim,
    drawn: Sequence[Surface],
    title: str,
    notes: Sequence[str],
    system: System,
) -> Figure:
    """
    Map of an aim over two variables, with labelled contours and the region within 1 % of the best.

    Parameters
    ----------
    outcome : Outcome
        The study.
    aim : Aim
        What is drawn.
    drawn : sequence of Surface
        Panels, from :func:`surfaces`.
    title : str
        Of the study.
    notes : sequence of str
        Small print.
    system : {"us", "si"}
        Units of the aim; the sides have those of the study.

    Returns
    -------
    Figure
        The best engine is a star.
    """
    from matplotlib.colors import LinearSegmentedColormap

    scale = scale_of(aim.measure, system)
    tables = [scale.of(surface.z) for surface in drawn]
    finite = np.concatenate([table[np.isfinite(table)] for table in tables])
    low, high = float(finite.min()), float(finite.max())
    best = outcome.best(aim)[0]
    value = float(scale.of(outcome.number(best, aim.measure)))
    edge = value - math.copysign(AS_GOOD, 1 if aim.is_most else -1) * abs(value)

    bottom = foot_height(notes) + _UNDER
    width = _LEFT + len(drawn) * _SIDE + (len(drawn) - 1) * _GAP + _RIGHT
    height = _HEAD + 0.82 * _SIDE + bottom
    figure = sheet(width, height)
    head(figure, title, f"{headed(aim.measure, system)}; bold line: within 1 % of the best")
    foot(figure, notes)
    colours = _COLOURS if aim.is_most else _COLOURS[::-1]
    shades = LinearSegmentedColormap.from_list("aim", colours)
    mesh = None
    for k, (surface, table) in enumerate(zip(drawn, tables, strict=True)):
        left = (_LEFT + k * (_SIDE + _GAP)) / width
        box = (left, bottom / height, _SIDE / width, 0.82 * _SIDE / height)
        axes = figure.add_axes(box)
        tidy(axes)
        axes.grid(visible=False)
        axes.tick_params(labelleft=k == 0)  # one scale for all panels
        mesh = axes.pcolormesh(
            surface.x, surface.y, table, cmap=shades, vmin=low, vmax=high, shading="nearest",
            rasterized=True,
        )  # fmt: skip
        _contours(axes, surface, table, (low, high, scale.digits), edge, is_most=aim.is_most)
        _marks(axes, surface, outcome, aim, is_first=k == 0)
        if surface.title:
            axes.set_title(surface.title, loc="left", size=10, color=GREY)
    if mesh is not None:
        box = (
            (width - _RIGHT + 0.18) / width,
            bottom / height,
            0.16 / width,
            0.82 * _SIDE / height,
        )
        bar = figure.colorbar(mesh, cax=figure.add_axes(box))
        bar.outline.set_visible(False)
        bar.ax.tick_params(labelsize=8, color=GREY)
    return figure


def _contours(
    axes: Axes,
    surface: Surface,
    table: Floats,
    scale: tuple[float, float, int],
    edge: float,
    *,
    is_most: bool,
) -> None:
    low, high, digits = scale
    if min(table.shape) < 2 or not high > low:
        return
    x, y = surface.x, surface.y
    masked = np.ma.masked_invalid(table)
    levels = _levels(low, high)
    within = [level for level in levels if low < level < high]
    if within:
        lines = axes.contour(x, y, masked, levels=within, colors="#333333", linewidths=0.7)
        decimals = max(digits, 0 if len(levels) < 2 else _decimals(levels[1] - levels[0]))
        axes.clabel(lines, fmt=lambda level: f"{level:.{decimals}f}", fontsize=8)
    # Engines beyond a limit do not belong to the region of the best, however good they are, and
    # it is closed along the frame.
    far = low - (high - low) if is_most else high + (high - low)
    allowed = np.where(surface.good & np.isfinite(table), table, far)
    allowed = np.pad(allowed, 1, constant_values=far)
    x, y = (_closed(side) for side in (x, y))
    if low < edge < high:
        axes.contour(x, y, allowed, levels=[edge], colors=VERMILLION, linewidths=2.4)


def _closed(side: Floats) -> Floats:
    """Values along a side with one more just beyond each end."""
    beyond = 1e-3 * float(np.ptp(side))
    return np.concatenate([[side[0] - beyond], side, [side[-1] + beyond]])


def _ends(side: Floats) -> tuple[float, float]:
    """First and last value: a map ends where the values do, and one value has a width of one."""
    pad = 0.5 if len(side) == 1 else 0.0
    return float(side[0]) - pad, float(side[-1]) + pad


def _marks(axes: Axes, surface: Surface, outcome: Outcome, aim: Aim, *, is_first: bool) -> None:
    sides = map_sides(outcome)
    if sides is None:
        return
    names = short_names([v.name for v in outcome.study.variables])
    values = [outcome.study.variables[k].values for k in sides]
    units = [with_at(each.unit, each.at) for each in values]
    axes.set_xlabel(f"{names[sides[0]]}, {units[0]}".rstrip(", "), color=GREY)
    if is_first:
        axes.set_ylabel(f"{names[sides[1]]}, {units[1]}".rstrip(", "), color=GREY)
    bad = np.argwhere(~surface.good)
    if len(bad):
        axes.plot(
            surface.x[bad[:, 1]], surface.y[bad[:, 0]], "x", color=GREY, markersize=5, mew=0.9,
            clip_on=False,
        )  # fmt: skip
    if len(surface.runs):
        # Very many are a haze that lets the surface through, below the contours, and in a file of
        # lines one image with it.
        is_haze = len(surface.runs) > _HAZE
        axes.plot(
            *surface.runs.T, "o", color=GREY, markersize=1.2 if is_haze else 2.5,
            mew=0.0 if is_haze else 1.0, alpha=0.6 if is_haze else 1.0, rasterized=is_haze,
            zorder=1.5 if is_haze else 2.0, clip_on=is_haze,
        )  # fmt: skip
    best = outcome.best(aim)[0]
    third = surface.title
    texts = [shown(v, x) for v, x in zip(outcome.study.variables, best.point, strict=True)]
    if not third or third in texts:
        x, y = (float(best.point[k]) for k in sides)
        axes.plot(x, y, "*", color="white", markersize=17, zorder=4, clip_on=False)
        axes.plot(x, y, "*", color=VERMILLION, markersize=12, zorder=5, clip_on=False)
    axes.set_xlim(*_ends(surface.x))
    axes.set_ylim(*_ends(surface.y))
    axes.set_facecolor(FAINT)


def _levels(low: float, high: float) -> list[float]:
    """Six to nine round levels."""
    step = 10.0 ** math.floor(math.log10((high - low) / 6.0))
    step *= next(factor for factor in (1, 2, 5, 10) if (high - low) / (factor * step) <= 9)
    first = math.ceil(low / step)
    return [step * k for k in range(first, math.floor(high / step) + 1)]


def _decimals(step: float) -> int:
    return max(0, -math.floor(math.log10(step) + 1e-9))
