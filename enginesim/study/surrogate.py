"""
What is a measure likely to be at a point that nobody has run, and how sure is that?

A Gaussian process: values at two points are the more alike the nearer the points lie, each variable
with a reach of its own that is found from the data.

Source: C. E. Rasmussen, C. K. I. Williams, *Gaussian Processes for Machine Learning*, 2006,
algorithm 2.1 and equations 4.17 and 5.8 (from memory); expected improvement: D. R. Jones,
M. Schonlau, W. J. Welch, *Efficient Global Optimization of Expensive Black-Box Functions*, 1998
(from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Reaches, in shares of a variable's span: where the search for them begins, how far it may go, and
# how strongly it is held near the middle (one standard deviation of the logarithm).
_REACH, _SHORTEST, _LONGEST, _HOLD = 0.5, 0.05, 10.0, 1.0
# Scatter of a result about a smooth surface, over the spread of all results.
_SCATTER, _LEAST_SCATTER, _MOST_SCATTER = 0.03, 1e-3, 0.5
_BLOCK: Final = 64  # points worked out at once: their tables stay in a processor's cache
_LEAST: Final = 1e-9  # keeps the matrix of correlations regular [-]


@dataclass(frozen=True)
class Surrogate:
    """
    A measure over the points of a study, as far as results tell.

    Attributes
    ----------
    places : ndarray, shape (n, d)
        Points with results, in shares of the variables' spans. [-]
    reach : ndarray, shape (d,)
        How far a result tells of its neighbours, along each variable. [-]
    scatter : float
        Standard deviation of results about the surface, over that of the results. [-]
    """

    places: Floats
    reach: Floats
    scatter: float
    _mean: float
    _spread: float
    _factor: Floats
    _weights: Floats

    def at(self, places: Floats) -> tuple[Floats, Floats]:
        """
        What is to be expected at some points.

        Parameters
        ----------
        places : ndarray, shape (m, d)
            In shares. [-]

        Returns
        -------
        mean : ndarray, shape (m,)
            Expected value. [any]
        sigma : ndarray, shape (m,)
            Standard deviation of the surface there. [any]
        """
        from scipy.linalg import solve_triangular

        across = _alike(places, self.places, self.reach)
        mean: Floats = self._mean + self._spread * (across @ self._weights)
        inner = solve_triangular(self._factor, across.T, lower=True)
        variance = np.maximum(1.0 - np.sum(inner**2, axis=0), 1e-12)
        return mean, self._spread * np.sqrt(variance)

    def expected(self, places: Floats) -> Floats:
        """
        What is to be expected at some points, without how sure that is: much quicker.

        Parameters
        ----------
        places : ndarray, shape (m, d)
            In shares. [-]

        Returns
        -------
        ndarray, shape (m,)
            Expected value. [any]
        """
        blocks = [
            _alike(places[i : i + _BLOCK], self.places, self.reach) @ self._weights
            for i in range(0, len(places), _BLOCK)
        ]
        result: Floats = self._mean + self._spread * np.concatenate(blocks)
        return result

    def with_belief(self, place: Floats) -> Surrogate:
        """
        The same as if the expected value had been found at one more point.

        Parameters
        ----------
        place : ndarray, shape (d,)
            In shares. [-]

        Returns
        -------
        Surrogate
            Less unsure there, so that the next point is chosen elsewhere.
        """
        values = self._mean + self._spread * (self._targets())
        belief = self.expected(place[None, :])
        return _made(
            np.vstack([self.places, place]),
            np.append(values, belief),
            self.reach,
            self.scatter,
            (self._mean, self._spread),
        )

    def told(self, places: Floats, values: Floats) -> Surrogate:
        """
        The same reaches and scatter with other results: what many tell, fitted to few of them.

        Parameters
        ----------
        places : ndarray, shape (n, d)
            In shares. [-]
        values : ndarray, shape (n,)
            Results; all finite. [any]

        Returns
        -------
        Surrogate
            Of these results alone.
        """
        return _made(places, values, self.reach, self.scatter, _scale(values))

    def _targets(self) -> Floats:
        result: Floats = self._factor @ (self._factor.T @ self._weights)
        return result


def _apart(one: Floats, other: Floats) -> Floats:
    """Distance between points that are given in reaches, times the square root of 5."""
    square = np.sum(one**2, axis=1)[:, None] + np.sum(other**2, axis=1) - 2.0 * one @ other.T
    result: Floats = np.sqrt(5.0 * np.maximum(square, 0.0))
    return result


def _alike(one: Floats, other: Floats, reach: Floats) -> Floats:
    """Correlation between points (Matern, twice differentiable). Shape (n, m)."""
    distance = _apart(one / reach, other / reach)
    result: Floats = (1.0 + distance + distance**2 / 3.0) * np.exp(-distance)
    return result


def _made(
    places: Floats, values: Floats, reach: Floats, scatter: float, scale: tuple[float, float]
) -> Surrogate:
    from scipy.linalg import cho_solve

    mean, spread = scale
    own = _alike(places, places, reach) + (scatter**2 + _LEAST) * np.eye(len(places))
    factor = np.asarray(np.linalg.cholesky(own), dtype=np.float64)
    weights = cho_solve((factor, True), (values - mean) / spread)
    return Surrogate(places, reach, scatter, mean, spread, factor, weights)


def fitted(places: Floats, values: Floats, groups: tuple[int, ...]) -> Surrogate:
    """
    Surrogate that makes the results most likely.

    Parameters
    ----------
    places : ndarray, shape (n, d)
        Points with results, in shares. [-]
    values : ndarray, shape (n,)
        Results; all finite. [any]
    groups : tuple of int
        Which of the reaches each column has: words take several columns and one reach. [-]

    Returns
    -------
    Surrogate
        The same for the same data, to the last bit.
    """
    from scipy.optimize import minimize

    mean, spread = _scale(values)
    target = (values - mean) / spread
    n_reach, columns = max(groups) + 1, np.array(groups)

    def cost(parameters: Floats) -> tuple[float, Floats]:
        return unlikelihood(parameters, places, target, columns)

    limits = np.log([(_SHORTEST, _LONGEST)] * n_reach + [(_LEAST_SCATTER, _MOST_SCATTER)])
    begins = (np.log([reach] * n_reach + [_SCATTER]) for reach in (_REACH, 0.2 * _REACH))
    found = min(
        (minimize(cost, begin, jac=True, method="L-BFGS-B", bounds=limits) for begin in begins),
        key=lambda result: float(result.fun),
    )
    reach = np.exp(found.x[:n_reach])[columns]
    return _made(places, values, reach, math.exp(found.x[n_reach]), (mean, spread))


def unlikelihood(
    parameters: Floats, places: Floats, target: Floats, columns: NDArray[np.int64]
) -> tuple[float, Floats]:
    """
    How unlikely results are with some reaches and scatter, and how that changes with them.

    Parameters
    ----------
    parameters : ndarray, shape (r + 1,)
        Logarithms of the reaches and, last, of the scatter. [-]
    places : ndarray, shape (n, d)
        Points with results, in shares. [-]
    target : ndarray, shape (n,)
        Results, less their mean and over their spread. [-]
    columns : ndarray of int, shape (d,)
        Reach of each column. [-]

    Returns
    -------
    cost : float
        Logarithm of the likelihood, turned round, with what holds the reaches near the middle. [-]
    slope : ndarray, shape (r + 1,)
        Its derivatives. [-]
    """
    *_, log_scatter = parameters
    share = np.exp(2.0 * log_scatter)
    scaled = places / np.exp(parameters[:-1])[columns]
    distance = _apart(scaled, scaled)
    near = np.exp(-distance)
    own = (1.0 + distance + distance**2 / 3.0) * near + (share + _LEAST) * np.eye(len(places))
    try:
        factor = np.linalg.cholesky(own)
    except np.linalg.LinAlgError:
        return 1e10, np.zeros(len(parameters))
    inverse = np.linalg.inv(own)
    weights = inverse @ target
    middle = np.full(len(parameters), math.log(_REACH))
    middle[-1] = math.log(_SCATTER)
    off = (parameters - middle) / _HOLD
    cost = 0.5 * target @ weights + np.sum(np.log(np.diag(factor))) + 0.5 * off @ off
    # Half the trace of (inverse - weights weights') times the derivative of the correlations: by
    # the logarithm of a reach that is 5/3 (1 + r) exp(-r) times the squared distance along it.
    excess = inverse - np.outer(weights, weights)
    slope = off / _HOLD
    slope[-1] += share * np.trace(excess)
    pull = excess * (5.0 / 3.0 * (1.0 + distance) * near)
    along = np.sum(pull, axis=1) @ scaled**2 - np.sum(scaled * (pull @ scaled), axis=0)
    np.add.at(slope, columns, along)
    return float(cost), slope


def _scale(values: Floats) -> tuple[float, float]:
    """Mean and spread of results."""
    mean, spread = float(np.mean(values)), float(np.std(values))
    if spread <= 1e-12 * max(abs(mean), 1e-300):
        spread = max(abs(mean), 1.0) * 1e-6  # all the same: nothing is known of the spread
    return mean, spread


_ROOT: Final = math.sqrt(2.0 * math.pi)


def expected_gain(mean: Floats, sigma: Floats, best: float) -> Floats:
    """
    By how much a point is expected to beat the best, counting no loss where it does not.

    Parameters
    ----------
    mean, sigma : ndarray, shape (m,)
        Expected cost and its standard deviation. [any]
    best : float
        Least cost so far. [any]

    Returns
    -------
    ndarray, shape (m,)
        Expected gain. [any]

    Examples
    --------
    >>> print(f"{expected_gain(np.array([0.0]), np.array([1.0]), 0.0)[0]:.6f}")
    0.398942
    """
    from scipy.special import ndtr

    z = (best - mean) / sigma
    result: Floats = (best - mean) * ndtr(z) + sigma * np.exp(-0.5 * z**2) / _ROOT
    return result


def chance_below(mean: Floats, sigma: Floats, limit: float = 0.0) -> Floats:
    """
    Chance that a value lies below a limit.

    Parameters
    ----------
    mean, sigma : ndarray, shape (m,)
        Expected value and its standard deviation. [any]
    limit : float
        The limit. [any]

    Returns
    -------
    ndarray, shape (m,)
        Between 0 and 1. [-]
    """
    from scipy.special import ndtr

    result: Floats = ndtr((limit - mean) / sigma)
    return result
