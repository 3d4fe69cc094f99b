"""
Monotone cubic through measured points: no overshoot, continuous slope.

Source: F. N. Fritsch and J. Butland, SIAM Journal on Scientific and Statistical Computing 5
(1984) 300 (from memory; checked against scipy in the tests).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


class MonotoneCubic:
    """
    Piecewise cubic with slopes that never overshoot the points; constant outside them.

    Parameters
    ----------
    x : array_like, shape (n,)
        Rising positions, at least two.
    y : array_like, shape (n,)
        Values.
    """

    def __init__(self, x: ArrayLike, y: ArrayLike) -> None:
        self.x = np.asarray(x, dtype=float)
        self.y = np.asarray(y, dtype=float)
        self.step = np.diff(self.x)
        self.secant = np.diff(self.y) / self.step
        self.slope = self._slopes()

    def _slopes(self) -> Array:
        h, d = self.step, self.secant
        if d.size == 1:
            return np.array([d[0], d[0]])
        before, after = 2.0 * h[1:] + h[:-1], h[1:] + 2.0 * h[:-1]
        turns = d[:-1] * d[1:] <= 0.0
        with np.errstate(divide="ignore", invalid="ignore"):
            mean = (before + after) / (before / d[:-1] + after / d[1:])
        inner = np.where(turns, 0.0, mean)
        first = self._end(h[0], h[1], d[0], d[1])
        last = self._end(h[-1], h[-2], d[-1], d[-2])
        return np.concatenate([[first], inner, [last]])

    @staticmethod
    def _end(h_0: float, h_1: float, d_0: float, d_1: float) -> float:
        """Slope at an end by three points, limited so that it does not overshoot."""
        slope = ((2.0 * h_0 + h_1) * d_0 - h_0 * d_1) / (h_0 + h_1)
        if slope * d_0 <= 0.0:
            return 0.0
        if d_0 * d_1 <= 0.0 and abs(slope) > 3.0 * abs(d_0):
            return 3.0 * d_0
        return float(slope)

    def __call__(self, x: ArrayLike, derivative: int = 0) -> Array:
        """
        Value, or the first or second derivative.

        Parameters
        ----------
        x : array_like
            Positions.
        derivative : int
            0, 1 or 2.

        Returns
        -------
        ndarray
            Outside the points the end values, with zero derivatives.
        """
        wanted = np.asarray(x, dtype=float)
        at = np.clip(wanted, self.x[0], self.x[-1])
        i = np.clip(np.searchsorted(self.x, at, side="right") - 1, 0, self.step.size - 1)
        h, s = self.step[i], at - self.x[i]
        left, right, secant = self.slope[i], self.slope[i + 1], self.secant[i]
        square = (3.0 * secant - 2.0 * left - right) / h
        cube = (left + right - 2.0 * secant) / (h * h)
        if derivative == 0:
            return np.asarray(self.y[i] + s * (left + s * (square + s * cube)))
        value = (
            left + s * (2.0 * square + 3.0 * s * cube)
            if derivative == 1
            else 2.0 * square + 6.0 * s * cube
        )
        return np.asarray(np.where(wanted == at, value, 0.0))
