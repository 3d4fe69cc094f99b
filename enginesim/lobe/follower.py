"""
What does a follower allow: how fast may the lobe lift it, and how sharp may the nose be?

Source: geometry of a flat-faced follower; sizes as said beside them; docs/theory/valvetrain.md,
equations 5 to 7.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

#: Faces of the most usual size: common practice, no source. Rollers and fingers have no edge. [m]
FACE_DIAMETER: Final = {
    "hydraulic flat": 0.842 * 0.0254,
    "solid flat": 0.842 * 0.0254,
    "bucket": 0.033,
}
#: Least distance of the contact from the edge of the face: common practice, no source. [m]
EDGE_MARGIN: Final = 0.020 * 0.0254
#: Sharpest nose that a face's edge may cause, as fall of the lift velocity for each radian of cam
#: squared, over the diameter of the face. The radius of the nose is that of the lobe's tip less
#: this fall: tips that pass through cam bearings of 2.1 in and noses of no less than 0.05 in are
#: 1.0 in of fall, 1.2 times the usual face; other faces have cams in proportion. Estimate.
SHARPEST: Final = 1.2


@dataclass(frozen=True, slots=True)
class Follower:
    """
    A flat face, or a follower without an edge.

    Attributes
    ----------
    face_diameter : float or None
        Diameter of the flat face; None for rollers and fingers. [m]
    """

    face_diameter: float | None

    @property
    def velocity_limit(self) -> float | None:
        """
        Largest lift velocity that keeps the cam on the face, per radian of cam. [m].

        Examples
        --------
        >>> limit = follower("hydraulic flat").velocity_limit  # 0.842 in face
        >>> print(f"{limit / 0.0254 / 57.2958:.5f} in per degree of cam")
        0.00700 in per degree of cam
        """
        return None if self.face_diameter is None else 0.5 * self.face_diameter - EDGE_MARGIN

    @property
    def sharpest(self) -> float | None:
        """Sharpest nose that the edge of the face may cause, per radian of cam squared. [m]."""
        return None if self.face_diameter is None else SHARPEST * self.face_diameter


def follower(lifter: str, face_diameter: float | None = None) -> Follower:
    """
    Follower of a lifter type.

    Parameters
    ----------
    lifter : str
        Lifter type, a name of ``case.cam.lifter``. [-]
    face_diameter : float, optional
        Diameter of the flat face; the usual one of the type if not given. [m]

    Returns
    -------
    Follower
        Without an edge for rollers and fingers.
    """
    if lifter not in FACE_DIAMETER:
        return Follower(None)
    return Follower(face_diameter or FACE_DIAMETER[lifter])


def face_needed(velocity: float) -> float:
    """
    Smallest flat face that a lift velocity stays on.

    Parameters
    ----------
    velocity : float
        Largest lift velocity, per radian of cam. [m/rad]

    Returns
    -------
    float
        Diameter, margin included. [m]

    Examples
    --------
    >>> f"{face_needed(0.401 * 0.0254) / 0.0254:.3f} in"
    '0.842 in'
    """
    return 2.0 * (velocity + EDGE_MARGIN)
