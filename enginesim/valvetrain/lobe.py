"""
Cam lobe from what a cam card tells: durations at some checking heights, lift, lifter type.

Angles are crank angles (twice the cam angle), measured from the nose of the lobe; opening side
negative. Velocities and so on are per radian of crank unless a name says cam.

Source: none for the shape between the card's points, the criterion is ours; geometry of a
flat-faced follower; docs/theory/valvetrain.md, equations 4 to 6.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from enginesim.base.errors import CaseError, Problem
from enginesim.valvetrain.flank import smoothest
from enginesim.valvetrain.spline import integral, rows

if TYPE_CHECKING:
    from collections.abc import Sequence

Array = NDArray[np.float64]

# Crank angle kept free before the lowest checking height for the ramp to begin in. The least
# jerk picks the beginning itself, 15 to 35 degrees before a 0.006 in height: this is only room.
RAMP_ROOM = math.radians(60.0)
LONGEST = math.radians(480.0)

# The cam touches a flat face off its centre by the lift velocity per radian of cam; it must not
# reach the edge. Face diameters of the most usual size and the margin at the edge: common
# practice, no source. Rollers and fingers have no such edge.
FACE_DIAMETER = {
    "hydraulic flat": 0.842 * 0.0254,
    "solid flat": 0.842 * 0.0254,
    "bucket": 0.033,
}
EDGE_MARGIN = 0.020 * 0.0254


def velocity_limit(lifter: str, face_diameter: float | None = None) -> float | None:
    """
    Largest lift velocity that keeps the cam on the face of its follower.

    Parameters
    ----------
    lifter : str
        Lifter type, a name of ``case.cam.lifter``. [-]
    face_diameter : float, optional
        Diameter of the flat face; the usual one of the type if not given. [m]

    Returns
    -------
    float or None
        Lift per radian of cam; None for rollers and fingers. [m/rad]

    Notes
    -----
    The contact lies off the centre of the face by the lift velocity per radian of cam. Usual face
    diameters are common practice, no source.

    Examples
    --------
    >>> limit = velocity_limit("hydraulic flat")  # 0.842 in face
    >>> print(f"{limit / 0.0254 / 57.2958:.5f} in per degree of cam")
    0.00700 in per degree of cam
    """
    if lifter not in FACE_DIAMETER:
        return None
    return 0.5 * (face_diameter or FACE_DIAMETER[lifter]) - EDGE_MARGIN


@dataclass(frozen=True, eq=False)
class LobeProfile:
    """
    A symmetrical lobe as a quintic spline.

    Attributes
    ----------
    lobe_lift : float
        Rise of the nose over the base circle. [m]
    half_angle : float
        Crank angle from the nose to where the spline begins. [rad]
    coefficients : ndarray
        Control points of one flank, position 0 to 1 and relative lift. [-]
    rule : str
        How regular the acceleration is: "single hump", "single turn" or "monotone". [-]
    limit : float or None
        Lift velocity at which the contact reaches the edge of the follower. [m/rad of cam]
    """

    lobe_lift: float
    half_angle: float
    coefficients: Array
    rule: str
    limit: float | None

    def lift(self, angle: ArrayLike, derivative: int = 0) -> Array:
        """
        Lift over the base circle, or one of its derivatives.

        Parameters
        ----------
        angle : array_like
            Crank angle from the nose, opening side negative. [rad]
        derivative : int
            0 lift, 1 velocity, 2 acceleration, 3 jerk. [-]

        Returns
        -------
        ndarray
            Lift, or its derivative by crank angle in radians. [m]
        """
        where = np.asarray(angle, dtype=float)
        x = np.clip(1.0 - np.abs(where) / self.half_angle, 0.0, 1.0)
        relative = (rows(x.ravel(), derivative) @ self.coefficients).reshape(x.shape)
        value = self.lobe_lift * relative / self.half_angle**derivative
        if derivative == 0:
            return np.asarray(np.clip(value, 0.0, self.lobe_lift))
        if derivative % 2:
            value = value * -np.sign(where)
        return np.asarray(np.where(x > 0.0, value, 0.0))

    def duration(self, height: float) -> float:
        """
        Crank angle between a height on the opening and on the closing flank.

        Parameters
        ----------
        height : float
            Lift over the base circle. [m]

        Returns
        -------
        float
            Duration. [rad]

        Raises
        ------
        CaseError
            If the height is not between the base circle and the nose.
        """
        if not 0.0 < height < self.lobe_lift:
            raise _error(
                f"a checking height of {height * 1e3:.3f} mm",
                f"between 0 and the lobe lift of {self.lobe_lift * 1e3:.3f} mm",
            )
        low, high = 0.0, 1.0
        while low < (middle := 0.5 * (low + high)) < high:  # down to neighbouring numbers
            if float((rows(middle) @ self.coefficients)[0]) * self.lobe_lift < height:
                low = middle
            else:
                high = middle
        return 2.0 * (1.0 - high) * self.half_angle

    @property
    def area(self) -> float:
        """Integral of the lift over crank angle. [m rad]."""
        return 2.0 * self.lobe_lift * self.half_angle * integral(self.coefficients)

    @property
    def velocity(self) -> float:
        """Largest lift velocity, per radian of cam. [m/rad]."""
        sample = np.linspace(-self.half_angle, 0.0, 4001)
        return float(2.0 * self.lift(sample, 1).max())

    @property
    def is_within_limit(self) -> bool:
        """Whether the contact stays on the face of the follower; true where it has no edge."""
        return self.limit is None or self.velocity <= self.limit * (1.0 + 1e-6)

    @property
    def base_radius(self) -> float:
        """Least radius of the base circle that leaves no hollow or cusp on a flat follower. [m]."""
        sample = np.linspace(-self.half_angle, 0.0, 4001)
        curvature = self.lift(sample) + 4.0 * self.lift(sample, 2)  # cam angle is half of crank
        return max(0.0, -float(curvature.min()))


def _error(found: str, allowed: str, hint: str = "", path: str = "cam") -> CaseError:
    return CaseError([Problem("", path, found, allowed, hint)])


def _pair_text(height: float, duration: float) -> str:
    return (
        f"{math.degrees(duration):.1f} deg at {height * 1e3:.3f} mm ({height / 0.0254:.4f} in) lift"
    )


def _checked(
    durations: Sequence[tuple[float, float]], lobe_lift: float, path: str
) -> tuple[tuple[float, float], ...]:
    """Pairs by rising height, or a CaseError that tells what contradicts what."""
    if not (math.isfinite(lobe_lift) and lobe_lift > 0.0):
        raise _error(f"a lobe lift of {lobe_lift * 1e3:.3f} mm", "a positive lift", path=path)
    pairs = tuple(sorted(durations))
    if not pairs:
        raise _error("no duration", "at least one duration with its checking height", path=path)
    problems = []
    for height, duration in pairs:
        if not 0.0 < height < lobe_lift:
            problems.append(
                Problem(
                    "",
                    path,
                    _pair_text(height, duration),
                    f"checking heights between 0 and the lobe lift of {lobe_lift * 1e3:.3f} mm",
                    "is the height given at the valve, or the lift at the valve?",
                )
            )
        if not 0.0 < duration < LONGEST:
            problems.append(
                Problem("", path, _pair_text(height, duration), "durations from 0 to 480 deg")
            )
    for (low, long), (high, short) in pairwise(pairs):
        if high <= low or short >= long:
            problems.append(
                Problem(
                    "",
                    path,
                    f"{_pair_text(low, long)} and {_pair_text(high, short)}",
                    "a shorter duration at a greater height",
                    "the two may be exchanged, or one height may be wrong",
                )
            )
    if problems:
        raise CaseError(problems)
    return pairs


@lru_cache(maxsize=64)
def _profile(
    pairs: tuple[tuple[float, float], ...], lobe_lift: float, limit: float | None, path: str
) -> LobeProfile:
    half = 0.5 * pairs[0][1] + RAMP_ROOM
    position = [1.0 - 0.5 * duration / half for _, duration in pairs]
    lift = [height / lobe_lift for height, _ in pairs]
    flank = None
    if limit is not None:  # 0.5: per radian of crank
        flank = smoothest(position, lift, steepest=0.5 * limit * half / lobe_lift)
    if flank is None:
        flank = smoothest(position, lift)
    if flank is None:
        raise _error(
            "; ".join(_pair_text(*pair) for pair in pairs)
            + f"; lobe lift {lobe_lift * 1e3:.3f} mm",
            "durations that one smooth rising flank can have",
            "check each duration against its checking height, and the lift at the lobe",
            path,
        )
    return LobeProfile(lobe_lift, half, flank.coefficients, flank.rule, limit)


def synthesise(
    durations: Sequence[tuple[float, float]],
    lobe_lift: float,
    lifter: str = "hydraulic roller",
    *,
    face_diameter: float | None = None,
    path: str = "cam",
) -> LobeProfile:
    """
    Lobe of least jerk through every (height, duration) pair and the lift.

    Parameters
    ----------
    durations : sequence of (float, float)
        Checking height at the lobe [m] and duration in crank angle [rad], in any order.
    lobe_lift : float
        Rise of the nose over the base circle. [m]
    lifter : str
        Lifter type; sets the velocity limit. [-]
    face_diameter : float, optional
        Diameter of a flat follower's face. [m]
    path : str
        Field that messages name. [-]

    Returns
    -------
    LobeProfile
        Symmetrical lobe. Its velocity obeys the limit of the lifter if that is possible;
        `is_within_limit` tells.

    Raises
    ------
    CaseError
        If the pairs contradict each other, or no smooth rising flank has them.

    Notes
    -----
    The criterion (least integral of jerk squared) and the rules of regularity are ours: cam
    cards do not tell the shape between their points. See docs/theory/valvetrain.md, equation 4.

    Examples
    --------
    >>> inch, degree = 0.0254, 3.141592653589793 / 180.0
    >>> card = [(0.006 * inch, 268 * degree), (0.050 * inch, 224 * degree)]
    >>> lobe = synthesise(card, 0.316 * inch, "hydraulic flat")
    >>> print(f"{lobe.duration(0.050 * inch) / degree:.4f}", lobe.rule, lobe.is_within_limit)
    224.0000 single hump True
    """
    pairs = _checked(durations, lobe_lift, path)
    return _profile(pairs, lobe_lift, velocity_limit(lifter, face_diameter), path)
