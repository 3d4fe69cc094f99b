"""How much gas does a restriction pass, and which state stands at its upstream side?"""

from __future__ import annotations

import math

from enginesim.base.formula import formula


@formula
def mass_flow(
    area: float, p_up: float, t_up: float, p_down: float, gamma: float, r_gas: float
) -> float:
    r"""
    Mass flow of a perfect gas through an effective area, isentropic to the throat.

    Parameters
    ----------
    area : float
        Effective area: geometric area times discharge coefficient. [m2]
    p_up, t_up : float
        Stagnation pressure [Pa] and temperature [K] on the high-pressure side.
    p_down : float
        Static pressure on the low-pressure side, ``0 <= p_down <= p_up``. [Pa]
    gamma : float
        Ratio of specific heats at the upstream state. [-]
    r_gas : float
        Specific gas constant. [J/(kg K)]

    Returns
    -------
    float
        Mass flow, never negative; the caller gives it a sign. [kg/s]

    Notes
    -----
    `p_down` is raised to the critical pressure, so that choked flow needs no second formula.
    Within 1e-5 of equal pressures the square root is replaced by a straight line of the same
    value at 1e-5, because its infinite slope makes small volumes chatter.

    Source: J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
    appendix C.

    Examples
    --------
    Air from 300 K at twice the pressure that it leaves to; choked.

    >>> print(f"{mass_flow(1e-4, 2e5, 300.0, 1e5, 1.4, 287.05):.5f}")
    0.04667
    """
    soft = 1e-5
    drop = 1.0 - p_down / p_up
    if drop <= 0.0:
        return 0.0
    factor = 1.0
    if drop < soft:
        factor = drop / soft
        drop = soft
    ratio = 1.0 - drop
    if ratio < 0.61:  # else subsonic with any ratio of heats
        ratio = max(ratio, (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0)))
    k = ratio ** (1.0 / gamma)
    head = 2.0 * gamma / (gamma - 1.0) * (1.0 - ratio / k)
    return factor * area * p_up * k * math.sqrt(head / (r_gas * t_up))
