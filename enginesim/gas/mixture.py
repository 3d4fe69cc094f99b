"""
Which atoms are in the air, in the fuel and in what burns of the two?

Composition arithmetic only, in moles per kilogram; no thermodynamics.

Sources: dry air after A. Picard et al., "Revised formula for the density of moist air
(CIPM-2007)", Metrologia 45 (2008), from memory, its traces counted as nitrogen; standard atomic
weights, IUPAC.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from enginesim.base.errors import GasError
from enginesim.base.humidity import HUMIDITY_RATIO_MAX
from enginesim.base.names import nearest
from enginesim.gas.fuels import FUELS, Fuel

ATOMIC_MASS: Final[Mapping[str, float]] = {
    "H": 1.008e-3,
    "C": 12.011e-3,
    "N": 14.007e-3,
    "O": 15.999e-3,
    "Ar": 39.95e-3,
}

ATOMS: Final[Mapping[str, Mapping[str, int]]] = {
    "Ar": {"Ar": 1},
    "N2": {"N": 2},
    "O2": {"O": 2},
    "CO2": {"C": 1, "O": 2},
    "H2O": {"H": 2, "O": 1},
    "CO": {"C": 1, "O": 1},
    "H2": {"H": 2},
    "OH": {"O": 1, "H": 1},
    "O": {"O": 1},
    "H": {"H": 1},
    "NO": {"N": 1, "O": 1},
    "N": {"N": 1},
    "C8H18,isooctane": {"C": 8, "H": 18},
    "C7H16,n-heptane": {"C": 7, "H": 16},
    "C7H8": {"C": 7, "H": 8},
    "C2H5OH": {"C": 2, "H": 6, "O": 1},
    "CH3OH": {"C": 1, "H": 4, "O": 1},
    "C3H8": {"C": 3, "H": 8},
}

#: Species of burned gas.
PRODUCTS: Final = tuple(ATOMS)[:12]

DRY_AIR: Final[Mapping[str, float]] = {
    "N2": 0.780877,
    "O2": 0.209390,
    "Ar": 0.009333,
    "CO2": 0.000400,
}

LAMBDA_MIN, LAMBDA_MAX = 0.6, 2.0


def molar_mass(species: str) -> float:
    """
    Mass of one mole of a species.

    Parameters
    ----------
    species : str
        Name as in the thermodynamic data.

    Returns
    -------
    float
        Molar mass. [kg/mol]

    Examples
    --------
    >>> print(f"{molar_mass('C7H8') * 1e3:.3f}")
    92.141
    """
    return sum(n * ATOMIC_MASS[atom] for atom, n in ATOMS[species].items())


def mass(moles: Mapping[str, float]) -> float:
    """
    Mass of an amount of each species.

    Parameters
    ----------
    moles : mapping of str to float
        Amount of each species. [mol]

    Returns
    -------
    float
        Their mass. [kg]
    """
    return sum(n * molar_mass(species) for species, n in moles.items())


def atoms(moles: Mapping[str, float]) -> dict[str, float]:
    """
    Atoms in an amount of each species.

    Parameters
    ----------
    moles : mapping of str to float
        Amount of each species. [mol]

    Returns
    -------
    dict of str to float
        Amount of each element. [mol]
    """
    found = dict.fromkeys(ATOMIC_MASS, 0.0)
    for species, n in moles.items():
        for atom, count in ATOMS[species].items():
            found[atom] += n * count
    return found


def fuel_named(name: str) -> Fuel:
    """
    Fuel of that name.

    Parameters
    ----------
    name : str
        Key of :data:`enginesim.gas.FUELS`.

    Returns
    -------
    Fuel
        The fuel.

    Raises
    ------
    GasError
        If there is none; the message names the nearest.
    """
    if name in FUELS:
        return FUELS[name]
    near = nearest(name, FUELS)
    hint = f" (did you mean {near!r}?)" if near else ""
    raise GasError(f"fuel: found {name!r}; allowed {', '.join(sorted(FUELS))}{hint}")


def fuel_moles(fuel: Fuel) -> dict[str, float]:
    """
    Amount of each species in one kilogram of a fuel's vapour.

    Parameters
    ----------
    fuel : Fuel
        The fuel.

    Returns
    -------
    dict of str to float
        Amounts. [mol/kg]
    """
    return {species: y / molar_mass(species) for species, y in fuel.mass_fractions}


def air_moles(humidity_ratio: float) -> dict[str, float]:
    """
    Amount of each species in one kilogram of humid air.

    Parameters
    ----------
    humidity_ratio : float
        Mass of water per mass of dry air. [-]

    Returns
    -------
    dict of str to float
        Amounts. [mol/kg]
    """
    dry_mass = mass(DRY_AIR)
    share = 1.0 / (1.0 + humidity_ratio)
    moles = {species: x * share / dry_mass for species, x in DRY_AIR.items()}
    moles["H2O"] = humidity_ratio * share / molar_mass("H2O")
    return moles


def oxygen_demand(fuel: Fuel) -> float:
    """
    Oxygen that burns one kilogram of fuel to carbon dioxide and water.

    Parameters
    ----------
    fuel : Fuel
        The fuel.

    Returns
    -------
    float
        Amount of oxygen molecules. [mol/kg]
    """
    found = atoms(fuel_moles(fuel))
    return found["C"] + found["H"] / 4.0 - found["O"] / 2.0


def stoichiometric_ratio(fuel: Fuel) -> float:
    """
    Mass of dry air that holds just the oxygen which one kilogram of fuel needs.

    Parameters
    ----------
    fuel : Fuel
        The fuel.

    Returns
    -------
    float
        Stoichiometric air-fuel ratio, dry. [-]

    Examples
    --------
    >>> print(f"{stoichiometric_ratio(FUELS['ethanol']):.2f}")
    9.01
    """
    return oxygen_demand(fuel) * mass(DRY_AIR) / DRY_AIR["O2"]


@dataclass(frozen=True, slots=True)
class Charge:
    """
    Humid air and fuel in a stated proportion.

    Attributes
    ----------
    fuel : Fuel
        The fuel.
    lambda_ : float
        Dry air relative to the stoichiometric mass. [-]
    humidity_ratio : float
        Mass of water per mass of dry air. [-]
    """

    fuel: Fuel
    lambda_: float
    humidity_ratio: float

    def __post_init__(self) -> None:
        if not LAMBDA_MIN <= self.lambda_ <= LAMBDA_MAX:
            raise GasError(
                f"lambda: found {self.lambda_:g}; allowed {LAMBDA_MIN:g} to {LAMBDA_MAX:g}"
                " (an air-fuel ratio must be divided by the stoichiometric one)"
            )
        if not 0.0 <= self.humidity_ratio <= HUMIDITY_RATIO_MAX:
            raise GasError(
                f"humidity ratio: found {self.humidity_ratio:g} kg/kg;"
                f" allowed 0 to {HUMIDITY_RATIO_MAX:g} (mass of water per mass of dry air)"
            )

    @property
    def fuel_air_ratio(self) -> float:
        """Mass of fuel per mass of humid air [-]."""
        dry = self.lambda_ * stoichiometric_ratio(self.fuel)
        return 1.0 / (dry * (1.0 + self.humidity_ratio))

    def moles(self) -> dict[str, float]:
        """
        Amounts in one kilogram of humid air and its fuel together.

        Returns
        -------
        dict of str to float
            Amount of each species. [mol]
        """
        found = air_moles(self.humidity_ratio)
        for species, n in fuel_moles(self.fuel).items():
            found[species] = found.get(species, 0.0) + n * self.fuel_air_ratio
        return found
