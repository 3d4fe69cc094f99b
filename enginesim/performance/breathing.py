"""How well does the engine fill, of what it could hold and of what it drew?

Sources: definitions as in J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill,
1988, sections 2.10 and 6.2; inlet Mach index: C. F. Taylor, *The Internal Combustion Engine in
Theory and Practice*, vol. 1, MIT Press, chapter 6 (both from memory). Equations
`volumetric-efficiency` and `inlet-mach-index` of docs/theory/results.md.
"""

from __future__ import annotations

from math import nan, pi, sqrt
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from enginesim.cycle.record import Samples


def volumetric_efficiency(air: float, density: float, swept: float) -> float:
    """
    Air drawn per cycle over the air that would fill the displacement at a density.

    Parameters
    ----------
    air : float
        Air drawn per cycle, all cylinders. [kg]
    density : float
        Density of the air that it is compared with: open air, or plenum. [kg/m3]
    swept : float
        Displacement of the engine. [m3]

    Returns
    -------
    float
        Volumetric efficiency. [-]

    Examples
    --------
    Half a gram in half a litre, of air at 1.2 kg/m3:

    >>> print(f"{volumetric_efficiency(0.5e-3, 1.2, 0.5e-3):.5f}")
    0.83333
    """
    return air / (density * swept)


def mean_density(p: Samples, t: Samples, r_gas: float) -> float:
    """
    Mean over the cycle of an ideal gas's density.

    Parameters
    ----------
    p : ndarray, shape (..., n_sample)
        Pressure at evenly spaced crank angles, the last the same as the first. [Pa]
    t : ndarray, shape (..., n_sample)
        Temperature at the same. [K]
    r_gas : float
        Gas constant. [J/(kg K)]

    Returns
    -------
    float
        Mean over the samples, and over the places where there are several. [kg/m3]
    """
    return float(np.mean((p / t)[..., :-1])) / r_gas


def cycle_mean(samples: Samples) -> float:
    """
    Mean over the cycle, and over the places where there are several.

    Parameters
    ----------
    samples : ndarray, shape (..., n_sample)
        Values at evenly spaced crank angles, the last the same as the first. [-]

    Returns
    -------
    float
        Mean, in the unit of the samples. [-]
    """
    return float(np.mean(samples[..., :-1]))


def open_mean(area: Samples) -> float:
    """
    Mean effective area of a valve over the crank angles at which it is open.

    Parameters
    ----------
    area : ndarray, shape (..., n_sample)
        Effective area at evenly spaced crank angles, zero when shut. [m2]

    Returns
    -------
    float
        Mean over the open samples; zero if it never opens. [m2]
    """
    is_open = area > 0.0
    return float(np.mean(area[is_open])) if bool(np.any(is_open)) else 0.0


def inlet_mach_index(bore: float, speed: float, area: float, sound_speed: float) -> float:
    """
    Mach number that the mean flow would have in the mean effective area of the intake valves.

    Parameters
    ----------
    bore : float
        Cylinder bore. [m]
    speed : float
        Mean piston speed. [m/s]
    area : float
        Mean effective area of one cylinder's intake valves while open. [m2]
    sound_speed : float
        Of the air ahead of the engine. [m/s]

    Returns
    -------
    float
        Taylor's index Z; filling falls above about 0.5. Infinite for a shut valve. [-]

    Notes
    -----
    Z = piston area x mean piston speed / (effective area x sound speed).

    Examples
    --------
    Bore and stroke 86 mm at 6500 rpm, two valves of 33 mm with a mean coefficient of 0.35:

    >>> area = 0.35 * 2 * pi / 4 * 0.033**2
    >>> print(f"{inlet_mach_index(0.086, 0.086 * 6500 / 30, area, 346.0):.3f}")
    0.522
    """
    if area <= 0.0:
        return float("inf")
    return pi / 4 * bore**2 * speed / (area * sound_speed)


def sound_speed(r_gas: float, heat_capacity: float, t: float) -> float:
    """
    Speed of sound in an ideal gas.

    Parameters
    ----------
    r_gas : float
        Gas constant. [J/(kg K)]
    heat_capacity : float
        Specific heat capacity at constant volume, at `t`. [J/(kg K)]
    t : float
        Temperature. [K]

    Returns
    -------
    float
        Speed of sound. [m/s]

    Examples
    --------
    >>> print(f"{sound_speed(287.05, 717.6, 300.0):.1f}")
    347.2
    """
    return sqrt((1.0 + r_gas / heat_capacity) * r_gas * t)


def spread(values: Samples) -> float:
    """
    How unlike the cylinders are: greatest minus least, over the mean.

    Parameters
    ----------
    values : ndarray, shape (n_cylinder,)
        One quantity of each cylinder. [-]

    Returns
    -------
    float
        Spread; 0 for a single cylinder, not a number where the mean is not above zero. [-]

    Examples
    --------
    >>> print(f"{spread(np.array([9.0, 10.0, 11.0])):.3f}")
    0.200
    """
    mean = float(np.mean(values))
    return float(np.max(values) - np.min(values)) / mean if mean > 0.0 else nan
