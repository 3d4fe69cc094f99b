"""How far is the engine from knocking, counted in octane?

The margin in crank angle is found by the simulation, which moves the spark; the margin in octane
follows from the record alone: equation `octane-margin` of docs/theory/results.md.
"""

from __future__ import annotations

#: Exponent of the octane number in the ignition delay of Douaud and Eyzat.
OCTANE_EXPONENT = 3.402


def octane_margin(octane: float, knock_integral: float) -> float:
    """
    Octane number that could be given up before the same cycle would knock.

    Parameters
    ----------
    octane : float
        Octane number of the fuel, mean of research and motor. [-]
    knock_integral : float
        Part of the ignition delay used up when the flame arrives, of the worst cylinder. [-]

    Returns
    -------
    float
        Margin; negative: that much is wanting. [-]

    Notes
    -----
    The delay grows as the octane number to the power 3.402, at any state; so the integral, all
    else equal, is inverse to that, and reaches 1 at ``octane * integral ** (1 / 3.402)``.
    Source: A. M. Douaud, P. Eyzat, SAE 780080, 1978 (constants from memory).

    Examples
    --------
    Half of the delay used up with 95 octane:

    >>> print(f"{octane_margin(95.0, 0.5):.2f}")
    17.51
    """
    used: float = max(knock_integral, 0.0) ** (1.0 / OCTANE_EXPONENT)
    return octane * (1.0 - used)
