"""The slider crank: where the piston is, how fast it moves, and how much volume is above it.

The angle counts from the piston's top dead centre, also with an offset bore, where the crank's
throw then stands beside the bore's axis.

Source: geometry; J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
section 2.2 (from memory). Equations `travel` and `cylinder-volume` of
docs/theory/cylinder.md.
"""

from __future__ import annotations

import math

from enginesim.base.formula import formula

_QUARTER_PI = 0.25 * math.pi


@formula
def swept_volume(bore: float, stroke: float, n_cylinders: int = 1) -> float:
    """
    Volume that the pistons sweep in one stroke.

    Parameters
    ----------
    bore : float
        Diameter of the cylinders. [m]
    stroke : float
        Twice the crank radius. [m]
    n_cylinders : int
        Number of cylinders. [-]

    Returns
    -------
    float
        Displacement; an offset pin changes it by less than its square over the rod's. [m3]

    Examples
    --------
    >>> print(f"{swept_volume(0.086, 0.086) * 1e6:.3f} cc")
    499.557 cc
    """
    return _QUARTER_PI * bore * bore * stroke * n_cylinders


def full_travel(stroke: float, rod: float, pin_offset: float = 0.0) -> float:
    """
    Piston travel between the dead centers, which a pin offset makes a little longer.

    Parameters
    ----------
    stroke : float
        Twice the crank radius. [m]
    rod : float
        Length of the rod between its centers. [m]
    pin_offset : float
        Distance of the crank's center from the axis on which the pin moves. [m]

    Returns
    -------
    float
        Between the dead centers. [m]
    """
    crank = 0.5 * stroke
    top = math.sqrt((rod + crank) ** 2 - pin_offset**2)
    return top - math.sqrt((rod - crank) ** 2 - pin_offset**2)


@formula
def throw_angle(theta: float, stroke: float, rod: float, pin_offset: float) -> float:
    """
    Angle of the crank's throw to the bore's axis.

    Parameters
    ----------
    theta : float
        Crank angle from the piston's top dead centre. [rad]
    stroke : float
        Twice the crank radius. [m]
    rod : float
        Length of the rod between its centres. [m]
    pin_offset : float
        Distance of the crank's centre from the axis on which the pin moves. [m]

    Returns
    -------
    float
        The same angle, plus that of the throw at the top. [rad]
    """
    if pin_offset == 0.0:
        return theta
    return theta + math.asin(pin_offset / (rod + 0.5 * stroke))


@formula
def piston_travel(theta: float, stroke: float, rod: float, pin_offset: float = 0.0) -> float:
    """
    Distance of the piston from its top dead centre.

    Parameters
    ----------
    theta : float
        Crank angle from the piston's top dead centre. [rad]
    stroke : float
        Twice the crank radius. [m]
    rod : float
        Length of the rod between its centres. [m]
    pin_offset : float
        Distance of the crank's centre from the axis on which the pin moves. [m]

    Returns
    -------
    float
        Travel, never negative. [m]

    Examples
    --------
    >>> import math
    >>> print(f"{1e3 * piston_travel(math.radians(90.0), 0.086, 0.143):.4f} mm")
    49.6182 mm
    """
    radius = 0.5 * stroke
    top = rod + radius
    if pin_offset == 0.0:
        along = radius * math.cos(theta)
        return top - along - math.sqrt(rod * rod - (radius - along) * (radius + along))
    phi = throw_angle(theta, stroke, rod, pin_offset)
    side = radius * math.sin(phi) - pin_offset
    top = math.sqrt(top * top - pin_offset * pin_offset)
    return top - radius * math.cos(phi) - math.sqrt(rod * rod - side * side)


@formula
def travel_slope(theta: float, stroke: float, rod: float, pin_offset: float) -> float:
    """
    Travel per crank angle; times the crank speed it is the speed of the piston.

    Parameters
    ----------
    theta : float
        Crank angle from the piston's top dead centre. [rad]
    stroke : float
        Twice the crank radius. [m]
    rod : float
        Length of the rod between its centres. [m]
    pin_offset : float
        Distance of the crank's centre from the axis on which the pin moves. [m]

    Returns
    -------
    float
        Slope, positive downwards. [m/rad]
    """
    radius = 0.5 * stroke
    phi = throw_angle(theta, stroke, rod, pin_offset)
    side = radius * math.sin(phi) - pin_offset
    return radius * (math.sin(phi) + math.cos(phi) * side / math.sqrt(rod * rod - side * side))


@formula
def mean_piston_speed(omega: float, stroke: float) -> float:
    """
    Mean speed of the piston: two strokes a turn.

    Parameters
    ----------
    omega : float
        Crank speed. [rad/s]
    stroke : float
        Twice the crank radius. [m]

    Returns
    -------
    float
        Mean speed. [m/s]
    """
    return omega * stroke / math.pi


@formula
def volume(
    theta: float, bore: float, stroke: float, rod: float, pin_offset: float, clearance: float
) -> float:
    """
    Volume above the piston.

    Parameters
    ----------
    theta : float
        Crank angle from the piston's top dead centre. [rad]
    bore : float
        Bore. [m]
    stroke : float
        Twice the crank radius. [m]
    rod : float
        Length of the rod between its centres. [m]
    pin_offset : float
        Distance of the crank's centre from the axis on which the pin moves. [m]
    clearance : float
        Volume at top dead centre. [m3]

    Returns
    -------
    float
        Volume. [m3]
    """
    return clearance + _QUARTER_PI * bore * bore * piston_travel(theta, stroke, rod, pin_offset)


@formula
def volume_slope(theta: float, bore: float, stroke: float, rod: float, pin_offset: float) -> float:
    """
    Volume per crank angle.

    Parameters
    ----------
    theta : float
        Crank angle from the piston's top dead centre. [rad]
    bore : float
        Bore. [m]
    stroke : float
        Twice the crank radius. [m]
    rod : float
        Length of the rod between its centres. [m]
    pin_offset : float
        Distance of the crank's centre from the axis on which the pin moves. [m]

    Returns
    -------
    float
        Slope. [m3/rad]
    """
    return _QUARTER_PI * bore * bore * travel_slope(theta, stroke, rod, pin_offset)


def trapped_ratio(
    compression_ratio: float,
    intake_closes: float,
    stroke: float,
    rod: float,
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
    rod : float
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
    drop = piston_travel(math.pi + intake_closes, stroke, rod, pin_offset)
    return 1.0 + (compression_ratio - 1.0) * drop / full_travel(stroke, rod, pin_offset)
