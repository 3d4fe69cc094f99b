"""Where is the piston, how fast does it go, and how much room is above it?

Source: geometry; J. B. Heywood, *Internal Combustion Engine Fundamentals*, section 2.2 (from
memory). The pin moves on the bore's axis; the crank's centre lies beside that axis by `offset`.
"""

from __future__ import annotations

import math


def pin_height(theta: float, stroke: float, rod: float, offset: float = 0.0) -> float:
    """Height of the piston pin over the crank's centre; `theta` from the top [m]."""
    crank = 0.5 * stroke
    side = crank * math.sin(theta) - offset
    return crank * math.cos(theta) + math.sqrt(rod**2 - side**2)


def displacement(theta: float, stroke: float, rod: float, offset: float = 0.0) -> float:
    """Way of the piston down from its highest place [m]."""
    top = math.sqrt((rod + 0.5 * stroke) ** 2 - offset**2)
    return top - pin_height(theta, stroke, rod, offset)


def swept_volume(bore: float, stroke: float) -> float:
    """Bore area times stroke (no offset) [m3]."""
    return 0.25 * math.pi * bore**2 * stroke


def volume(theta: float, bore: float, stroke: float, rod: float, compression: float) -> float:
    """Volume above the piston [m3]."""
    clearance = swept_volume(bore, stroke) / (compression - 1.0)
    return clearance + 0.25 * math.pi * bore**2 * displacement(theta, stroke, rod)


def speed_ratio(theta: float, stroke: float, rod: float) -> float:
    """Piston speed over mean piston speed [-]."""
    crank = 0.5 * stroke
    side = crank * math.sin(theta)
    slope = math.sin(theta) * (1.0 + crank * math.cos(theta) / math.sqrt(rod**2 - side**2))
    return 0.5 * math.pi * slope
