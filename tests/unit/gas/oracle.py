"""Cantera's answers for the same gases, made without any composition arithmetic of ours."""

from __future__ import annotations

from functools import cache

import cantera as ct

from enginesim.gas import FUELS
from enginesim.gas.mixture import ATOMS, DRY_AIR, PRODUCTS, molar_mass


@cache
def _records() -> dict[str, ct.Species]:
    return {record.name: record for record in ct.Species.list_from_file("nasa_gas.yaml")}


def species(name: str) -> ct.Species:
    return _records()[name]


def products() -> ct.Solution:
    return ct.Solution(thermo="ideal-gas", species=[species(name) for name in PRODUCTS])


def everything() -> ct.Solution:
    return ct.Solution(thermo="ideal-gas", species=[species(name) for name in ATOMS])


def humid_air(humidity_ratio: float) -> dict[str, float]:
    """Mole fractions, not normalised: water added to one mole of dry air."""
    dry = sum(x * molar_mass(name) for name, x in DRY_AIR.items())
    return dict(DRY_AIR) | {"H2O": humidity_ratio * dry / molar_mass("H2O")}


def charge(fuel: str, lambda_: float, humidity_ratio: float = 0.0) -> ct.Solution:
    """Unburned air and fuel vapour at 298.15 K and one atmosphere, mixed by Cantera."""
    gas = everything()
    gas.TPX = 298.15, ct.one_atm, humid_air(humidity_ratio)
    y_air = gas.mass_fraction_dict()
    y_fuel = dict(FUELS[fuel].mass_fractions)
    gas.set_equivalence_ratio(1.0 / lambda_, y_fuel, y_air, basis="mass")
    gas.TP = 298.15, ct.one_atm
    return gas


def burned(fuel: str, lambda_: float, humidity_ratio: float = 0.0) -> ct.Solution:
    """
    Products of the charge, in the equilibrium of 1700 K and 5 bar.

    The whole charge is brought there, where no fuel survives, and its products are moved over to
    a phase of their own.
    """
    unburned = charge(fuel, lambda_, humidity_ratio)
    unburned.TP = 1700.0, 5e5
    unburned.equilibrate("TP", rtol=1e-12)
    gas = products()
    gas.TPX = 1700.0, 5e5, {name: unburned[name].X[0] for name in PRODUCTS}
    return gas
