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
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from enginesim.lobe.spline import N_SPAN, SIZE, control_points, rows

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

# The rules a flank is held to, the strictest first; a looser one is used only when the points
# cannot be met by a stricter one.
SINGLE_HUMP = "single hump"  # the acceleration rises once, then falls all the way to the nose
SINGLE_TURN = "single turn"  # the acceleration changes sign once
MONOTONE = "monotone"  # the lift never falls before the nose
_TURNING = {SINGLE_HUMP: 3, SINGLE_TURN: 2}  # the derivative whose sign changes once

# Jerk squared of the best single hump, over that of the best single turn, from which on the hump
# gives way to the turn, and at which it has. Cards of practice have up to 1.3 (measured on five
# families of invented cards); a low lift over long durations, which wants a flat nose, has more.
_STRAINED, _BROKEN = 1.5, 3.0
# Excess of the objective, over that without any rule, at which a rule counts as impossible: a flank
# that a strict rule makes so much rougher is better left to the next rule.
_WORST = {SINGLE_HUMP: 30.0, SINGLE_TURN: 100.0, MONOTONE: 1e4}
# Accelerations that are smaller, relative to the lift, are rounding.
_SIGN_DIGITS = 7
# Relative size of a bound's row below which the equalities leave nothing to choose.
_SETTLED = 1e-10
# Smallest gain, in unit columns and a unit target, for which a bound becomes active.
_GAIN = 1e-13


@dataclass(frozen=True)
class Flank:
    """
    A flank: spline coefficients, and the rule that they obey.

    Attributes
    ----------
    coefficients : ndarray, shape (n,)
        Control points of the lift. [-]
    rule : str
        The strictest of the rules above that the points allow. [-]
    jerk : float
        Integral of the jerk squared. [-]
    """

    coefficients: Array
    rule: str
    jerk: float


@cache
def _jerk_root() -> Array:
    """Matrix whose product with the control points has the integral of jerk squared as norm."""
    node, weight = np.polynomial.legendre.leggauss(3)  # exact: jerk squared has degree 4
    edge = np.linspace(0.0, 1.0, N_SPAN + 1)
    x = (edge[:-1, None] + 0.5 * (node + 1.0) / N_SPAN).ravel()
    w = np.tile(0.5 * weight / N_SPAN, N_SPAN)
    return rows(x, 3) * np.sqrt(w)[:, None]


def _non_negative(
    matrix: Array, target: Array, least: float, first: Mask
) -> tuple[Array, Mask] | None:
    """
    Residual of non-negative least squares, and the columns in use.

    None as soon as the residual's square falls under `least`. The columns in use are solved by
    their normal equations, and once more by least squares at the end. They begin with those of
    `first` that are wanted.
    """
    gram, aim = matrix.T @ matrix, matrix.T @ target

    def solved(active: Mask) -> Array:
        index = np.flatnonzero(active)
        weight = np.zeros(len(aim))
        weight[index] = np.linalg.solve(gram[np.ix_(index, index)], aim[index])
        return weight

    try:
        active = first.copy()
        weight = solved(active)
        while (weight[active] <= 0.0).any():
            active &= weight > 0.0
            weight = solved(active)
        for _ in range(3 * len(aim)):
            if 1.0 - aim @ weight < least:
                return None
            gain = np.where(active, -np.inf, aim - gram @ weight)
            best = int(np.argmax(gain))
            if gain[best] <= _GAIN:
                break
            active[best] = True
            trial = solved(active)
            while (back := active & (trial <= 0.0)).any():
                share = (weight[back] / (weight[back] - trial[back])).min()
                weight = weight + share * (trial - weight)
                active &= weight > _GAIN
                weight[~active] = 0.0
                trial = solved(active)
            weight = trial
    except np.linalg.LinAlgError:
        return None
    index = np.flatnonzero(active)
    final = np.linalg.lstsq(matrix[:, index], target, rcond=None)[0]
    residual: Array = matrix[:, index] @ final - target
    return residual, active


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
        least = self.start + self.to_control @ self.free
        self.unbounded = float(np.sum((objective @ least) ** 2))
        self._touched: dict[int, Mask] = {}  # bounds that the last flank touched, by their number

    def best(self, bound: Array, limit: Array, worst: float) -> tuple[Array, float] | None:
        """
        Control points with ``bound @ c >= limit``, and the excess of their objective.

        The excess is over the objective without bounds; None if it is over `worst`.
        """
        g = bound @ self.to_control
        scale = np.linalg.norm(g, axis=1)
        is_loose = scale > _SETTLED * scale.max()  # the others are settled by the equalities
        g, scale = g[is_loose], scale[is_loose]
        h = ((limit - bound @ self.start)[is_loose] - g @ self.free) / scale
        stacked = np.vstack([(g / scale[:, None]).T, h[None, :]])
        target = np.zeros(stacked.shape[0])
        target[-1] = 1.0
        first = self._touched.get(len(bound), np.zeros(len(bound), dtype=bool))[is_loose]
        found = _non_negative(stacked, target, 1.0 / (1.0 + worst), first)
        if found is None:
            return None
        residual, active = found
        self._touched[len(bound)] = np.zeros(len(bound), dtype=bool)
        self._touched[len(bound)][is_loose] = active
        z = -residual[:-1] / residual[-1]
        return self.start + self.to_control @ (z + self.free), float(z @ z)


