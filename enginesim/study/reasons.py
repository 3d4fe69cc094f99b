"""Where is one engine better than another, and what does each cause give it there?"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from enginesim.performance.attribution import CAUSES, GROUPS, attribution
from enginesim.study.straight_lines import mean

if TYPE_CHECKING:
    from collections.abc import Mapping

    from enginesim.performance.attribution import Attribution
    from enginesim.study.comparison import Comparison, Floats


@dataclass(frozen=True, slots=True)
class Region:
    """
    Stretch of speed in which one of two engines is the better one.

    Attributes
    ----------
    low, high : float
        Its ends: crossovers, or the first and the last speed. [rpm]
    is_first, is_last : bool
        Whether it begins with the first speed, ends with the last.
    total : float
        Mean difference of torque. [N m]
    error : float
        Mean of its numerical error. [N m]
    largest : tuple of float
        Speed of the largest difference of the region's sign [rpm], and that difference. [N m]
    parts : mapping of str to float
        Mean share of each cause; they add up to the total. [N m]
    """

    low: float
    high: float
    is_first: bool
    is_last: bool
    total: float
    error: float
    largest: tuple[float, float]
    parts: Mapping[str, float]

    def group(self, name: str) -> float:
        """
        Mean share of a group of causes.

        Parameters
        ----------
        name : str
            Key of :data:`enginesim.performance.attribution.GROUPS`.

        Returns
        -------
        float
            Sum of its causes. [N m]
        """
        return sum(self.parts[cause] for cause in GROUPS[name])


def attributions(comparison: Comparison, i: int) -> tuple[Attribution, ...]:
    """
    Causes of one side's difference from the first, speed by speed.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.
    i : int
        Index of the side. [-]

    Returns
    -------
    tuple of Attribution
        One for each speed of the comparison.
    """
    first, side = comparison.sides[0], comparison.sides[i]
    ours, others = ({p.rpm: p for p in s.curve.points} for s in (first, side))
    factors = (first.factor, side.factor)
    return tuple(attribution(ours[rpm], others[rpm], factors) for rpm in comparison.rpm.tolist())


def regions(comparison: Comparison, i: int, causes: tuple[Attribution, ...]) -> tuple[Region, ...]:
    """
    Stretches between the crossovers, with the mean share of each cause.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.
    i : int
        Index of the side. [-]
    causes : tuple of Attribution
        From `attributions`.

    Returns
    -------
    tuple of Region
        Rising; one where nothing crosses.
    """
    rpm, difference = comparison.rpm, comparison.difference(i)
    inner = [crossover.rpm for crossover in comparison.crossovers(i)]
    ends = [float(rpm[0]), *inner, float(rpm[-1])]
    shares: dict[str, Floats] = {
        cause: np.array([one.parts[cause] for one in causes]) for cause in CAUSES
    }
    found = []
    for low, high in pairwise(ends):
        if low == high:
            continue
        total = mean(rpm, difference, low, high)
        inside = (rpm >= low) & (rpm <= high)
        signed = np.where(inside, difference * np.sign(total), -np.inf)
        at = int(np.argmax(signed))
        found.append(
            Region(
                low=low,
                high=high,
                is_first=low == ends[0],
                is_last=high == ends[-1],
                total=total,
                error=mean(rpm, comparison.error[i], low, high),
                largest=(float(rpm[at]), float(difference[at])),
                parts={cause: mean(rpm, share, low, high) for cause, share in shares.items()},
            )
        )
    return tuple(found)
