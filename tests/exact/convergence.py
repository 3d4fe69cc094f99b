"""At what order does an error fall with the mesh?

Source: definition of the order of convergence; any text on numerical analysis.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

Samples = NDArray[np.float64]


def observed_order(spacing: Sequence[float], error: Sequence[float]) -> float:
    """Slope of log(error) over log(spacing), least squares [-]."""
    return float(np.polyfit(np.log(spacing), np.log(error), 1)[0])


def mean_error(found: ArrayLike, exact: ArrayLike) -> float:
    """Mean absolute difference: the L1 norm over the length of an even mesh [same as both]."""
    return float(np.mean(np.abs(np.asarray(found) - np.asarray(exact))))


def cell_means(profile: Callable[[Samples], Samples], edges: Samples, points: int = 8) -> Samples:
    """
    Means of a function of place over cells, by Gauss-Legendre quadrature in each.

    What a finite-volume scheme holds is means: comparing it with point values would add a
    second-order error of its own. `edges` shape (n + 1,) [m]; answer shape (n,).
    """
    node, weight = np.polynomial.legendre.leggauss(points)
    left, width = edges[:-1], np.diff(edges)
    place = left[:, None] + 0.5 * (node + 1.0) * width[:, None]
    return np.asarray(profile(place.ravel())).reshape(place.shape) @ weight * 0.5
