"""
Motion of one valve: lift, acceleration and events against crank angle.

Crank angle is the cylinder's own: 0 at its firing top dead centre.

Source: definition of the terms of the trade; docs/theory/valvetrain.md, equation 9.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from enginesim.base.constants import CYCLE_ANGLE
from enginesim.base.errors import CaseError, Problem
from enginesim.lobe.spline import DEGREE
from enginesim.valvetrain.monotone import MonotoneCubic

if TYPE_CHECKING:
    from enginesim.lobe.shape import LobeProfile

Array = NDArray[np.float64]

# A measured lift is rounded, to 0.001 in or so, and its second derivative would be noise: the
# spline that is fitted to it has knots no closer than this [rad]. Rounding to 0.001 in then moves
# the deceleration over a nose by 2 %.
SMOOTH_KNOTS = 0.35

# Samples of a cycle, a sixteenth of a degree apart, between which an event is looked for.
N_SAMPLE = 11520


def from_centre(theta: ArrayLike, centre: float) -> Array:
    """
    Crank angle from a lobe's centre, brought into one cycle.

    Parameters
    ----------
    theta : array_like
        Crank angle. [rad]
    centre : float
        Crank angle of the lobe's centre. [rad]

    Returns
    -------
    ndarray
        From -2 pi to 2 pi. [rad]
    """
    turned = np.asarray(theta, dtype=float) - centre
    return np.asarray((turned + 0.5 * CYCLE_ANGLE) % CYCLE_ANGLE - 0.5 * CYCLE_ANGLE)


@dataclass(frozen=True, eq=False)
class ValveMotion:
    """
    Lift of one valve, from a lobe or from a measured table.

    Attributes
    ----------
    centre : float
        Crank angle of the lobe's centre. [rad]
    lobe : LobeProfile or None
        The lobe; None where the lift was measured.
    table : tuple of ndarray or None
        Measured crank angles from the centre [rad] and lifts [m].
    rocker_ratio : float
        Valve lift over lobe lift. [-]
    lash : float
        Clearance at the valve. [m]
    """

    centre: float
    lobe: LobeProfile | None
    table: tuple[Array, Array] | None
    rocker_ratio: float = 1.0
    lash: float = 0.0

    @cached_property
    def _curve(self) -> MonotoneCubic:
        if self.table is None:
            raise TypeError("this valve is moved by a lobe")
        return MonotoneCubic(*self.table)

    def lift(self, theta: ArrayLike) -> Array:
        """
        Valve lift, with the lash taken off; never negative.

        Parameters
        ----------
        theta : array_like
            Crank angle of the cylinder. [rad]

        Returns
        -------
        ndarray
            Lift. [m]
        """
        angle = from_centre(theta, self.centre)
        if self.lobe is not None:
            gross = self.lobe.lift(angle) * self.rocker_ratio
            return np.asarray(np.maximum(gross - self.lash, 0.0))
        curve = self._curve
        inside = (angle >= curve.x[0]) & (angle <= curve.x[-1])
        return np.asarray(np.where(inside, np.maximum(curve(angle), 0.0), 0.0))

    def acceleration(self, theta: ArrayLike) -> Array:
        """
        Second derivative of the valve lift by crank angle; zero where the valve is shut.

        Parameters
        ----------
        theta : array_like
            Crank angle of the cylinder. [rad]

        Returns
        -------
        ndarray
            Acceleration. [m/rad2]
        """
        angle = from_centre(theta, self.centre)
        if self.lobe is not None:
            second = self.lobe.lift(angle, 2) * self.rocker_ratio
        else:
            table = self.table
            inside = np.clip(angle, table[0][0], table[0][-1]) if table else angle
            second = np.asarray(self._smooth(inside))
        return np.asarray(np.where(self.lift(theta) > 0.0, second, 0.0))

    @cached_property
    def _smooth(self) -> Callable[[Array], Array]:
        """Second derivative of a quintic spline on wide knots, closest to the measured points."""
        from scipy.interpolate import make_lsq_spline

        if self.table is None:
            raise TypeError("this valve is moved by a lobe")
        x, y = self.table
        gap = max(SMOOTH_KNOTS, 2.5 * float(x[-1] - x[0]) / (x.size - 1))
        n_span = max(1, round(float(x[-1] - x[0]) / gap)) if x.size > DEGREE + 1 else 1
        degree = min(DEGREE, x.size - 1)
        ends = np.repeat([x[0], x[-1]], degree + 1)
        inner = np.linspace(x[0], x[-1], n_span + 1)[1:-1]
        knots = np.sort(np.concatenate([ends, inner]))
        found: Callable[[Array], Array] = make_lsq_spline(x, y, knots, degree).derivative(2)
        return found

    @cached_property
    def _sampled(self) -> tuple[Array, Array]:
        angle = np.linspace(-0.5 * CYCLE_ANGLE, 0.5 * CYCLE_ANGLE, N_SAMPLE + 1)
        return angle, self.lift(self.centre + angle)

    @property
    def peak(self) -> float:
        """Largest valve lift, lash taken off. [m]."""
        if self.lobe is not None:
            return max(0.0, self.lobe.lobe_lift * self.rocker_ratio - self.lash)
        return float(self._curve.y.max())

    @property
    def area(self) -> float:
        """Integral of the valve lift over crank angle. [m rad]."""
        angle, lift = self._sampled
        return float(np.trapezoid(lift, angle))

    def events(self, height: float, at: str = "valve") -> tuple[float, float]:
        """
        Crank angles at which the lift passes a height.

        Parameters
        ----------
        height : float
            Checking height. [m]
        at : str
            "valve": net valve lift; "lifter": rise of the lifter. [-]

        Returns
        -------
        tuple of float
            Opening, and the closing after it. [rad]

        Raises
        ------
        CaseError
            If the lift does not pass the height.
        """
        valve = height * self.rocker_ratio - self.lash if at == "lifter" else height
        if self.lobe is not None:
            half = 0.5 * self.lobe.duration((valve + self.lash) / self.rocker_ratio)
            return self.centre - half, self.centre + half
        angle, lift = self._sampled
        above = np.flatnonzero(lift > valve)
        if valve < 0.0 or above.size == 0:
            raise CaseError(
                [
                    Problem(
                        "",
                        "cam",
                        f"a checking height of {height * 1e3:.3f} mm",
                        f"between 0 and the lift of {self.peak * 1e3:.3f} mm",
                    )
                ]
            )
        first, last = int(above[0]), int(above[-1])
        return (
            self.centre + self._crossing(angle[first - 1], angle[first], valve),
            self.centre + self._crossing(angle[last + 1], angle[last], valve),
        )

    def _crossing(self, below: float, above: float, valve: float) -> float:
        for _ in range(60):
            middle = 0.5 * (below + above)
            if float(self.lift(self.centre + middle)) > valve:
                above = middle
            else:
                below = middle
        return float(above)
