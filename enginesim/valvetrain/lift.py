"""
How far is each valve open at each crank angle?

Crank angle is the cylinder's own: 0 at its firing top dead centre, 2 pi at the top dead centre
of gas exchange, 4 pi at the next firing. The intake lobe's centre lies at 2 pi plus the intake
centreline, the exhaust lobe's at 2 pi minus the exhaust centreline.

Source: definition of the terms of the trade; docs/theory/valvetrain.md, equations 1 and 7.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from enginesim.base.errors import CaseError, Problem
from enginesim.valvetrain.card import exhaust_centreline
from enginesim.valvetrain.lobe import LobeProfile, synthesise

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.case import Case

Array = NDArray[np.float64]

CYCLE = 4.0 * math.pi
N_STEP = 2880  # a quarter of a degree


class MeasuredLift(Protocol):
    """What is needed of a measured lift table."""

    @property
    def angle(self) -> Sequence[float]:
        """Crank angles from the lobe's centre, rising. [rad]."""

    @property
    def lift(self) -> Sequence[float]:
        """Valve lifts. [m]."""


class LobeInput(Protocol):
    """What is needed of ``case.cam.intake`` and ``case.cam.exhaust``."""

    @property
    def durations(self) -> Sequence[tuple[float, float]]:
        """Pairs of checking height [m] and duration [rad]."""

    @property
    def measured_at(self) -> str:
        """Where the heights are measured: "lifter" or "valve"."""

    @property
    def lobe_lift(self) -> float:
        """Rise of the nose over the base circle. [m]."""

    @property
    def rocker_ratio(self) -> float:
        """Valve lift over lobe lift. [-]."""

    @property
    def lash(self) -> float:
        """Clearance at the valve. [m]."""

    @property
    def lift_table(self) -> MeasuredLift | None:
        """Measured lift, in place of durations and lobe lift."""


def crank_grid() -> Array:
    """
    Crank angles of every lift and area table: a quarter degree apart, both ends included.

    Returns
    -------
    ndarray, shape (2881,)
        From 0 to 4 pi. [rad]
    """
    return np.linspace(0.0, CYCLE, N_STEP + 1)


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
    return np.asarray((turned + 0.5 * CYCLE) % CYCLE - 0.5 * CYCLE)


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
    def _curve(self) -> Any:
        """Monotone between the measured points (no overshoot), shut outside them."""
        from scipy.interpolate import PchipInterpolator

        if self.table is None:
            raise TypeError("this valve is moved by a lobe")
        return PchipInterpolator(*self.table, extrapolate=False)

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
        return np.asarray(np.maximum(np.nan_to_num(self._curve(angle), nan=0.0), 0.0))

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
            second = np.nan_to_num(self._curve.derivative(2)(angle), nan=0.0)
        return np.asarray(np.where(self.lift(theta) > 0.0, second, 0.0))

    @cached_property
    def _sampled(self) -> tuple[Array, Array]:
        angle = np.linspace(-0.5 * CYCLE, 0.5 * CYCLE, 4 * N_STEP + 1)
        return angle, self.lift(self.centre + angle)

    @property
    def peak(self) -> float:
        """Largest valve lift, lash taken off. [m]."""
        if self.lobe is not None:
            return max(0.0, self.lobe.lobe_lift * self.rocker_ratio - self.lash)
        return float(self._curve(self.table[0]).max()) if self.table else 0.0

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
            Opening and closing, on one side of each other: closing is the greater. [rad]

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
        if valve < 0.0 or above.size == 0 or above[0] == 0 or above[-1] == angle.size - 1:
            raise _error(
                f"a checking height of {height * 1e3:.3f} mm",
                f"between 0 and the lift of {self.peak * 1e3:.3f} mm",
            )
        return (
            self.centre + self._crossing(angle[above[0] - 1], angle[above[0]], valve),
            self.centre + self._crossing(angle[above[-1]], angle[above[-1] + 1], valve),
        )

    def _crossing(self, low: float, high: float, valve: float) -> float:
        from scipy.optimize import brentq

        def excess(angle: float) -> float:
            return float(self.lift(self.centre + angle)) - valve

        return float(brentq(excess, low, high, xtol=1e-12))


def _error(found: str, allowed: str, hint: str = "", path: str = "cam") -> CaseError:
    return CaseError([Problem("", path, found, allowed, hint)])


