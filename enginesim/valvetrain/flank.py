"""
The smoothest flank through given points: a spline whose acceleration has one hump.

Everything here is dimensionless: the position ``x`` runs from 0 (end of the base circle) to 1
(nose), the lift from 0 to 1. The flank is a quintic spline, so lift, velocity, acceleration,
jerk and the slope of the jerk are continuous.

Source: the criterion is ours; the method of solution is that of C. L. Lawson and R. J. Hanson,
*Solving Least Squares Problems*, 1974, chapter 23 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

Array = NDArray[np.float64]

DEGREE = 5
N_SPAN = 56

# The rules a flank is held to, the strictest first; a looser one is used only when the points
# cannot be met by a stricter one.
SINGLE_HUMP = "single hump"  # the acceleration rises once, then falls all the way to the nose
SINGLE_TURN = "single turn"  # the acceleration changes sign once
MONOTONE = "monotone"  # the lift never falls before the nose

# Largest relative residual of a bound that still counts as met.
_FEASIBLE = 1e-9


@dataclass(frozen=True)
class Flank:
    """
    A flank: spline coefficients, and the rule that they obey.

    Attributes
    ----------
    knots : ndarray, shape (n + DEGREE + 1,)
        Knots of the spline over 0 to 1. [-]
    coefficients : ndarray, shape (n,)
        Control points of the lift. [-]
    rule : str
        The strictest of the rules above that the points allow. [-]
    """

    knots: Array
    coefficients: Array
    rule: str


class _Basis:
    """The spline space, with its rows of values and its differences of control points."""

    def __init__(self) -> None:
        inner = np.linspace(0.0, 1.0, N_SPAN + 1)
        self.knots = np.concatenate([np.zeros(DEGREE), inner, np.ones(DEGREE)])
        self.size = N_SPAN + DEGREE

    def values(self, x: Array, derivative: int) -> Array:
        """Rows that give a derivative of the spline at each position."""
        from scipy.interpolate import BSpline

        rows: Array = BSpline(self.knots, np.eye(self.size), DEGREE)(x, nu=derivative)
        return rows

    def control(self, derivative: int) -> Array:
        """Matrix that gives the control points of a derivative: their sign is its sign."""
        matrix, knots, degree = np.eye(self.size), self.knots, DEGREE
        for _ in range(derivative):
            n = matrix.shape[0]
            width = (knots[degree + 1 : degree + n] - knots[1:n]) / degree
            matrix = np.diff(matrix, axis=0) / width[:, None]
            knots, degree = knots[1:-1], degree - 1
        return matrix

    def jerk_root(self) -> Array:
        """Matrix whose product with the control points has the integral of jerk squared as norm."""
        node, weight = np.polynomial.legendre.leggauss(3)  # exact: jerk squared has degree 4
        edge = np.linspace(0.0, 1.0, N_SPAN + 1)
        x = (edge[:-1, None] + 0.5 * (node + 1.0) / N_SPAN).ravel()
        w = np.tile(0.5 * weight / N_SPAN, N_SPAN)
        root: Array = self.values(x, 3) * np.sqrt(w)[:, None]
        return root


class _LeastJerk:
    """
    Least integral of jerk squared under equalities, then under inequalities as well.

    The equalities are taken out by a basis of their null space; what is left is the least
    distance problem, solved by non-negative least squares.
    """

    def __init__(self, objective: Array, rows: Array, wanted: Array) -> None:
        self.start = np.linalg.lstsq(rows, wanted, rcond=None)[0]
        _, singular, transposed = np.linalg.svd(rows)
        self.is_possible = bool(
            singular[-1] > 1e-10 * singular[0]
            and np.allclose(rows @ self.start, wanted, rtol=0.0, atol=1e-10)
        )
        q, r = np.linalg.qr(objective @ transposed[len(wanted) :].T)
        self.to_control = transposed[len(wanted) :].T @ np.linalg.inv(r)
        self.free = -q.T @ (objective @ self.start)

    def best(self, bound: Array, limit: Array) -> tuple[Array, float] | None:
        """Control points with ``bound @ c >= limit`` and their objective; None if impossible."""
        from scipy.optimize import nnls

        g = bound @ self.to_control
        scale = np.linalg.norm(g, axis=1) + np.finfo(float).tiny
        h = (limit - bound @ self.start - g @ self.free) / scale
        stacked = np.vstack([(g / scale[:, None]).T, h[None, :]])
        target = np.zeros(stacked.shape[0])
        target[-1] = 1.0
        try:
            weight, _ = nnls(stacked, target)
        except RuntimeError:  # its iteration limit
            return None
        residual = stacked @ weight - target
        if -residual[-1] < _FEASIBLE:
            return None
        z = -residual[:-1] / residual[-1]
        return self.start + self.to_control @ (z + self.free), float(z @ z)


def _signs(n: int, n_positive: int) -> Array:
    sign = np.ones(n)
    sign[n_positive:] = -1.0
    return sign


def _bounds(basis: _Basis) -> Iterator[tuple[str, list[Array]]]:
    """Rules from strict to loose, each with its alternatives (where the sign changes)."""
    for rule, derivative in ((SINGLE_HUMP, 3), (SINGLE_TURN, 2)):
        control = basis.control(derivative)
        n = len(control)
        yield rule, [control * _signs(n, i)[:, None] for i in range(2, n - 1)]
    yield MONOTONE, [basis.control(1)]


def smoothest(
    position: Sequence[float], lift: Sequence[float], steepest: float | None = None
) -> Flank | None:
    """
    Flank of least jerk through points, from rest at 0 to the nose at 1.

    Parameters
    ----------
    position : sequence of float
        Where the flank is pinned, strictly between 0 and 1. [-]
    lift : sequence of float
        Lift there, relative to the lift of the nose. [-]
    steepest : float, optional
        Largest slope allowed. [-]

    Returns
    -------
    Flank or None
        None if no flank that rises all the way meets the points.

    Notes
    -----
    The integral of the jerk squared is least among all quintic splines on the given knots that
    start with zero lift, velocity, acceleration and jerk, end with zero velocity and jerk (so
    that the mirrored flank joins with continuous derivatives), pass exactly through the points,
    and obey the strictest possible rule. A rule bounds the signs of the control points of a
    derivative, which bounds the derivative everywhere, not only at some samples.
    """
    basis = _Basis()
    pinned = np.asarray(position, dtype=float)
    ends = [basis.values(np.array([0.0]), nu) / N_SPAN**nu for nu in (0, 1, 2, 3)]
    ends += [basis.values(np.array([1.0]), nu) / N_SPAN**nu for nu in (0, 1, 3)]
    rows = np.vstack([*ends, basis.values(pinned, 0)])
    wanted = np.concatenate([[0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0], np.asarray(lift, dtype=float)])
    problem = _LeastJerk(basis.jerk_root(), rows, wanted)
    if not problem.is_possible:
        return None
    slope = -basis.control(1) if steepest is not None else np.empty((0, basis.size))
    slope_limit = np.full(len(slope), -(steepest or 0.0))
    for rule, alternatives in _bounds(basis):
        found = [
            problem.best(
                np.vstack([bound, slope]), np.concatenate([np.zeros(len(bound)), slope_limit])
            )
            for bound in alternatives
        ]
        met = [candidate for candidate in found if candidate is not None]
        if met:
            coefficients, _ = min(met, key=lambda candidate: candidate[1])
            return Flank(basis.knots, coefficients, rule)
    return None
