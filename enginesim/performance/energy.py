"""Where does the heat of the fuel go, and how hot does the rest leave?

Source: first law over the engine, as in J. B. Heywood, *Internal Combustion Engine
Fundamentals*, McGraw-Hill, 1988, section 12.3 (from memory). Equations
`heat-split` and `exhaust-temperature` of docs/theory/results.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import nan
from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.gas import energy, gas_constant, heat_capacity

if TYPE_CHECKING:
    from enginesim.gas import GasTables

_COLDEST, _HOTTEST, _ENOUGH = 200.0, 3500.0, 1e-6
_ITERATIONS: Final = 60


@dataclass(frozen=True, slots=True)
class HeatSplit:
    """
    Parts of the fuel's heat; their sum is one.

    Attributes
    ----------
    brake : float
        Work at the flywheel; below zero where the engine must be driven. [-]
    friction : float
        Work rubbed away. [-]
    walls : float
        Heat to piston, head and liner. [-]
    incomplete : float
        Heat that burning did not release: fuel left over, or too little air for it. [-]
    exhaust : float
        The rest: what leaves with the gas beyond what came in with it, less what the ducts
        gave or took. [-]
    """

    brake: float
    friction: float
    walls: float
    incomplete: float
    exhaust: float


def heat_split(
    tables: GasTables,
    fuel: float,
    fuel_burned: float,
    net_work: float,
    friction: float,
    walls: float,
) -> HeatSplit:
    """
    Parts of the fuel's lower heating value.

    Parameters
    ----------
    tables : GasTables
        The gases; their enthalpy of liquid fuel is what burning releases at this mixture.
    fuel : float
        Fuel per cycle, all cylinders. [kg]
    fuel_burned : float
        Fuel turned into burned gas per cycle. [kg]
    net_work : float
        Indicated work per cycle, pumping taken off. [J]
    friction : float
        Work of friction per cycle. [J]
    walls : float
        Heat to the cylinder walls per cycle. [J]

    Returns
    -------
    HeatSplit
        Five parts; the exhaust is what the other four leave. Whether energy was conserved at
        all is told by the record's audit, not by this sum. Not numbers without fuel.
    """
    heat = fuel * tables.lower_heating_value
    if heat <= 0.0:
        return HeatSplit(nan, nan, nan, nan, nan)
    brake = (net_work - friction) / heat
    rubbed = friction / heat
    lost = walls / heat
    incomplete = 1.0 - fuel_burned * tables.liquid_enthalpy / heat
    return HeatSplit(
        brake=brake,
        friction=rubbed,
        walls=lost,
        incomplete=incomplete,
        exhaust=1.0 - brake - rubbed - lost - incomplete,
    )


def exhaust_temperature(
    tables: GasTables, mass: float, enthalpy: float, air: float, fuel: float
) -> float:
    """
    Temperature at which a steady stream would carry the same mass and enthalpy.

    Parameters
    ----------
    tables : GasTables
        The gases.
    mass : float
        Mass out through the exhaust valves per cycle. [kg]
    enthalpy : float
        Enthalpy that it carried, on the datum of the tables. [J]
    air : float
        Air in that mass: short-circuited, or left by fuel that did not burn. [kg]
    fuel : float
        Fuel in that mass, unburned. [kg]

    Returns
    -------
    float
        Enthalpy-averaged exhaust gas temperature; not a number where nothing flowed out, or the
        enthalpy belongs to no temperature from 200 to 3500 K: then so little flowed out that its
        mean is one of what flowed back. [K]

    Notes
    -----
    Newton on h(T) = h of the frozen mixture; a thermometer in the port reads lower while it sees
    the slow, cool gas between two blow-downs for longer than the hot burst.
    """
    if mass <= 0.0:
        return nan
    y = np.array([air / mass, fuel / mass, 1.0 - (air + fuel) / mass])
    r_gas = float(gas_constant(tables, y))
    wanted = enthalpy / mass
    t = 1000.0
    for _ in range(_ITERATIONS):
        surplus = float(energy(tables, t, y)) + r_gas * t - wanted
        slope = float(heat_capacity(tables, t, y)) + r_gas
        previous, t = t, min(max(t - surplus / slope, _COLDEST), _HOTTEST)
        if abs(t - previous) < _ENOUGH:
            break
    return t if _COLDEST < t < _HOTTEST else nan
