"""
How far is each valve open at each crank angle?

Crank angle is the cylinder's own: 0 at its firing top dead centre, 2 pi at the top dead centre
of gas exchange, 4 pi at the next firing. The intake lobe's centre lies at 2 pi plus the intake
centreline, the exhaust lobe's at 2 pi minus the exhaust centreline.

Source: definition of the terms of the trade; docs/theory/valvetrain.md, equations 1 and 9.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray

from enginesim.base.constants import CYCLE_ANGLE
from enginesim.base.errors import CaseError, Problem
from enginesim.lobe.shape import CardInput, card_lobe
from enginesim.valvetrain.card import exhaust_centreline
from enginesim.valvetrain.motion import ValveMotion

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.case import Case

Array = NDArray[np.float64]

N_STEP = 2880  # a quarter of a degree
# Largest lift at the ends of a measured table, relative to its peak.
_SHUT = 0.03


class MeasuredLift(Protocol):
    """What is needed of a measured lift table."""

    @property
    def angle(self) -> Sequence[float]:
        """Crank angles from the lobe's centre, rising. [rad]."""

    @property
    def lift(self) -> Sequence[float]:
        """Valve lifts. [m]."""

    @property
    def rocker_ratio(self) -> float:
        """Rocker ratio with which it was measured. [-]."""


class LobeInput(CardInput, Protocol):
    """What is needed of ``case.cam.intake`` and ``case.cam.exhaust``."""

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
    return np.linspace(0.0, CYCLE_ANGLE, N_STEP + 1)


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
    if np.any(np.diff(angle) <= 0.0) or angle[-1] - angle[0] > CYCLE_ANGLE:
        raise _error("angles that do not rise, or span over 720 deg", "rising angles", path=path)
    if lift.min() < 0.0 or lift.max() <= 0.0:
        raise _error("a lift below zero, or no lift at all", "lifts of zero and more", path=path)
    if max(lift[0], lift[-1]) > _SHUT * lift.max():
        raise _error(
            f"a table that begins at {lift[0] * 1e3:.3f} mm and ends at {lift[-1] * 1e3:.3f} mm",
            "both near zero: the valve is taken as shut outside the table",
            path=path,
        )
    return angle, lift


def with_rockers(angle: Array, lift: Array, factor: float, lash: float) -> tuple[Array, Array]:
    """
    Measured lift with other rockers on the same lobe, at the same lash.

    Parameters
    ----------
    angle, lift : ndarray, shape (n,)
        Crank angles [rad] and lifts with the lash taken off [m], shut at both ends.
    factor : float
        New rocker ratio over that of the measurement. [-]
    lash : float
        Clearance at the valve, with either rockers. [m]

    Returns
    -------
    tuple of ndarray
        Crank angles [rad] and lifts [m].

    Notes
    -----
    The lobe's rise at the valve is the lift and the lash; the new rocker multiplies both, and the
    same lash is taken off again. Where the valve was shut the lobe is not known: with a larger
    ratio it opens a little earlier, down the straight line through the table's first two lifts.
    """
    if factor == 1.0:
        return angle, lift
    new = factor * (lift + lash) - lash
    is_open = (lift > 0.0) & (new > 0.0)
    angle, new = angle[is_open], new[is_open]
    if new.size < 2:
        raise _error("a lash that takes all of the lift", "a lift above the lash", path="cam")
    opens = angle[0] - _reach(angle[1] - angle[0], new[1] - new[0], new[0])
    closes = angle[-1] + _reach(angle[-1] - angle[-2], new[-2] - new[-1], new[-1])
    return np.concatenate([[opens], angle, [closes]]), np.concatenate([[0.0], new, [0.0]])


def _reach(step: float, rise: float, lift: float) -> float:
    """Crank angle from a lift down to the seat, straight on from the next; at most a step [rad]."""
    return step * min(lift / rise, 1.0) if rise > 0.0 else step


def motion(
    lobe: LobeInput,
    centre: float,
    lifter: str = "hydraulic roller",
    face_diameter: float | None = None,
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
    face_diameter : float, optional
        Diameter of a flat lifter's face; the usual one of the type if not given. [m]
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
        table = with_rockers(*table, lobe.rocker_ratio / lobe.lift_table.rocker_ratio, lobe.lash)
        return ValveMotion(centre, None, table, lobe.rocker_ratio, lobe.lash)
    profile = card_lobe(lobe, lifter, face_diameter, path=path)
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
    follower = (cam.lifter, cam.face_diameter)
    ecl = exhaust_centreline(cam.lobe_separation, cam.intake_centreline)
    intake_centre = 0.5 * CYCLE_ANGLE + cam.intake_centreline
    intake = motion(cam.intake, intake_centre, *follower, path="cam.intake")
    exhaust = motion(cam.exhaust, 0.5 * CYCLE_ANGLE - ecl, *follower, path="cam.exhaust")
    theta = crank_grid()
    return LiftCurves(theta, intake.lift(theta), exhaust.lift(theta), intake, exhaust)
