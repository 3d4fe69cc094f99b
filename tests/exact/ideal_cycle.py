"""What do the ideal cycles promise: efficiency, filling, and the speed at which a runner tunes?

Source: Otto efficiency, any text. Ideal volumetric efficiency with unlike port pressures:
J. B. Heywood, *Internal Combustion Engine Fundamentals*, section 6.2 (from memory; the test works
it out from the energy balance). Tuned speed: H. W. Engelman, "Design of a tuned intake manifold",
ASME 73-WA/DGP-2 (1973; from memory).
"""

from __future__ import annotations

import math


def otto_efficiency(compression: float, gamma: float) -> float:
    """Work over heat of the constant-volume cycle [-]."""
    return 1.0 - compression ** (1.0 - gamma)


def filling_ratio(compression: float, back: float, gamma: float) -> float:
    """
    Volumetric efficiency on the intake's own density, valves changing at the dead centres [-].

    `back` is exhaust over intake pressure; adiabatic, slow enough for no losses.
    """
    return compression / (compression - 1.0) - (back + gamma - 1.0) / (gamma * (compression - 1.0))


def engelman_speed(
    area: float, length: float, swept: float, compression: float, a: float, factor: float = 2.1
) -> float:
    """
    Crank speed at which an open runner helps most [rad/s].

    The runner [m2, m] with the cylinder at its mean volume is a resonator; its frequency is
    `factor` times that of the crank.
    """
    volume = 0.5 * swept * (compression + 1.0) / (compression - 1.0)
    return a * math.sqrt(area / (length * volume)) / factor
