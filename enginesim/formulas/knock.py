"""How near is the unburned gas to igniting by itself?

Equations `livengood-wu` and `ignition-delay` of docs/theory/cylinder.md.
"""

from __future__ import annotations

import math

from enginesim.base.formula import formula

# Pressure published in atmospheres, delay in milliseconds.
_SCALE = 17.68e-3 * 101325.0**1.7
#: Below this nothing is added: at 10 bar the delay is over half a second [K].
T_COLD = 500.0


@formula
def ignition_delay(octane: float, p: float, t: float) -> float:
    """
    Time in which gas held at one state ignites by itself.

    Parameters
    ----------
    octane : float
        Octane number. [-]
    p : float
        Pressure. [Pa]
    t : float
        Temperature of the unburned gas. [K]

    Returns
    -------
    float
        Ignition delay. [s]

    Notes
    -----
    Source: A. M. Douaud, P. Eyzat, SAE 780080, 1978 (constants from memory).

    Examples
    --------
    >>> print(f"{1e3 * ignition_delay(95.0, 40 * 101325.0, 800.0):.3f} ms")
    3.244 ms
    """
    exponent = 3.402 * math.log(0.01 * octane) - 1.7 * math.log(p) + 3800.0 / t
    return _SCALE * math.exp(exponent)


@formula
def knock_rate(octane: float, p: float, t: float) -> float:
    """
    Part of the ignition delay used up per time; its integral reaches 1 at knock.

    Parameters
    ----------
    octane : float
        Octane number. [-]
    p : float
        Pressure. [Pa]
    t : float
        Temperature of the unburned gas. [K]

    Returns
    -------
    float
        Rate; zero in cold gas. [1/s]

    Notes
    -----
    Source: J. C. Livengood, P. C. Wu, Fifth Symposium on Combustion, 1955 (from memory).
    """
    if t < T_COLD:
        return 0.0
    return 1.0 / ignition_delay(octane, p, t)
