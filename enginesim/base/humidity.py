"""How much water does the air carry?"""

from __future__ import annotations

from math import exp

from enginesim.base.constants import T_ICE
from enginesim.base.errors import GasError

#: Most water that the gas tables can hold, about that of saturated air at 60 degC. [kg/kg]
HUMIDITY_RATIO_MAX = 0.15
_T_MIN, _T_MAX = 223.15, 333.15
_WATER_TO_DRY_AIR = 18.015 / 28.965  # ratio of molar masses


def saturation_pressure(p: float, t: float) -> float:
    """
    Partial pressure of water in saturated air, over ice below the ice point.

    Parameters
    ----------
    p : float
        Pressure of the air, which raises the answer by about 0.4 % at one bar. [Pa]
    t : float
        Temperature, 223.15 to 333.15 K. [K]

    Returns
    -------
    float
        Partial pressure of water at saturation. [Pa]

    Raises
    ------
    GasError
        If the temperature is outside the range of the formula.

    Notes
    -----
    Source: A. L. Buck, "New equations for computing vapor pressure and enhancement factor",
    J. Appl. Meteorol. 20 (1981), from memory; against CoolProp's humid air the humidity ratio
    is within 0.12 % from -30 to 50 degC and 0.3 % to 60 degC (tested).

    Examples
    --------
    >>> print(f"{saturation_pressure(101325.0, 298.15):.1f}")
    3180.4
    """
    if not _T_MIN <= t <= _T_MAX:
        raise GasError(f"air temperature: found {t:g} K; allowed {_T_MIN:g} to {_T_MAX:g} K")
    hpa, celsius = p / 100.0, t - T_ICE
    if celsius >= 0.0:
        raised = 1.0007 + 3.46e-6 * hpa
        return raised * 611.21 * exp(17.502 * celsius / (240.97 + celsius))
    raised = 1.0003 + 4.18e-6 * hpa
    return raised * 611.15 * exp(22.452 * celsius / (272.55 + celsius))


def humidity_ratio(p: float, t: float, relative_humidity: float) -> float:
    """
    Mass of water per mass of dry air.

    Parameters
    ----------
    p : float
        Pressure of the humid air. [Pa]
    t : float
        Temperature, 223.15 to 333.15 K. [K]
    relative_humidity : float
        Relative humidity, 0 to 1. [-]

    Returns
    -------
    float
        Humidity ratio. [-]

    Raises
    ------
    GasError
        If the temperature or the humidity is out of range, or the water alone would reach the
        whole pressure.

    Notes
    -----
    Ideal mixture of dry air and vapour. Source: definition, with :func:`saturation_pressure`.

    Examples
    --------
    >>> print(f"{humidity_ratio(101325.0, 298.15, 0.6):.5f}")
    0.01194
    """
    if not 0.0 <= relative_humidity <= 1.0:
        raise GasError(
            f"relative humidity: found {relative_humidity:g}; allowed 0 to 1"
            " (a percentage must be divided by 100)"
        )
    p_water = relative_humidity * saturation_pressure(p, t)
    if p_water >= p:
        raise GasError(
            f"air pressure: found {p:g} Pa; allowed above {p_water:.0f} Pa,"
            f" the pressure of its water at {t:g} K"
        )
    return _WATER_TO_DRY_AIR * p_water / (p - p_water)
