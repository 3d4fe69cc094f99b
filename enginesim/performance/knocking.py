"""
Which fixed spark knocks, by how many degrees and at which speeds?

Source: `knock_margin` of the results; docs/theory/cylinder.md.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Final

from enginesim.performance.quoting import quoted
from enginesim.performance.results import Performance

#: Less than this is within what the margin is worth: charts and lights read whole degrees. [rad]
_SMALL: Final = math.radians(0.5)
_MOST_SPEEDS: Final = 6


def margins(points: Iterable[Performance]) -> dict[float, float]:
    """
    Return the knock margin at each speed that has one.

    Parameters
    ----------
    points : iterable of Performance
        Results of one engine.

    Returns
    -------
    dict of float to float
        Speed [rpm] and margin. [rad]
    """
    return {point.rpm: quoted(point, "knock_margin") for point in points}


def caution(found: Mapping[float, float]) -> str:
    """
    Warn of an engine whose fixed spark knocks.

    Parameters
    ----------
    found : mapping of float to float
        Speed [rpm] and knock margin [rad]; gaps are passed over.

    Returns
    -------
    str
        One sentence, the worst speed first; empty where it does not knock.
    """
    knocking = sorted(
        (margin, rpm) for rpm, margin in found.items() if margin < -_SMALL
    )  # what is no number is not below
    if not knocking:
        return ""
    listed = [f"{-math.degrees(margin):.0f} deg at {rpm:.0f} rpm" for margin, rpm in knocking]
    more = len(listed) - _MOST_SPEEDS
    text = ", ".join(listed[:_MOST_SPEEDS]) + (f" and {more} more speeds" if more > 0 else "")
    return (
        f"spark.advance: the fixed spark knocks by {text}: retard it there, use better fuel, or "
        'let spark.mode = "knock limited" find it'
    )
