"""
Cam lobe from what a cam card tells: durations at some checking heights, lift, lifter type.

Angles are crank angles (twice the cam angle), measured from the nose of the lobe; opening side
negative. Velocities and so on are per radian of crank unless a name says cam.

Source: none for the shape between the card's points, the criterion is ours; geometry of a
flat-faced follower; docs/theory/valvetrain.md, equations 4 to 8.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from enginesim.base.errors import CaseError, Problem
from enginesim.lobe.flank import Flanks
from enginesim.lobe.follower import Follower, face_needed, follower
from enginesim.lobe.slowing import slowed
from enginesim.lobe.spline import integral, rows

if TYPE_CHECKING:
    from collections.abc import Sequence

Array = NDArray[np.float64]

# Longest ramp below the lowest checking height, in crank angle. A clearance ramp of 0.010 in at
# 0.0005 in for each degree of cam, the slowest of practice, takes 40 degrees (common practice, no
# source); the least jerk begins 15 to 40 degrees before a 0.006 in height by itself.
LONGEST_RAMP = math.radians(45.0)
LONGEST = math.radians(480.0)


class CardInput(Protocol):
    """What is needed of one lobe of a card."""

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
    follower : Follower
        What it was made for.
    """

    lobe_lift: float
    half_angle: float
    coefficients: Array
    rule: str
    follower: Follower

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

    @cached_property
    def velocity(self) -> float:
        """Largest lift velocity, per radian of cam. [m/rad]."""
        sample = np.linspace(-self.half_angle, 0.0, 4001)
        return float(2.0 * self.lift(sample, 1).max())

    @property
    def is_within_limit(self) -> bool:
        """Whether the contact stays on the face of the follower; true where it has no edge."""
        limit = self.follower.velocity_limit
        return limit is None or self.velocity <= limit * (1.0 + 1e-6)

    @property
    def face_needed(self) -> float:
        """Diameter of the smallest flat face that this lobe does not leave. [m]."""
        return face_needed(self.velocity)

    @property
    def sharpness(self) -> float:
        """Fall of the lift velocity at the nose, per radian of cam squared. [m]."""
        return -4.0 * float(self.lift(0.0, 2))  # cam angle is half of crank

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
    pairs: tuple[tuple[float, float], ...], lobe_lift: float, on: Follower, path: str
) -> LobeProfile:
    half = 0.5 * pairs[0][1] + LONGEST_RAMP
    flanks = Flanks(
        [1.0 - 0.5 * duration / half for _, duration in pairs],
        [height / lobe_lift for height, _ in pairs],
    )

    free = flanks.smoothest()
    if free is None:
        raise _error(
            "; ".join(_pair_text(*pair) for pair in pairs)
            + f"; lobe lift {lobe_lift * 1e3:.3f} mm",
            "durations that one smooth rising flank can have",
            "check each duration against its checking height, and the lift at the lobe",
            path,
        )
    best = free
    limit, sharpest = on.velocity_limit, on.sharpest
    if limit is not None and sharpest is not None:
        scale = 4.0 * lobe_lift / half**2  # 4, 0.5: by cam angle, half of crank
        best = slowed(flanks, free, 0.5 * limit * half / lobe_lift, sharpest / scale)
    return LobeProfile(lobe_lift, half, best.coefficients, best.rule, on)


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
        Symmetrical lobe. Its velocity obeys the limit of the lifter if the nose allows it;
        `is_within_limit` tells, and `face_needed` which face could follow.

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
    return _profile(pairs, lobe_lift, follower(lifter, face_diameter), path)


def card_lobe(
    card: CardInput, lifter: str, face_diameter: float | None = None, *, path: str = "cam"
) -> LobeProfile:
    """
    Lobe of one side of a cam card, whose heights may be measured at the valve.

    Parameters
    ----------
    card : CardInput
        ``case.cam.intake`` or ``case.cam.exhaust``.
    lifter : str
        Lifter type. [-]
    face_diameter : float, optional
        Diameter of a flat follower's face. [m]
    path : str
        The lobe's field, for messages. [-]

    Returns
    -------
    LobeProfile
        Symmetrical lobe.

    Raises
    ------
    CaseError
        If no smooth rising flank has the card's numbers.
    """
    pairs = [
        ((height + card.lash) / card.rocker_ratio, duration)
        if card.measured_at == "valve"
        else (height, duration)
        for height, duration in card.durations
    ]
    return synthesise(
        pairs, card.lobe_lift, lifter, face_diameter=face_diameter, path=f"{path}.durations"
    )
