"""Areas of valves, throats and pipes.

Source: geometry.
"""

from __future__ import annotations

import math


def circle(diameter: float) -> float:
    """
    Area of a circle.

    Parameters
    ----------
    diameter : float
        Its diameter. [m]

    Returns
    -------
    float
        Area. [m2]
    """
    return 0.25 * math.pi * diameter * diameter


def curtain_area(diameter: float, lift: float) -> float:
    """
    Cylinder between valve head and seat.

    Parameters
    ----------
    diameter : float
        Valve head. [m]
    lift : float
        Valve lift. [m]

    Returns
    -------
    float
        Area of one valve. [m2]
    """
    return math.pi * diameter * lift


def throat_area(diameter: float, seat_width: float, seat_angle: float, stem: float) -> float:
    """
    Opening inside the seat, less the stem.

    Parameters
    ----------
    diameter : float
        Valve head. [m]
    seat_width : float
        Width of the seat along its face. [m]
    seat_angle : float
        Seat from the plane of the head. [rad]
    stem : float
        Valve stem. [m]

    Returns
    -------
    float
        Area of one valve. [m2]

    Notes
    -----
    Geometry: the seat's outer edge is taken at the rim of the valve head.
    """
    inner = diameter - 2 * seat_width * math.cos(seat_angle)
    return circle(inner) - circle(stem)
