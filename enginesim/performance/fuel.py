"""How much fuel and air does the engine use, in which mixture?

Source: definitions as in J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill,
1988, sections 2.7 to 2.9 (from memory). Equations `lambda` and `consumption` of
docs/theory/results.md.
"""

from __future__ import annotations


def per_second(per_cycle: float, rpm: float) -> float:
    """
    Rate of what a four-stroke engine does once in two turns.

    Parameters
    ----------
    per_cycle : float
        Mass per cycle. [kg]
    rpm : float
        Engine speed. [rpm]

    Returns
    -------
    float
        Mass flow. [kg/s]

    Examples
    --------
    >>> print(f"{per_second(2e-3, 6000.0):.3f}")
    0.100
    """
    return per_cycle * rpm / 120


def specific_consumption(fuel_flow: float, brake_power: float) -> float:
    """
    Fuel flow over brake power.

    Parameters
    ----------
    fuel_flow : float
        Fuel. [kg/s]
    brake_power : float
        Power at the flywheel. [W]

    Returns
    -------
    float
        Brake-specific fuel consumption; not a number where the engine gives no power. [kg/J]

    Examples
    --------
    18 kg/h for 60 kW is 300 g/kWh:

    >>> print(f"{specific_consumption(18.0 / 3600, 60e3) * 3.6e9:.1f} g/kWh")
    300.0 g/kWh
    """
    return fuel_flow / brake_power if brake_power > 0.0 else float("nan")


def air_ratio(air: float, fuel: float, humidity_ratio: float, afr_stoich: float) -> float:
    """
    Air-fuel ratio relative to the stoichiometric one.

    Parameters
    ----------
    air : float
        Humid air. [kg]
    fuel : float
        Fuel. [kg]
    humidity_ratio : float
        Mass of water per mass of dry air. [-]
    afr_stoich : float
        Stoichiometric mass of dry air per mass of fuel. [-]

    Returns
    -------
    float
        Lambda; infinite without fuel. [-]

    Examples
    --------
    >>> print(f"{air_ratio(12.8, 1.0, 0.0, 14.6):.4f}")
    0.8767
    """
    if fuel <= 0.0:
        return float("inf")
    return air / (1.0 + humidity_ratio) / (fuel * afr_stoich)


def trapped_charge(air: float, fuel: float, short_circuit: float) -> tuple[float, float]:
    """
    Air and fuel that stay in the cylinders, of what came in.

    Parameters
    ----------
    air : float
        Air through the intake valves. [kg]
    fuel : float
        Fuel given to the cylinders. [kg]
    short_circuit : float
        Fresh charge that left by the exhaust valves unburned. [kg]

    Returns
    -------
    tuple of float
        Air and fuel kept. [kg]

    Examples
    --------
    >>> air, fuel = trapped_charge(14.0, 1.0, 1.5)
    >>> print(f"{air:.2f} {fuel:.2f}")
    12.60 0.90
    """
    kept = 1.0 - short_circuit / (air + fuel)
    return air * kept, fuel * kept
