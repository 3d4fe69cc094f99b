"""Samples that fill a space evenly."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import qmc

from enginesim.study.spread import shares


@pytest.mark.parametrize("n, n_columns, seed", [(1, 1, 1), (3000, 4, 1), (200, 12, 77)])
def test_is_the_sequence_of_scipy(n: int, n_columns: int, seed: int) -> None:
    """To the last bit: samples that are stored are found again, whichever drew them."""
    given = qmc.Halton(n_columns, scramble=True, rng=seed).random(n)
    assert np.array_equal(shares(n, n_columns, seed), given)


def test_more_begin_with_the_same() -> None:
    assert np.array_equal(shares(50, 3, 5), shares(200, 3, 5)[:50])


def test_every_part_gets_its_share() -> None:
    """Of 64 points each eighth of the first side has 8: it is the sequence of base 2."""
    counts = np.histogram(shares(64, 2, 3)[:, 0], bins=8, range=(0.0, 1.0))[0]
    assert counts.tolist() == [8] * 8
