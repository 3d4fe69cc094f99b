"""What do entries, bends, throttles and open ends cost, by published coefficients?"""

from __future__ import annotations

import math

from enginesim.ports.flow_bench import nozzle_flux

#: Loss of a pipe's entry on its velocity head, by shape.
#: Source: I. E. Idelchik, *Handbook of Hydraulic Resistance*, section 3, from memory: sharp 0.5,
#: rounded by a tenth of the diameter 0.12, bell-mouth 0.03 to 0.05, re-entrant 0.8 (0.5 to 1.0).
ENTRY_LOSS = {"bell-mouth": 0.04, "radiused": 0.12, "sharp": 0.5, "re-entrant": 0.8}

#: Length that an open end seems to add, in radii. Source: unflanged 0.6133 (H. Levine,
#: J. Schwinger, Phys. Rev. 73, 1948), flanged 0.8217 (Rayleigh; both values also in acoustics
#: texts). An entry flush with the plenum's wall counts as flanged.
END_CORRECTION = {
    "bell-mouth": 0.6133,
    "radiused": 0.8217,
    "sharp": 0.8217,
    "re-entrant": 0.6133,
    "tail": 0.6133,
}

RATING_TEMPERATURE = 288.15  # air at which a throttle's rating counts its volume [K] (60 degF)
RATING_PRESSURE = 101325.0


def ratio_from_loss(loss: float) -> float:
    """
    Effective area over duct area that costs a given loss.

    Parameters
    ----------
    loss : float
        Loss coefficient on the velocity head in the duct. [-]

    Returns
    -------
    float
        Ratio, 1 without loss. [-]

    Notes
    -----
    The stream leaves the throat at the duct's pressure and mixes: its head is (duct area / throat
    area) squared times the duct's, and all above the duct's own is lost.
    """
    return 1.0 / math.sqrt(1.0 + loss)


def bend_loss(angle: float, radius: float, diameter: float) -> float:
    """
    Loss coefficient of a smooth bend.

    Parameters
    ----------
    angle : float
        Angle turned. [rad]
    radius : float
        Of the centre line. [m]
    diameter : float
        Of the pipe. [m]

    Returns
    -------
    float
        Loss coefficient on the velocity head. [-]

    Notes
    -----
    K = A B with B = 0.21 / sqrt(r/D) (0.21 / (r/D)^2.5 below r/D = 1) and A = 0.9 sin(angle) to
    70 deg, 1 at 90 deg, 0.7 + 0.35 angle/90 deg beyond, straight between.
    Source: I. E. Idelchik, *Handbook of Hydraulic Resistance*, diagram 6-1, from memory.
    """
    degrees = math.degrees(angle)
    relative = max(radius / diameter, 0.5)
    sharpness = 0.21 / math.sqrt(relative) if relative >= 1.0 else 0.21 / relative**2.5
    if degrees <= 70.0:
        turn = 0.9 * math.sin(angle)
    elif degrees <= 100.0:
        low = 0.9 * math.sin(math.radians(70.0))
        high = 0.7 + 0.35 * 100.0 / 90.0
        turn = low + (high - low) * (degrees - 70.0) / 30.0
    else:
        turn = 0.7 + 0.35 * degrees / 90.0
    return sharpness * turn


def rated_area(flow: float, drop: float) -> float:
    """
    Effective area of a throttle from its rating.

    Parameters
    ----------
    flow : float
        Volume of air at the inlet's state. [m3/s]
    drop : float
        Pressure drop of the rating. [Pa]

    Returns
    -------
    float
        Effective area. [m2]

    Notes
    -----
    Compressible nozzle from still air at 1 atm and 60 degF. The choice of temperature changes the
    area by its square root: 10 K are 1.7 %.
    """
    density = RATING_PRESSURE / (287.05 * RATING_TEMPERATURE)
    flux = nozzle_flux(RATING_PRESSURE, RATING_TEMPERATURE, RATING_PRESSURE - drop)
    return flow * density / flux
