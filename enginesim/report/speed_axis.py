"""What do all charts over engine speed have in common: axis, peaks, the crossing of two units?"""

from __future__ import annotations

from math import ceil, log10
from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.report.drawing import FAINT, GREY

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

#: Speed at which torque in lb-ft and power in hp are the same number: 33000 / (2 pi).
CROSSING: Final = 5252.113
_MARGIN = 0.09  # of the speed axis, on either side: room for the names of the lines

# Where the figure of a peak may stand: half widths to the side, points above; the best first.
_PLACES: Final = tuple(
    (aside, above) for above in (17.0, -17.0, 30.0, -30.0) for aside in (0.0, 0.8, -0.8)
)


def mark_crossing(main: Axes, rpm: np.ndarray, top: float, *, is_named_above: bool = False) -> None:
    """
    Faint mark at the speed where lb-ft and hp are the same number.

    Parameters
    ----------
    main : Axes
        To be changed.
    rpm : ndarray, shape (n,)
        Speeds of the chart. [rpm]
    top : float
        Upper end of the scale. [-]
    is_named_above : bool
        Whether its name stands at the top, because something else is at the bottom.
    """
    if not rpm[0] < CROSSING < rpm[-1]:
        return
    main.axvline(CROSSING, color=FAINT, linewidth=1.2, linestyle=":", zorder=0.5)
    main.annotate(
        "5252 rpm:\nlb-ft = hp",
        (CROSSING, (0.985 if is_named_above else 0.015) * top),
        xytext=(4, 0),
        textcoords="offset points",
        va="top" if is_named_above else "baseline",
        size=7.5,
        color=GREY,
    )


def mark_peaks(
    main: Axes,
    size: tuple[float, float],
    every: np.ndarray,
    rpm: np.ndarray,
    labels: Sequence[tuple[np.ndarray, str, str]],
) -> None:
    """
    Ring round each highest point, and its figure where it hides neither line nor figure.

    Parameters
    ----------
    main : Axes
        To be changed.
    size : tuple of float
        Its width and height, in 1/72 in. [-]
    every : ndarray, shape (m,)
        Speeds of the chart. [rpm]
    rpm : ndarray, shape (n,)
        Speeds among which the peaks are looked for. [rpm]
    labels : sequence of (ndarray, str, str)
        For each line its values at `rpm` [-], the text of its peak, its colour.
    """
    wide, tall = size
    bottom, top = main.get_ylim()

    def across(x: np.ndarray | float) -> np.ndarray:
        return place(every, x) * wide

    def up(y: np.ndarray | float) -> np.ndarray:
        return np.asarray((np.asarray(y) - bottom) / (top - bottom) * tall)

    fine = np.linspace(rpm[0], rpm[-1], 400)
    lines = [(across(fine), up(np.interp(fine, rpm, values))) for values, _, _ in labels]
    placed: list[tuple[float, float, float]] = []
    for values, text, colour in labels:
        i = int(np.argmax(values))
        words = f"{text} @ {rpm[i]:.0f}"
        half = 3.1 * len(words)
        for aside, above in _PLACES:
            x = float(np.clip(across(rpm[i]) + aside * half, half, wide - half))
            y = float(up(values[i])) + above
            is_hidden = any(
                bool(np.any((np.abs(px - x) < half + 2) & (np.abs(py - y) < 9))) for px, py in lines
            ) or any(abs(ox - x) < half + oh and abs(oy - y) < 13 for ox, oy, oh in placed)
            if not is_hidden and 8 < y < tall - 4:
                break
        else:
            x, y = float(np.clip(across(rpm[i]), half, wide - half)), float(up(values[i])) + 17
        placed.append((x, y, half))
        main.plot(rpm[i], values[i], "o", ms=10, mfc="none", mec=colour, mew=1.4)
        main.annotate(
            words,
            (x / wide, y / tall),
            xycoords="axes fraction",
            ha="center",
            va="center",
            color=colour,
            weight="bold",
            size=9.5,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 0.5},
        )


def place(every: np.ndarray, rpm: np.ndarray | float) -> np.ndarray:
    """
    Where speeds lie on the axis.

    Parameters
    ----------
    every : ndarray, shape (n,)
        Speeds of the chart. [rpm]
    rpm : ndarray, shape (m,), or float
        Speeds. [rpm]

    Returns
    -------
    ndarray, shape (m,)
        Parts of its length, from the left. [-]
    """
    low, high = ends(every)
    return np.asarray((np.asarray(rpm) - low) / (high - low) + _MARGIN) / (1 + 2 * _MARGIN)


def ends(rpm: np.ndarray) -> tuple[float, float]:
    """
    First and last speed of the axis: round numbers.

    Parameters
    ----------
    rpm : ndarray, shape (n,)
        Speeds of the chart. [rpm]

    Returns
    -------
    tuple of float
        Ends, without the margin. [rpm]
    """
    step = _step(rpm)
    return float(np.floor(rpm[0] / step) * step), float(np.ceil(rpm[-1] / step) * step)


def _step(rpm: np.ndarray) -> float:
    span = float(rpm[-1] - rpm[0])
    return 250.0 if span <= 2500 else 500.0 if span <= 6000 else 1000.0


def speed_axis(axes: Sequence[Axes], rpm: np.ndarray) -> None:
    """
    Common axis of engine speed.

    Parameters
    ----------
    axes : sequence of Axes
        Charts one above the other; the last carries the figures.
    rpm : ndarray, shape (n,)
        Speeds of the chart. [rpm]
    """
    low, high = ends(rpm)
    margin = _MARGIN * (high - low)
    for axis in axes:
        axis.set_xticks(np.arange(low, high + 1, _step(rpm)))
        axis.set_xlim(low - margin, high + margin)
        axis.tick_params(labelbottom=axis is axes[-1])
    axes[-1].set_xlabel("engine speed, rpm", color=GREY)


def round_up(value: float) -> float:
    """
    Next round number of one and a half digits: the top of a scale.

    Parameters
    ----------
    value : float
        Above zero. [-]

    Returns
    -------
    float
        Not below it. [-]
    """
    decade = 10.0 ** ceil(log10(value) - 1)
    return ceil(value / decade * 2) / 2 * decade
