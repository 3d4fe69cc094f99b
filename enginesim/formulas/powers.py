"""What are logarithm, exponential and power of a number that mostly lies near 1?

The state at the end of a duct is found from powers of pressure and sound-speed ratios, and waves
there are mostly weak. The forms without a branch serve loops that the compiler vectorises.
"""

from __future__ import annotations

import math

from enginesim.base.formula import formula

LEAST, MOST = 0.6, 1.6  # between these near_log holds
_NEAR = 0.06  # within this of 1 power takes its series


@formula
def power(x: float, k: float) -> float:
    """
    Power of a number that mostly lies near 1.

    Parameters
    ----------
    x : float
        Base, positive. [-]
    k : float
        Exponent, -10 to 10. [-]

    Returns
    -------
    float
        ``x**k``. [-]

    Notes
    -----
    Near 1 the binomial series to the seventh power, whose error is below 1e-9 there: waves at the
    ends of ducts are mostly weak, and an exponential and a logarithm cost three times as much.
    Source: binomial series.
    """
    d = x - 1.0
    if abs(d) < _NEAR:
        tail = 1.0 + (k - 5.0) * (1.0 / 6.0) * d * (1.0 + (k - 6.0) * (1.0 / 7.0) * d)
        tail = 1.0 + (k - 3.0) * 0.25 * d * (1.0 + (k - 4.0) * 0.2 * d * tail)
        return 1.0 + k * d * (
            1.0 + (k - 1.0) * 0.5 * d * (1.0 + (k - 2.0) * (1.0 / 3.0) * d * tail)
        )
    return math.exp(k * math.log(x))


@formula
def near_log(x: float) -> float:
    """
    Natural logarithm of a number between 0.6 and 1.6, without a branch.

    Parameters
    ----------
    x : float
        The number. [-]

    Returns
    -------
    float
        Logarithm, within 1e-12; without meaning for other numbers. [-]

    Notes
    -----
    Series of the inverse hyperbolic tangent, summed in pairs so that no term waits for all others.
    Source: series.
    """
    s = (x - 1.0) / (x + 1.0)
    t = s * s
    t2 = t * t
    t4 = t2 * t2
    low = (2.0 + t * (2.0 / 3.0)) + t2 * (2.0 / 5.0 + t * (2.0 / 7.0))
    high = (2.0 / 9.0 + t * (2.0 / 11.0)) + t2 * (2.0 / 13.0 + t * (2.0 / 15.0))
    return s * (low + t4 * (high + t4 * (2.0 / 17.0)))


@formula
def near_exp(z: float) -> float:
    """
    Exponential of a number between -6 and 6, without a branch.

    Parameters
    ----------
    z : float
        Exponent. [-]

    Returns
    -------
    float
        Exponential, within 2e-11 relative. [-]

    Notes
    -----
    Taylor's series of a 64th of the exponent, squared six times. Source: series.
    """
    q = z * 0.015625
    q2 = q * q
    low = (1.0 + q) + q2 * (1.0 / 2.0 + q * (1.0 / 6.0))
    high = (1.0 / 24.0 + q * (1.0 / 120.0)) + q2 * (1.0 / 720.0 + q * (1.0 / 5040.0))
    y = low + q2 * q2 * high
    y = y * y
    y = y * y
    y = y * y
    y = y * y
    y = y * y
    return y * y


@formula
def near_one_power(d: float, k: float) -> float:
    """
    Power of a number that is very near 1, without a branch.

    Parameters
    ----------
    d : float
        The number less 1. [-]
    k : float
        Exponent. [-]

    Returns
    -------
    float
        ``(1 + d)**k``; the first term left out is that of the sixth power of `d`. [-]

    Notes
    -----
    Source: binomial series.
    """
    tail = 1.0 + (k - 3.0) * 0.25 * d * (1.0 + (k - 4.0) * 0.2 * d)
    return 1.0 + k * d * (1.0 + (k - 1.0) * 0.5 * d * (1.0 + (k - 2.0) * (1.0 / 3.0) * d * tail))