def _measured(table: MeasuredLift, path: str) -> tuple[Array, Array]:
    angle, lift = np.asarray(table.angle, dtype=float), np.asarray(table.lift, dtype=float)
    if angle.shape != lift.shape or angle.size < 4:
        raise _error(
            f"{angle.size} angles and {lift.size} lifts", "as many of each, at least 4", path=path
        )
    if not (np.all(np.isfinite(angle)) and np.all(np.isfinite(lift))):
        raise _error("an angle or lift that is no number", "finite numbers", path=path)
    if np.any(np.diff(angle) <= 0.0) or angle[-1] - angle[0] > CYCLE:
        raise _error("angles that do not rise, or span over 720 deg", "rising angles", path=path)
    if lift.min() < 0.0 or lift.max() <= 0.0:
        raise _error("a lift below zero, or no lift at all", "lifts of zero and more", path=path)
    return angle, lift


def motion(
    lobe: LobeInput,
    centre: float,
    lifter: str = "hydraulic roller",
    *,
    path: str = "cam",
) -> ValveMotion:
    """
    Motion of a valve from one lobe of a case.

    Parameters
    ----------
    lobe : LobeInput
        ``case.cam.intake`` or ``case.cam.exhaust``.
    centre : float
        Crank angle of the lobe's centre, from the cylinder's firing dead centre. [rad]
    lifter : str
        Lifter type; sets the velocity limit of the lobe. [-]
    path : str
        Field that messages name. [-]

    Returns
    -------
    ValveMotion
        Lift against crank angle.

    Raises
    ------
    CaseError
        If no lobe can have these numbers, or the table is not one lift curve.
    """
    if lobe.lift_table is not None:
        table = _measured(lobe.lift_table, f"{path}.lift_table")
        return ValveMotion(centre, None, table, lobe.rocker_ratio, lobe.lash)
    pairs = [
        ((height + lobe.lash) / lobe.rocker_ratio, duration)
        if lobe.measured_at == "valve"
        else (height, duration)
        for height, duration in lobe.durations
    ]
    profile = synthesise(pairs, lobe.lobe_lift, lifter, path=f"{path}.durations")
    return ValveMotion(centre, profile, None, lobe.rocker_ratio, lobe.lash)


def lift_table(
    lobe: LobeInput, centre: float, lifter: str = "hydraulic roller", *, path: str = "cam"
) -> tuple[Array, Array]:
    """
    Valve lift on the grid of the simulation.

    Parameters
    ----------
    lobe : LobeInput
        ``case.cam.intake`` or ``case.cam.exhaust``.
    centre : float
        Crank angle of the lobe's centre, from the cylinder's firing dead centre. [rad]
    lifter : str
        Lifter type. [-]
    path : str
        Field that messages name. [-]

    Returns
    -------
    tuple of ndarray, shape (2881,)
        Crank angle [rad] and lift [m].
    """
    theta = crank_grid()
    return theta, motion(lobe, centre, lifter, path=path).lift(theta)


@dataclass(frozen=True, eq=False)
class LiftCurves:
    """
    Valve lifts of a cylinder on the grid of the simulation.

    Attributes
    ----------
    angle : ndarray, shape (2881,)
        Crank angle from the cylinder's firing top dead centre. [rad]
    intake, exhaust : ndarray, shape (2881,)
        Lift of each intake and exhaust valve. [m]
    intake_motion, exhaust_motion : ValveMotion
        The same as functions, with events at any checking height.
    """

    angle: Array
    intake: Array
    exhaust: Array
    intake_motion: ValveMotion
    exhaust_motion: ValveMotion


def lift_curves(case: Case) -> LiftCurves:
    """
    Valve lifts of a case's cylinders against their own crank angle.

    Parameters
    ----------
    case : Case
        A loaded case.

    Returns
    -------
    LiftCurves
        Intake and exhaust.

    Raises
    ------
    CaseError
        If a lobe cannot have the numbers given.
    """
    cam = case.cam
    ecl = exhaust_centreline(cam.lobe_separation, cam.intake_centreline)
    intake = motion(cam.intake, 0.5 * CYCLE + cam.intake_centreline, cam.lifter, path="cam.intake")
    exhaust = motion(cam.exhaust, 0.5 * CYCLE - ecl, cam.lifter, path="cam.exhaust")
    theta = crank_grid()
    return LiftCurves(theta, intake.lift(theta), exhaust.lift(theta), intake, exhaust)