def _signs(n: int, n_positive: int) -> Array:
    sign = np.ones(n)
    sign[n_positive:] = -1.0
    return sign


class Flanks:
    """
    Flanks through the same points, from rest at 0 to the nose at 1, for any limit of the slope.

    Parameters
    ----------
    position : sequence of float
        Where the flanks are pinned, strictly between 0 and 1. [-]
    lift : sequence of float
        Lift there, relative to the lift of the nose. [-]
    """

    def __init__(self, position: Sequence[float], lift: Sequence[float]) -> None:
        pinned = np.asarray(position, dtype=float)
        ends = [rows(np.array([0.0]), nu) / N_SPAN**nu for nu in (0, 1, 2, 3)]
        ends += [rows(np.array([1.0]), nu) / N_SPAN**nu for nu in (0, 1, 3)]
        fixed = np.vstack([*ends, rows(pinned)])
        wanted = np.concatenate([[0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0], np.asarray(lift, float)])
        self._problem = _LeastJerk(_jerk_root(), fixed, wanted)
        self._turn = dict.fromkeys(_TURNING, round(pinned[0] * N_SPAN))

    def smoothest(self, steepest: float | None = None) -> Flank | None:
        """
        Flank of least jerk.

        Parameters
        ----------
        steepest : float, optional
            Largest slope allowed; with one the loosest rule is not tried. [-]

        Returns
        -------
        Flank or None
            None if no flank meets the points.

        Notes
        -----
        The integral of the jerk squared is least among all quintic splines on the given knots that
        start with zero lift, velocity, acceleration and jerk, end with zero velocity and jerk (so
        that the mirrored flank joins with continuous derivatives), pass exactly through the
        points, and obey the strictest possible rule. A rule bounds the signs of the control points
        of a derivative, which bounds the derivative everywhere, not only at some samples. From the
        first rule to the second there is no jump: where the hump costs `_STRAINED` times the jerk
        of the turn, the flank begins to go over, and at `_BROKEN` times it has.
        """
        if not self._problem.is_possible:
            return None
        slope = -control_points(1) if steepest is not None else np.empty((0, SIZE))
        slope_limit = np.full(len(slope), -(steepest or 0.0))

        def least(bound: Array, worst: float) -> tuple[Array, float] | None:
            limit = np.concatenate([np.zeros(len(bound)), slope_limit])
            return self._problem.best(np.vstack([bound, slope]), limit, worst)

        hump = self._best_turn(SINGLE_HUMP, least)
        if hump is not None and hump.jerk <= _STRAINED * self._problem.unbounded:
            return hump  # no turn has less jerk than the flank without a rule
        turn = self._best_turn(SINGLE_TURN, least)
        if hump is not None or turn is not None:
            return _between(hump, turn)
        if steepest is None:
            loosest = least(control_points(1), _WORST[MONOTONE] * self._problem.unbounded)
            if loosest is not None:
                return self._flank(*loosest, MONOTONE)
        return None

    def _flank(self, coefficients: Array, excess: float, rule: str) -> Flank:
        return Flank(coefficients, rule, excess + self._problem.unbounded)

    def _best_turn(
        self, rule: str, least: Callable[[Array, float], tuple[Array, float] | None]
    ) -> Flank | None:
        """
        Best flank whose derivative changes its sign once, at the best of all control points.

        The objective falls to that point from both sides: a walk finds it, from where the flank
        before had it. Points to begin at are tried outward from there until one is possible.
        """
        control = control_points(_TURNING[rule])
        n, bar = len(control), _WORST[rule] * self._problem.unbounded
        choices = range(2, n - 1)
        best, at = None, 0
        for at in sorted(choices, key=lambda i: abs(i - self._turn[rule])):
            best = least(control * _signs(n, at)[:, None], bar)
            if best is not None:
                break
        if best is None:
            return None
        for way in (1, -1):
            start = at
            while at + way in choices:
                found = least(control * _signs(n, at + way)[:, None], best[1])
                if found is None:
                    break
                best, at = found, at + way
            if at != start:
                break  # better this way: the other way is worse
        self._turn[rule] = at
        return self._flank(*best, rule)


def _between(hump: Flank | None, turn: Flank | None) -> Flank | None:
    """The hump, the turn, or what lies between them; both pass through the same points."""
    if hump is None or turn is None:
        return hump or turn
    part = (hump.jerk / turn.jerk - _STRAINED) / (_BROKEN - _STRAINED)
    if not 0.0 < part < 1.0:
        return hump if part <= 0.0 else turn
    part *= part * (3.0 - 2.0 * part)
    mixed = hump.coefficients + part * (turn.coefficients - hump.coefficients)
    jerk = float(np.sum((_jerk_root() @ mixed) ** 2))
    signs = np.sign(np.round(control_points(2) @ mixed, _SIGN_DIGITS))
    changes = np.count_nonzero(np.diff(signs[signs != 0.0]))
    return Flank(mixed, SINGLE_TURN if changes <= 1 else MONOTONE, jerk)
