"""
Does the spring hold the valve to the cam, and up to which speed?

Source: Newton's second law for the masses reduced to the valve; margins as the trade's usage
gives them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from enginesim.valvetrain.lift import crank_grid

if TYPE_CHECKING:
    from enginesim.valvetrain.motion import ValveMotion

# Travel to spare before the coils touch at full lift (usage of the trade, no source).
LEAST_TO_BIND = 0.060 * 0.0254


@dataclass(frozen=True)
class Spring:
    """
    A linear valve spring, installed.

    Attributes
    ----------
    seat_force : float
        Force with the valve shut. [N]
    rate : float
        Force per travel. [N/m]
    installed_height : float
        Height with the valve shut. [m]
    bind_height : float
        Height at which the coils touch. [m]
    """

    seat_force: float
    rate: float
    installed_height: float
    bind_height: float

    def travel_to_bind(self, lift: float) -> float:
        """
        Travel left before the coils touch.

        Parameters
        ----------
        lift : float
            Valve lift. [m]

        Returns
        -------
        float
            Negative where the coils would touch first. [m]
        """
        return self.installed_height - lift - self.bind_height


def reduced_mass(
    valve_side: float,
    lifter_side: float,
    rocker_ratio: float,
    rocker_inertia: float = 0.0,
    valve_arm: float = 1.0,
) -> float:
    """
    Mass at the valve that has the kinetic energy of the whole train.

    Parameters
    ----------
    valve_side : float
        Valve, retainer, locks and a third of the spring. [kg]
    lifter_side : float
        Lifter and push rod. [kg]
    rocker_ratio : float
        Valve lift over lobe lift. [-]
    rocker_inertia : float
        Of the rocker about its pivot. [kg m2]
    valve_arm : float
        Length of the rocker's arm on the valve's side. [m]

    Returns
    -------
    float
        Mass. [kg]
    """
    return valve_side + lifter_side / rocker_ratio**2 + rocker_inertia / valve_arm**2


def float_speed(motion: ValveMotion, spring: Spring, mass: float) -> float:
    """
    Engine speed at which the spring can no longer make the valve follow the cam.

    Parameters
    ----------
    motion : ValveMotion
        The valve's lift.
    spring : Spring
        The installed spring.
    mass : float
        Mass of the train reduced to the valve. [kg]

    Returns
    -------
    float
        Crank speed; infinite if nothing slows the valve. [rad/s]

    Notes
    -----
    The train is rigid: flexing and surge make a real one float earlier.
    """
    theta = crank_grid()
    slowing = -motion.acceleration(theta)
    force = spring.seat_force + spring.rate * motion.lift(theta)
    needs = slowing > 0.0
    if not needs.any():
        return math.inf
    return math.sqrt(float(np.min(force[needs] / (mass * slowing[needs]))))
