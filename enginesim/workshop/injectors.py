"""
Which injectors and which pump does the engine need?

Source: division; the customary figures beside it are named in docs/sheets.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from enginesim.base.units import to_si

if TYPE_CHECKING:
    from enginesim.performance import Curve

#: Pressure at which injectors are rated (3 bar, which catalogues give as 43.5 psi).
RATED_PRESSURE: Final = 3.0e5
#: Customary limits: part of the time that an injector may be open, consumption of a rich engine
#: at full power without a blower, and what the pump should have to spare (common practice).
CUSTOMARY_DUTY: Final = 0.80
CUSTOMARY_BSFC: Final = to_si(0.50, "lb/hp/h")
PUMP_RESERVE: Final = 1.25
#: Rail pressures that are shown. [Pa]
PRESSURES: Final = (RATED_PRESSURE, to_si(58.0, "psi"))


@dataclass(frozen=True, slots=True)
class InjectorSheet:
    """
    Injectors and pump for a computed fuel flow.

    Attributes
    ----------
    fuel_flow, rpm : float
        Highest of the curve [kg/s], and where [rpm].
    power, power_rpm : float
        Highest power [W], and where [rpm].
    n : int
        Injectors.
    duty : float
        Part of the time that they may be open. [-]
    size : tuple of float
        Flow of one injector at its rated pressure for each of `PRESSURES` in the rail. [kg/s]
    rule_size : float
        The same at the rated pressure by customary consumption instead. [kg/s]
    density : float
        Of the liquid fuel. [kg/m3]
    pump : float
        Flow that the pump must give at rail pressure, with its reserve. [kg/s]
    """

    fuel_flow: float
    rpm: float
    power: float
    power_rpm: float
    n: int
    duty: float
    size: tuple[float, ...]
    rule_size: float
    density: float
    pump: float


def injector_size(fuel_flow: float, n: int, duty: float, pressure: float = RATED_PRESSURE) -> float:
    """
    Rated flow of one injector.

    Parameters
    ----------
    fuel_flow : float
        Of the engine. [kg/s]
    n : int
        Number of injectors.
    duty : float
        Part of the time that they may be open. [-]
    pressure : float
        Across the injector in the rail. [Pa]

    Returns
    -------
    float
        Flow at the rated pressure: it grows as the root of the pressure. [kg/s]

    Examples
    --------
    400 hp at 0.50 lb/hp h, 8 injectors, 80 %:

    >>> from enginesim.base.units import from_si, to_si
    >>> print(f"{from_si(injector_size(to_si(200, 'lb/h'), 8, 0.8), 'lb/h'):.1f} lb/h")
    31.2 lb/h
    """
    return fuel_flow / (n * duty) / math.sqrt(pressure / RATED_PRESSURE)


def injectors(curve: Curve, n: int, duty: float, density: float) -> InjectorSheet:
    """
    Injectors and pump for a curve.

    Parameters
    ----------
    curve : Curve
        Results.
    n : int
        Injectors, usually one a cylinder.
    duty : float
        Part of the time that they may be open. [-]
    density : float
        Of the liquid fuel. [kg/m3]

    Returns
    -------
    InjectorSheet
        For the highest fuel flow of the curve.
    """
    rpm, flow = curve.peak("fuel_flow")
    power_rpm, power = curve.peak("power")
    return InjectorSheet(
        fuel_flow=flow,
        rpm=rpm,
        power=power,
        power_rpm=power_rpm,
        n=n,
        duty=duty,
        size=tuple(injector_size(flow, n, duty, pressure) for pressure in PRESSURES),
        rule_size=injector_size(power * CUSTOMARY_BSFC, n, duty),
        density=density,
        pump=PUMP_RESERVE * flow,
    )
