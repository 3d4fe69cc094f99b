"""
Quintic splines on even knots over 0 to 1: values, derivatives and signs of derivatives.

numpy alone: importing scipy would cost every process of a run more than half a second.

Source: the recursion of C. de Boor, *A Practical Guide to Splines*, 1978 (from memory; checked
against scipy in the tests).
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

DEGREE = 5
N_SPAN = 56
SIZE = N_SPAN + DEGREE
KNOTS = np.concatenate([np.zeros(DEGREE), np.linspace(0.0, 1.0, N_SPAN + 1), np.ones(DEGREE)])
KNOTS.flags.writeable = False


@cache
def control_points(derivative: int) -> Array:
    """
    Matrix from a spline's control points to those of its derivative.

    Parameters
    ----------
    derivative : int
        Order, 0 to 4. [-]

    Returns
    -------
    ndarray, shape (SIZE - derivative, SIZE)
        Where the derivative's control points keep one sign, so does the derivative. [-]
    """
    matrix, knots, degree = np.eye(SIZE), KNOTS, DEGREE
    for _ in range(derivative):
        n = matrix.shape[0]
        width = (knots[degree + 1 : degree + n] - knots[1:n]) / degree
        matrix = np.diff(matrix, axis=0) / width[:, None]
        knots, degree = knots[1:-1], degree - 1
    matrix.flags.writeable = False
    return matrix


def rows(x: ArrayLike, derivative: int = 0) -> Array:
    """
    Rows that give a derivative of the spline from its control points.

    Parameters
    ----------
    x : array_like, shape (n,)
        Positions from 0 to 1. [-]
    derivative : int
        Order, 0 to 4. [-]

    Returns
    -------
    ndarray, shape (n, SIZE)
        Matrix to be multiplied with the control points. [-]
    """
    at = np.atleast_1d(np.asarray(x, dtype=float))
    degree = DEGREE - derivative
    span = np.clip((at * N_SPAN).astype(np.intp), 0, N_SPAN - 1)
    knots = KNOTS[derivative : len(KNOTS) - derivative]
    # the degree + 1 functions that are not zero in a span, raised degree by degree
    local = np.ones((at.size, 1))
    for k in range(1, degree + 1):
        raised = np.zeros((at.size, k + 1))
        for i in range(k):
            left = knots[span + degree - k + 1 + i]
            right = knots[span + degree + 1 + i]
            share = local[:, i] / (right - left)
            raised[:, i] += (right - at) * share
            raised[:, i + 1] += (at - left) * share
        local = raised
    dense = np.zeros((at.size, SIZE - derivative))
    dense[np.arange(at.size)[:, None], span[:, None] + np.arange(degree + 1)] = local
    return dense @ control_points(derivative) if derivative else dense


def integral(coefficients: Array) -> float:
    """
    Integral of the spline over 0 to 1.

    Parameters
    ----------
    coefficients : ndarray, shape (SIZE,)
        Control points. [-]

    Returns
    -------
    float
        Integral. [-]
    """
    width = (KNOTS[DEGREE + 1 :] - KNOTS[: -DEGREE - 1]) / (DEGREE + 1)
    return float(coefficients @ width)
