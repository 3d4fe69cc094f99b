"""Which points of a map lie between engines that were run?"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def between(points: Floats, dots: Floats) -> NDArray[np.bool_]:
    """
    Whether points lie within the smallest convex border around some dots, or on it.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Points of a map. [any]
    dots : ndarray, shape (m, 2)
        Engines that were run. [any]

    Returns
    -------
    ndarray of bool, shape (n,)
        False everywhere where the dots enclose nothing. [-]

    Notes
    -----
    Each side of the map counts in shares of the dots' own extent, so units do not matter. Border
    by A. M. Andrew's chain of points sorted along one side (1979, from memory).

    Examples
    --------
    >>> dots = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    >>> between(np.array([[0.2, 0.2], [0.5, 0.5], [0.6, 0.6]]), dots).tolist()
    [True, True, False]
    """
    extent = np.ptp(dots, axis=0) if len(dots) else np.zeros(2)
    if not np.all(extent > 0.0):
        return np.zeros(len(points), dtype=bool)
    start = dots.min(axis=0)
    corners = _corners((dots - start) / extent)
    if len(corners) < 3:
        return np.zeros(len(points), dtype=bool)
    places = (points - start) / extent
    inside = np.ones(len(points), dtype=bool)
    for one, other in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        side = other - one
        inside &= side[0] * (places[:, 1] - one[1]) - side[1] * (places[:, 0] - one[0]) >= -1e-9
    return inside


def _corners(dots: Floats) -> Floats:
    """Corners of the border, turning left all the way round."""
    ordered = dots[np.lexsort((dots[:, 1], dots[:, 0]))]
    halves: list[list[Floats]] = []
    for way in (ordered, ordered[::-1]):
        chain: list[Floats] = []
        for dot in way:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], dot) <= 1e-12:
                chain.pop()
            chain.append(dot)
        halves.append(chain[:-1])
    return np.array([*halves[0], *halves[1]])


def _turn(one: Floats, two: Floats, three: Floats) -> float:
    """Above zero where three points turn left."""
    first, second = two - one, three - one
    return float(first[0] * second[1] - first[1] * second[0])
