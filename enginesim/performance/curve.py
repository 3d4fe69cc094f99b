"""How does a quantity run over engine speed: its values, its peak, its average?

Source: definitions, in docs/theory/results.md.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from enginesim.base.errors import ResultError
from enginesim.base.quantity import quantities, unknown
from enginesim.performance.summary import Performance

Floats: TypeAlias = NDArray[np.float64]


class Curve:
    """
    Performance over engine speed: every field of :class:`Performance` as an array.

    Parameters
    ----------
    points : iterable of Performance
        One engine at several speeds, in any order; sorted by speed here.

    Attributes
    ----------
    points : tuple of Performance
        One for each speed, rising.

    Raises
    ------
    ResultError
        If there is no point, or two have the same speed.

    Examples
    --------
    ``curve["torque"]`` are the torques [N m] at the speeds ``curve["rpm"]``;
    ``curve.peak("power")`` is a pair of speed and power.
    """

    __slots__ = ("points",)

    points: tuple[Performance, ...]

    def __init__(self, points: Iterable[Performance]) -> None:
        ordered = tuple(sorted(points, key=lambda point: point.rpm))
        if not ordered:
            raise ResultError("curve: found no speeds; allowed one or more")
        for lower, upper in pairwise(ordered):
            if lower.rpm == upper.rpm:
                raise ResultError(f"curve: found {lower.rpm:g} rpm twice; allowed once")
        object.__setattr__(self, "points", ordered)

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"a curve is not changed: {name} = {value!r}")

    def __reduce__(self) -> tuple[type[Curve], tuple[tuple[Performance, ...]]]:
        return Curve, (self.points,)

    def __len__(self) -> int:
        return len(self.points)

    def __getitem__(self, name: str) -> Floats:
        if name not in quantities(Performance):
            raise unknown(Performance, name)
        if isinstance(self.points[0][name], str):
            raise ResultError(f"curve: {name!r} is text; found no array of it")
        return np.array([point[name] for point in self.points], dtype=np.float64)

    @property
    def periodic(self) -> Curve:
        """The speeds that converged; the curve itself if none did."""
        kept = [point for point in self.points if point.converged]
        return Curve(kept) if kept else self

    def peak(self, name: str) -> tuple[float, float]:
        """
        Highest of the simulated values, and its speed.

        Parameters
        ----------
        name : str
            Field of :class:`Performance`, such as ``torque``.

        Returns
        -------
        tuple of float
            Engine speed [rpm] and the value in the field's SI unit. No curve is drawn between
            the speeds: wave tuning makes real steps there.

        Notes
        -----
        Source: definition.
        """
        values = self[name]
        i = int(np.argmax(values))
        return self.points[i].rpm, float(values[i])

    def average(self, name: str, low: float, high: float) -> float:
        """
        Mean over a window of engine speed.

        Parameters
        ----------
        name : str
            Field of :class:`Performance`.
        low : float
            Beginning of the window. [rpm]
        high : float
            End of the window. [rpm]

        Returns
        -------
        float
            Area under straight lines between the speeds, over the window's width, in the field's
            SI unit; so speeds that lie closer where the curve bends do not weigh more. [-]

        Raises
        ------
        ResultError
            If the window is not inside the speeds that were simulated.

        Notes
        -----
        Source: definition.
        """
        rpm, values = self["rpm"], self[name]
        if not rpm[0] <= low < high <= rpm[-1]:
            raise ResultError(
                f"average of {name}: found window {low:g} to {high:g} rpm;"
                f" allowed within {rpm[0]:g} to {rpm[-1]:g} rpm"
            )
        inside = rpm[(rpm > low) & (rpm < high)]
        grid = np.concatenate([[low], inside, [high]])
        return float(np.trapezoid(np.interp(grid, rpm, values), grid)) / (high - low)
