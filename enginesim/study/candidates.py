"""Which engines could a search try next, and where do they lie among the others?"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.study.plan import from_shares
from enginesim.study.values import Span, Words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.study.definition import Variable
    from enginesim.study.plan import Point
    from enginesim.study.surrogate import Floats

#: If there are no more combinations than this, all of them are looked at.
ALL: Final = 4000
_DRAWN = 1500  # else so many at random ...
_NEAR = 120  # ... and so many about each of the leaders
_WIDTHS = (0.15, 0.04, 0.01)  # how far from a leader, in shares


class Space:
    """
    Points as rows of numbers from 0 to 1.

    Parameters
    ----------
    variables : sequence of Variable
        What is varied.

    Attributes
    ----------
    groups : tuple of int
        Variable of each column: a number has one, a list of words one for each word.
    """

    def __init__(self, variables: Sequence[Variable]) -> None:
        self.variables = tuple(variables)
        self.groups = tuple(
            i for i, variable in enumerate(self.variables) for _ in range(_width(variable))
        )

    def places(self, points: Sequence[Point]) -> Floats:
        """Rows of some points, shape (n, columns)."""
        columns: list[Floats] = []
        for i, variable in enumerate(self.variables):
            given = [point[i] for point in points]
            values = variable.values
            if isinstance(values, Words):
                # Two different words are as far apart as the ends of a number.
                columns += [
                    np.array([float(value == word) for value in given]) * 0.5**0.5
                    for word in values.items
                ]
                continue
            ends = (values.low, values.high) if isinstance(values, Span) else (
                min(values.numbers), max(values.numbers)
            )  # fmt: skip
            width = (ends[1] - ends[0]) or 1.0
            columns.append((np.array(given, dtype=np.float64) - ends[0]) / width)
        return np.column_stack(columns)

    def candidates(self, rng: np.random.Generator, leaders: Sequence[Point]) -> list[Point]:
        """
        Points among which the next ones are chosen.

        Parameters
        ----------
        rng : Generator
            Where random numbers come from.
        leaders : sequence of Point
            The best so far: some candidates lie about them.

        Returns
        -------
        list of Point
            Each once.
        """
        total = 1
        for variable in self.variables:
            total *= ALL + 1 if isinstance(variable.values, Span) else len(variable.values.items)
        if total <= ALL:
            items = (v.values.items for v in self.variables if not isinstance(v.values, Span))
            return list(itertools.product(*items))
        shares = rng.random((_DRAWN, len(self.variables)))
        found = [from_shares(self.variables, row) for row in shares]
        for leader in leaders:
            centre = np.array([_share(v, x) for v, x in zip(self.variables, leader, strict=True)])
            for width in _WIDTHS:
                steps = rng.normal(0.0, width, (_NEAR // len(_WIDTHS), len(centre)))
                # Some variables stay as they are: often one alone must move.
                steps *= rng.random(steps.shape) < 0.6
                moved = np.clip(centre + steps, 0.0, 1.0)
                found += [from_shares(self.variables, row) for row in moved]
        return list(dict.fromkeys(found))


def _width(variable: Variable) -> int:
    return len(variable.values.items) if isinstance(variable.values, Words) else 1


def _share(variable: Variable, value: float | str) -> float:
    """Share that gives the value again."""
    values = variable.values
    if isinstance(values, Span):
        return values.share(float(value))
    return (values.items.index(value) + 0.5) / len(values.items)
