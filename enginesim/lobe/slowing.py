"""
How far does a lobe slow down for the edge of its follower's face?

The slower a lobe must be, the sharper its nose and the rougher its flank. Both have a bound, and
where a face asks for more, the lobe is that of the narrowest face that does not. So a lobe follows
its card without a jump, whether its face can follow it or not.

Source: the rule is ours; the search is the method of false position with the Illinois weights
(M. Dowell, P. Jarratt, BIT 11 (1971) 168, from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from enginesim.lobe.spline import control_points, rows

if TYPE_CHECKING:
    from enginesim.lobe.flank import Flank, Flanks

# Largest integral of jerk squared, over that of the smoothest flank, that an edge may cause. Cards
# of practice on their usual faces need up to 1.2; from 2 on the flank grows corners (measured on
# sixteen invented cards).
ROUGHEST: Final = 1.5
# Relative width to which the slope is narrowed down: the area then moves by less than that.
_NARROW: Final = 1e-7


def slowed(flanks: Flanks, free: Flank, limit: float, sharpest: float) -> Flank:
    """
    Flank whose slope obeys a limit as far as nose and smoothness allow.

    Parameters
    ----------
    flanks : Flanks
        Flanks through the card's points.
    free : Flank
        The smoothest of them.
    limit : float
        Largest slope that the follower wants. [-]
    sharpest : float
        Largest deceleration of the nose that the limit may cause. [-]

    Returns
    -------
    Flank
        Its slope is the limit, or the least above it that keeps the nose from growing sharper
        than `sharpest` and the jerk from growing over `ROUGHEST`; the smoothest flank where that
        has the sharper nose already.
    """

    def excess(flank: Flank | None) -> float | None:
        """Over its bounds, relative; None if there is no flank."""
        if flank is None:
            return None
        return max(_sharpness(flank) / sharpest, flank.jerk / (ROUGHEST * free.jerk)) - 1.0

    low, high, best = limit, _slope(free), free
    under = max(_sharpness(free) / sharpest, 1.0 / ROUGHEST) - 1.0
    if high <= low or under >= 0.0:
        return free
    slow = flanks.smoothest(limit)
    over = excess(slow)
    if slow is not None and over is not None and over <= 0.0:
        return slow
    stayed = 0  # the end that the last step did not move: its weight is halved
    while high - low > _NARROW * high:
        middle = 0.5 * (low + high)
        if over is not None:
            least = 0.25 * (high - low) * _NARROW
            middle = high + (low - high) * under / (under - over)
            middle = min(max(middle, low + least), high - least)
        found = flanks.smoothest(middle)
        value = excess(found)
        if found is None or value is None or value > 0.0:
            under *= 0.5 if stayed == 1 else 1.0
            low, over, stayed = middle, value, 1
        else:
            over = 0.5 * over if over is not None and stayed == -1 else over
            high, under, best, stayed = middle, value, found, -1
    return best


def _slope(flank: Flank) -> float:
    """Bound of the slope: its largest control point."""
    return float((control_points(1) @ flank.coefficients).max())


def _sharpness(flank: Flank) -> float:
    return -float((rows(1.0, 2) @ flank.coefficients)[0])
