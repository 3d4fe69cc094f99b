"""
Where is the piston? Its drop from the top, and the ratio that is really trapped.

Only the standard library is needed here.

Source: geometry of the slider crank; J. B. Heywood, *Internal Combustion Engine Fundamentals*,
1988, section 2.2, without pin offset (from memory; recomputed).
"""

from __future__ import annotations

import math


def top_reach(stroke: float, rod_length: float, pin_offset: float = 0.0) -> float:
    """
    Distance from crank axis to pin, along the bore, at the top of the stroke.

    Parameters
    ----------
    stroke : float
        Twice the crank radius. [m]
    rod_length : float
        Between the rod's centres. [m]
    pin_offset : float
        Distance of the crank's centre from the axis on which the pin moves. [m]

    Returns
    -------
    float
        Largest distance. [m]
    """
    return math.sqrt((rod_length + 0.5 * stroke) ** 2 - pin_offset**2)


def piston_drop(theta: float, stroke: float, rod_length: float, pin_offset: float = 0.0) -> float:
    """
    Distance of the piston below its highest position.

    Parameters
    ----------
    theta : float
        Crank angle from the piston's top dead centre. [rad]
    stroke : float
        Twice the crank radius. [m]
    rod_length : float
        Between the rod's centres. [m]
    pin_offset : float
        Distance of the crank's centre from the axis on which the pin moves. [m]

    Returns
    -------
    float
        Drop. [m]

    Examples
    --------
    >>> drop = piston_drop(1.5707963267948966, 0.086, 0.143)  # a quarter turn
    >>> print(f"{drop * 1e3:.4f} mm")
    49.6182 mm
    """
    radius = 0.5 * stroke
    throw = theta + math.asin(pin_offset / (rod_length + radius))
    side = radius * math.sin(throw) - pin_offset
    reach = radius * math.cos(throw) + math.sqrt(rod_length**2 - side**2)
    return top_reach(stroke, rod_length, pin_offset) - reach


def trapped_ratio(
    compression_ratio: float,
    intake_closes: float,
    stroke: float,
    rod_length: float,
    pin_offset: float = 0.0,
) -> float:
    """
    Compression ratio counted from intake closing, by geometry alone ("dynamic ratio").

    Parameters
    ----------
    compression_ratio : float
        Of the whole stroke. [-]
    intake_closes : float
        After bottom dead centre, at the seat. [rad]
    stroke : float
        Twice the crank radius. [m]
    rod_length : float
        Between the rod's centres. [m]
    pin_offset : float
        Distance of the crank's centre from the axis on which the pin moves. [m]

    Returns
    -------
    float
        Volume at intake closing over clearance volume. [-]

    Examples
    --------
    >>> print(f"{trapped_ratio(10.0, 1.0471975511965976, 3.48 * 0.0254, 5.7 * 0.0254):.4f}")
    8.2745
    """
    drop = piston_drop(math.pi + intake_closes, stroke, rod_length, pin_offset)
    low = math.sqrt((rod_length - 0.5 * stroke) ** 2 - pin_offset**2)
    travel = top_reach(stroke, rod_length, pin_offset) - low
    return 1.0 + (compression_ratio - 1.0) * drop / travel
