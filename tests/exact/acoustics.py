"""How do small waves reflect from area changes and branches, and at what pitch does a pipe ring?

Source: L. E. Kinsler and A. R. Frey, *Fundamentals of Acoustics*, chapter on filters and branches
(from memory); Lord Rayleigh, *The Theory of Sound*, resonator with a neck. The end correction of
an unflanged pipe, 0.6133 radii, is of H. Levine and J. Schwinger, Physical Review 73 (1948); of a
flanged one, 0.8217 radii, of Rayleigh.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from scipy.optimize import brentq

UNFLANGED = 0.6133
FLANGED = 0.8217


class Coefficients(NamedTuple):
    """Pressure of the reflected and of the transmitted wave over that of the incident one."""

    reflected: float
    transmitted: float


def junction(areas: Sequence[float]) -> Coefficients:
    """Meeting of pipes at one pressure; the wave comes down the first. Areas in [m2]."""
    total = sum(areas)
    return Coefficients(2.0 * areas[0] / total - 1.0, 2.0 * areas[0] / total)


def area_change(area_from: float, area_to: float) -> Coefficients:
    """Sudden change of area: a junction of two [m2]."""
    return junction((area_from, area_to))


def quarter_wave(length: float, a: float, correction: float = 0.0) -> float:
    """Lowest frequency of a pipe closed at one end; `correction` is added to its length [Hz]."""
    return a / (4.0 * (length + correction))


def volume_and_neck(volume: float, area: float, length: float, a: float) -> float:
    """
    Lowest frequency of a volume that breathes through a pipe open at its other end [Hz].

    One-dimensional waves in the pipe, uniform pressure in the volume: x tan x = A L / V with
    x = 2 pi f L / a.
    """
    stiffness = area * length / volume
    x = brentq(lambda x: x * math.sin(x) - stiffness * math.cos(x), 0.0, 0.5 * math.pi, xtol=1e-15)
    return a * float(x) / (2.0 * math.pi * length)


def lumped_resonator(volume: float, area: float, length: float, a: float) -> float:
    """The same with the gas in the neck moving as one piece: good for small necks only [Hz]."""
    return a / (2.0 * math.pi) * math.sqrt(area / (volume * length))
