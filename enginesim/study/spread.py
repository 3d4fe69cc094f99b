"""
Which points fill a space evenly, however many of them are drawn?

A Halton sequence with permuted digits. SciPy has one, and this gives the same numbers to the last
bit; but loading its statistics takes a second, more than asking for ten thousand stored engines.

Source: J. H. Halton, *On the efficiency of certain quasi-random sequences of points in evaluating
multi-dimensional integrals*, 1960; A. B. Owen, *A randomized Halton algorithm in R*, 2017 (both
from memory).
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_BITS: Final = 54  # digits beyond them do not change a float between 0 and 1


def shares(n: int, n_columns: int, seed: int) -> Floats:
    """
    First points of a sequence that fills a space evenly.

    Parameters
    ----------
    n : int
        How many points. [-]
    n_columns : int
        Dimensions of the space. [-]
    seed : int
        Decides how digits are permuted. [-]

    Returns
    -------
    ndarray, shape (n, n_columns)
        Numbers from 0 to 1, 1 excluded; more points begin with the same ones. [-]

    Examples
    --------
    >>> shares(4, 1, seed=1)[:, 0].round(3).tolist()
    [0.827, 0.327, 0.577, 0.077]
    """
    (rng,) = np.random.default_rng(seed).spawn(1)  # as SciPy does
    return np.column_stack([_column(n, base, rng) for base in _primes(n_columns)])


def _column(n: int, base: int, rng: np.random.Generator) -> Floats:
    """Digits of the numbers from 0 on, permuted, and turned about the point."""
    digits = np.repeat(np.arange(base)[None], math.ceil(_BITS / math.log2(base)) - 1, axis=0)
    for row in digits:
        rng.shuffle(row)
    rest = np.arange(n)
    found = np.zeros(n)
    worth = 1.0
    for row in digits:
        worth /= base
        found += row[rest % base] * worth
        rest //= base
    return found


def _primes(n: int) -> list[int]:
    """The first prime numbers."""
    found: list[int] = []
    number = 2
    while len(found) < n:
        if all(number % prime for prime in found):
            found.append(number)
        number += 1
    return found
