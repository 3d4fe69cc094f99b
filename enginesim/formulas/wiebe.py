"""Which part of the charge has the flame passed at a crank angle?

The law ends at ``1 - exp(-a)``, not at one: for a = 5 at 0.99326. The rest stays unburned.

Source: I. I. Wiebe's law as in J. B. Heywood, *Internal Combustion Engine Fundamentals*,
McGraw-Hill, 1988, section 9.2 (from memory). Equations `wiebe` and
`wiebe-position` of docs/theory/cylinder.md.
"""

from __future__ import annotations

import math

from enginesim.base.formula import formula


@formula
def burned_fraction(x: float, a: float, m: float) -> float:
    """
    Part of the charge that has burned.

    Parameters
    ----------
    x : float
        Angle since the beginning over the length of the burn; held to 0 to 1. [-]
    a : float
        Efficiency parameter. [-]
    m : float
        Form parameter. [-]

    Returns
    -------
    float
        Burned fraction, from 0 to 1 - exp(-a). [-]

    Examples
    --------
    >>> print(f"{burned_fraction(1.0, 5.0, 2.0):.5f}")
    0.99326
    """
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return -math.expm1(-a)
    return -math.expm1(-a * math.exp((m + 1.0) * math.log(x)))


@formula
def burn_rate(x: float, a: float, m: float) -> float:
    """
    Slope of :func:`burned_fraction` in `x`.

    Parameters
    ----------
    x : float
        Angle since the beginning over the length of the burn. [-]
    a : float
        Efficiency parameter. [-]
    m : float
        Form parameter. [-]

    Returns
    -------
    float
        Slope; zero before the beginning and after the end. [-]
    """
    if x <= 0.0 or x >= 1.0:
        return 0.0
    power = math.exp(m * math.log(x))
    return a * (m + 1.0) * power * math.exp(-a * power * x)


@formula
def position(fraction: float, a: float, m: float) -> float:
    """
    Where a burned fraction is reached: inverse of :func:`burned_fraction`.

    Parameters
    ----------
    fraction : float
        Burned fraction, above 0 and below 1. [-]
    a : float
        Efficiency parameter. [-]
    m : float
        Form parameter. [-]

    Returns
    -------
    float
        Angle since the beginning over the length of the burn; above 1 where the law ends
        before. [-]

    Examples
    --------
    >>> print(f"{position(0.5, 5.0, 2.0):.4f}")
    0.5175
    """
    return (-math.log1p(-fraction) / a) ** (1.0 / (m + 1.0))
