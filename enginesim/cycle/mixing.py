"""How are the last few iterates of a fixed-point iteration mixed into a better one?"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Image = TypeVar("Image")

#: Differences that are mixed: more hold what a nonlinear map has left behind [-].
DEPTH = 8
#: Least singular value of the differences over the largest: below it the oldest is dropped [-].
_CONDITION = 1e-5
#: Residual after a mixed iterate over the one before that is not believed. A jump along the slow
#: directions stirs the quick ones, which die within a cycle: a little growth is no failure [-].
_WORSE = 4.0


@dataclass(frozen=True, eq=False)
class Step(Generic[Image]):
    """
    What changed between two iterates.

    Attributes
    ----------
    residual : ndarray, shape (n,)
        Change of g(x) - x. [-]
    first, second : Image
        g(x) of both.
    output : float
        Change of what is wanted of x in the end.
    """

    residual: Array
    first: Image
    second: Image
    output: float


class Mixing(Generic[Image]):
    """
    Steps between the last iterates of x -> g(x), and how they are best added to the last image.

    Parameters
    ----------
    steps : sequence of Step
        What is known already.
    depth : int
        Most steps that are kept. [-]

    Attributes
    ----------
    steps : list of Step
        Oldest first.

    Notes
    -----
    The factors make the residual least that a map linear between the iterates would leave. One
    step alone is Aitken's extrapolation of the whole vector. Sources: D. G. Anderson, *Iterative
    procedures for nonlinear integral equations*, J. ACM 12, 1965; H. F. Walker, P. Ni, *Anderson
    acceleration for fixed-point iterations*, SIAM J. Numer. Anal. 49, 2011 (both from memory).
    """

    def __init__(self, steps: list[Step[Image]] | None = None, depth: int = DEPTH) -> None:
        self.steps = [] if steps is None else steps
        self._depth = depth
        self._last: tuple[Array, Image, float] | None = None

    def is_worse(self, residual: Array) -> bool:
        """
        Whether a residual is so much larger than the last one that its iterate is to be left.

        Parameters
        ----------
        residual : ndarray, shape (n,)
            Residual of a mixed iterate. [-]

        Returns
        -------
        bool
            Also if it is not a number; never without a last one.
        """
        if self._last is None:
            return False
        return not np.linalg.norm(residual) <= _WORSE * np.linalg.norm(self._last[0])

    def add(self, residual: Array, image: Image, output: float = 0.0) -> None:
        """
        Take note of an iterate.

        Parameters
        ----------
        residual : ndarray, shape (n,)
            g(x) - x, scaled. [-]
        image : Image
            g(x), in whatever form.
        output : float
            What is wanted of x in the end.
        """
        if self._last is not None:
            before, first, earlier = self._last
            self.steps.append(Step(residual - before, first, image, output - earlier))
            del self.steps[: -self._depth]
        self._last = (residual, image, output)

    def forget(self) -> None:
        """Leave the older half of the steps: they lie too far from where the search is now."""
        del self.steps[: (len(self.steps) + 1) // 2]

    def carried(self, to: Callable[[Image], Image]) -> Mixing[Image]:
        """
        The same steps in another form, to go on from another iterate.

        Parameters
        ----------
        to : callable
            Gives an image in the other form.

        Returns
        -------
        Mixing
            Without a last iterate.
        """
        steps = [replace(s, first=to(s.first), second=to(s.second)) for s in self.steps]
        return Mixing(steps, self._depth)

    def factors(self) -> Array:
        """
        Factors of the steps between images, to be added to the last image.

        Returns
        -------
        ndarray, shape (k,)
            Of the last k steps; empty where nothing is known. [-]
        """
        if self._last is None or not self.steps:
            return np.zeros(0)
        changes = np.array([step.residual for step in self.steps]).T
        sizes = np.linalg.norm(changes, axis=0)
        still = np.flatnonzero(sizes == 0.0)
        if len(still):  # what has not moved says nothing, nor does what lies before it
            changes, sizes = changes[:, still[-1] + 1 :], sizes[still[-1] + 1 :]
        while changes.shape[1] > 1:
            values = np.linalg.svd(changes / sizes, compute_uv=False)
            if len(values) == changes.shape[1] and values[-1] > _CONDITION * values[0]:
                break
            changes, sizes = changes[:, 1:], sizes[1:]
        if changes.shape[1] == 0:
            return np.zeros(0)
        found = np.linalg.lstsq(changes / sizes, self._last[0], rcond=None)[0]
        return np.asarray(-found / sizes, dtype=np.float64)

    def output_ahead(self, factors: Array) -> float:
        """
        How far the output is from its end, as far as a linear map can tell.

        Parameters
        ----------
        factors : ndarray, shape (k,)
            Of :meth:`factors`. [-]

        Returns
        -------
        float
            What is to be added to the last output; not a number if nothing can be told. With one
            step and a ratio r of successive changes it is r/(1 - r) of the last change.
        """
        if len(factors) == 0:
            return math.nan
        return float(factors @ np.array([step.output for step in self.steps[-len(factors) :]]))
