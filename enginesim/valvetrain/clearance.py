"""
How near does the piston come to the open valves?

Source: geometry; least values as the trade's usage gives them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from enginesim.formulas.crank import piston_travel

if TYPE_CHECKING:
    from enginesim.valvetrain.motion import ValveMotion

# Least clearances usual in the trade, steel rods, and what aluminium rods need on top.
LEAST_INTAKE = 0.080 * 0.0254
LEAST_EXHAUST = 0.100 * 0.0254
ALUMINIUM_ROD = 0.030 * 0.0254


@dataclass(frozen=True)
class Approach:
    """
    The nearest approach of piston and valve.

    Attributes
    ----------
    clearance : float
        Along the valve's axis; negative where they would meet. [m]
    angle : float
        Crank angle after the top dead centre of gas exchange; negative before it. [rad]
    """

    clearance: float
    angle: float


def nearest_approach(
    motion: ValveMotion,
    depth: float,
    stroke: float,
    rod_length: float,
    pin_offset: float = 0.0,
    inclination: float = 0.0,
) -> Approach:
    """
    Least clearance between a valve and its relief in the piston around gas exchange.

    Parameters
    ----------
    motion : ValveMotion
        The valve's lift.
    depth : float
        Clearance along the valve's axis with the valve shut and the piston at the top. [m]
    stroke : float
        Twice the crank radius. [m]
    rod_length : float
        Between the rod's centres. [m]
    pin_offset : float
        Distance of the crank's centre from the axis on which the pin moves. [m]
    inclination : float
        Angle between the valve's axis and the bore's. [rad]

    Returns
    -------
    Approach
        Clearance and where it occurs.

    Notes
    -----
    The relief's floor is taken as square to the valve's axis: a drop of the piston opens the
    gap by the drop times the cosine of the inclination. Looked for at every tenth of a degree,
    half a stroke before and after the top.
    """
    angle = np.linspace(-0.5 * math.pi, 0.5 * math.pi, 1801)
    drop = np.array([piston_travel(float(a), stroke, rod_length, pin_offset) for a in angle])
    gap = depth + drop * math.cos(inclination) - motion.lift(2.0 * math.pi + angle)
    least = int(np.argmin(gap))
    return Approach(float(gap[least]), float(angle[least]))
