"""Which of some engines is better, at which speeds, by how much?

Source: definitions, in docs/compare.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, pi, sqrt
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from enginesim.base.errors import ResultError
from enginesim.performance.quoting import is_quotable
from enginesim.study.straight_lines import Crossover, crossovers, mean

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.performance import Curve
    from enginesim.study.usage import Weights, Window

Floats: TypeAlias = NDArray[np.float64]

LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
#: What a mesh half as fine again moves the difference of two curves by, as a part of the torque:
#: measured on swaps of the shipped engines, see docs/decisions/0013. [-]
MESH: Final = 2e-3


@dataclass(frozen=True, eq=False, slots=True)
class Side:
    """
    One engine of a comparison.

    Attributes
    ----------
    letter : str
        By which it is called.
    label : str
        What it is.
    curve : Curve
        Its results.
    factor : float
        Correction to the standard's air. [-]
    tolerance : float
        Change of mean effective pressure at which its cycles were taken for periodic. [Pa]
    """

    letter: str
    label: str
    curve: Curve
    factor: float = 1.0
    tolerance: float = 0.0


@dataclass(frozen=True, eq=False, slots=True)
class Comparison:
    """
    Corrected torque and power of some engines at the speeds that all of them have.

    Attributes
    ----------
    sides : tuple of Side
        The first is the one that the others are compared with.
    rpm : ndarray, shape (n,)
        Speeds at which all cycles are periodic, rising. [rpm]
    torque : ndarray, shape (n_side, n)
        Corrected brake torque. [N m]
    power : ndarray, shape (n_side, n)
        Corrected brake power. [W]
    error : ndarray, shape (n_side, n)
        Numerical error of each side's difference of torque from the first. [N m]
    window : Window
        For the averages.
    weights : Weights or None
        For weighted averages.
    band : ndarray, shape (n_side, n), or None
        Standard deviation of each difference from what was assumed, where it was worked out. [N m]
    """

    sides: tuple[Side, ...]
    rpm: Floats
    torque: Floats
    power: Floats
    error: Floats
    window: Window
    weights: Weights | None = None
    band: Floats | None = None

    def sigma(self, i: int) -> Floats:
        """
        How far one side's difference from the first may be off.

        Parameters
        ----------
        i : int
            Index of the side. [-]

        Returns
        -------
        ndarray, shape (n,)
            Numerical error, with the band of what was assumed where that is known: root of the
            sum of squares. [N m]
        """
        assumed = 0.0 if self.band is None else self.band[i] ** 2
        total: Floats = np.sqrt(self.error[i] ** 2 + assumed)
        return total

    def chance(self, i: int) -> Floats:
        """
        Chance that one side gives more torque than the first.

        Parameters
        ----------
        i : int
            Index of the side. [-]

        Returns
        -------
        ndarray, shape (n,)
            From the normal distribution with `sigma`; 0.5 where they are the same. [-]
        """
        pairs = zip(self.difference(i), self.sigma(i), strict=True)
        return np.array([0.5 * (1.0 + erf(d / (sqrt(2.0) * s))) if s else 0.5 for d, s in pairs])

    def difference(self, i: int, name: str = "torque") -> Floats:
        """
        One side less the first, at each speed.

        Parameters
        ----------
        i : int
            Index of the side. [-]
        name : str
            ``torque`` or ``power``.

        Returns
        -------
        ndarray, shape (n,)
            Difference, in the SI unit of what was asked for. [-]
        """
        values = self._of(name)
        less: Floats = values[i] - values[0]
        return less

    def crossovers(self, i: int) -> tuple[Crossover, ...]:
        """
        Speeds at which one side and the first change places.

        Parameters
        ----------
        i : int
            Index of the side. [-]

        Returns
        -------
        tuple of Crossover
            Rising; torque and power cross at the same speeds.
        """
        return crossovers(self.rpm, self.difference(i), self.error[i])

    def peak(self, i: int, name: str) -> tuple[float, float]:
        """
        Highest simulated value of one side, and its speed.

        Parameters
        ----------
        i : int
            Index of the side. [-]
        name : str
            ``torque`` or ``power``.

        Returns
        -------
        tuple of float
            Speed [rpm] and the value, in the SI unit of what was asked for. [-]
        """
        values = self._of(name)[i]
        at = int(np.argmax(values))
        return float(self.rpm[at]), float(values[at])

    def average(self, i: int, name: str) -> float:
        """
        Mean of one side over the window.

        Parameters
        ----------
        i : int
            Index of the side. [-]
        name : str
            ``torque`` or ``power``.

        Returns
        -------
        float
            Area under straight lines between the speeds over the window's width. [-]
        """
        return mean(self.rpm, self._of(name)[i], self.window.low, self.window.high)

    def weighted(self, i: int, name: str) -> float:
        """
        Mean of one side over the histogram of time at speed.

        Parameters
        ----------
        i : int
            Index of the side. [-]
        name : str
            ``torque`` or ``power``.

        Returns
        -------
        float
            Mean of each bin, weighted with the time there; not a number without weights. [-]
        """
        if self.weights is None:
            return float("nan")
        values = self._of(name)[i]
        time = sum(share for _, _, share in self.weights.bins)
        return (
            sum(share * mean(self.rpm, values, low, high) for low, high, share in self.weights.bins)
            / time
        )

    def largest(self, i: int, name: str, sign: float) -> tuple[float, float] | None:
        """
        Greatest gain or loss of one side against the first, and its speed.

        Parameters
        ----------
        i : int
            Index of the side. [-]
        name : str
            ``torque`` or ``power``.
        sign : float
            1 for a gain, -1 for a loss. [-]

        Returns
        -------
        tuple of float or None
            Speed [rpm] and the difference there, in the SI unit of what was asked for; None where
            there is no gain, or loss, anywhere. [-]
        """
        difference = self.difference(i, name)
        at = int(np.argmax(sign * difference))
        if sign * difference[at] <= 0.0:
            return None
        return float(self.rpm[at]), float(difference[at])

    def _of(self, name: str) -> Floats:
        if name not in ("torque", "power"):
            raise ResultError(f"comparison: found no {name!r}; there are torque and power")
        return self.torque if name == "torque" else self.power


def compare(
    sides: Sequence[Side], window: Window | None = None, weights: Weights | None = None
) -> Comparison:
    """
    Engines side by side, at the speeds that all of them have.

    Parameters
    ----------
    sides : sequence of Side
        Two or more.
    window : Window, optional
        For the averages; all common speeds if left out.
    weights : Weights, optional
        For weighted averages.

    Returns
    -------
    Comparison
        Corrected torque and power.

    Raises
    ------
    ResultError
        If fewer than two speeds became periodic in all of them, or the window or the weights
        reach beyond those speeds.
    """
    from enginesim.study.usage import Window

    at = [{p.rpm: p for p in side.curve.points if is_quotable(p)} for side in sides]
    rpm = sorted(set.intersection(*(set(points) for points in at))) if at else []
    if len(sides) < 2 or len(rpm) < 2:
        raise ResultError(
            f"comparison: found {len(sides)} engines with {len(rpm)} speeds at which all cycles are"
            " periodic; allowed two engines or more, two speeds or more"
        )
    points = [[known[speed] for speed in rpm] for known in at]
    torque = np.array(
        [[s.factor * p.torque for p in row] for s, row in zip(sides, points, strict=True)]
    )
    power = np.array(
        [[s.factor * p.power for p in row] for s, row in zip(sides, points, strict=True)]
    )
    rest = np.array(
        [
            [s.factor * s.tolerance * p.displacement / (4 * pi) for p in row]
            for s, row in zip(sides, points, strict=True)
        ]
    )
    error = np.sqrt(rest**2 + rest[0] ** 2 + (MESH * np.maximum(torque, torque[0])) ** 2)
    error[0] = 0.0
    speeds = np.array(rpm)
    span = window or Window(rpm[0], rpm[-1])
    for what, low, high in (
        ("window", span.low, span.high),
        *([("weights", weights.low, weights.high)] if weights else []),
    ):
        if low < rpm[0] or high > rpm[-1]:
            raise ResultError(
                f"{what}: found {low:g} to {high:g} rpm; allowed within {rpm[0]:g} to {rpm[-1]:g}"
                " rpm, where all cycles are periodic"
            )
    return Comparison(tuple(sides), speeds, torque, power, error, span, weights)


def interaction(comparison: Comparison) -> Floats:
    """
    How far all swaps together differ from the sum of each alone.

    Parameters
    ----------
    comparison : Comparison
        Base, each swap alone, and all together as the last.

    Returns
    -------
    ndarray, shape (n,)
        Torque that the parts give together and would not give one by one. [N m]
    """
    alone = sum(
        (comparison.difference(i) for i in range(1, len(comparison.sides) - 1)),
        np.zeros_like(comparison.rpm),
    )
    together: Floats = comparison.difference(len(comparison.sides) - 1) - alone
    return together


def interaction_error(comparison: Comparison) -> Floats:
    """
    Numerical error of the interaction.

    Parameters
    ----------
    comparison : Comparison
        Base, each swap alone, and all together as the last.

    Returns
    -------
    ndarray, shape (n,)
        Root of the sum of squares. [N m]
    """
    total: Floats = np.sqrt(np.sum(comparison.error[1:] ** 2, axis=0))
    return total
