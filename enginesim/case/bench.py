"""Effective areas from flow-bench figures, and the usual shape of a flow sheet."""

from __future__ import annotations

import math
from typing import Final

from enginesim.base.constants import R_DRY_AIR
from enginesim.case.charge import interpolated

_GAMMA: Final = 1.4

#: Lift over valve diameter, and flow over the best flow, of a usual two-valve port. Estimate:
#: rounded from the general run of published sheets; replace it by a sheet.
SHAPE_LIFT: Final = (0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35)
SHAPE_FLOW: Final = (0.29, 0.55, 0.76, 0.90, 0.97, 1.00, 1.00)


def effective_area(flow: float, depression: float, pressure: float, temperature: float) -> float:
    """
    Area of the ideal nozzle that would pass as much on the bench.

    Parameters
    ----------
    flow : float
        Volume flow, measured as air of the bench's room. [m3/s]
    depression : float
        Pressure difference. [Pa]
    pressure : float
        Room pressure, upstream. [Pa]
    temperature : float
        Room temperature. [K]

    Returns
    -------
    float
        Discharge coefficient times area. [m2]

    Notes
    -----
    Isentropic flow of a perfect gas to the lower pressure, not choked (a bench never is).

    Examples
    --------
    28 inH2O drive about 141 cfm of room air through each square inch (147 if it did not expand).

    >>> from enginesim.base.units import from_si, to_si
    >>> area = effective_area(to_si(141.2, "cfm"), to_si(28, "inH2O"), 101325.0, 293.15)
    >>> f"{from_si(area, 'in2'):.2f}"
    '1.00'
    """
    ratio = 1 - depression / pressure
    cp = R_DRY_AIR * _GAMMA / (_GAMMA - 1)
    exponent = (_GAMMA - 1) / _GAMMA
    velocity = math.sqrt(2 * cp * temperature * (1 - math.pow(ratio, exponent)))
    return flow / (velocity * math.pow(ratio, 1 / _GAMMA))


def shape(lift_over_diameter: float) -> float:
    """
    Flow over the best flow at a lift.

    Parameters
    ----------
    lift_over_diameter : float
        Valve lift over valve diameter. [-]

    Returns
    -------
    float
        From the usual shape; 0 at no lift. [-]
    """
    return interpolated(lift_over_diameter, (0.0, *SHAPE_LIFT), (0.0, *SHAPE_FLOW))
