"""
What is each fuel made of, and what does it take to evaporate and to knock?

Sources: every number names its own, beside it. "AFDC" is the US Department of Energy's
Alternative Fuels Data Center, fuel-property comparison table; "CoolProp" is version 8.0 at
298.15 K on the saturation line.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Fuel:
    """
    A fuel as it is bought.

    Attributes
    ----------
    name : str
        Key in :data:`FUELS`.
    mass_fractions : tuple of (str, float)
        Species of the vapour, named as in the thermodynamic data, and their shares. [-]
    heat_of_vaporisation : float
        From liquid to vapour at 298.15 K. [J/kg]
    density_liquid : float
        At 298.15 K. [kg/m3]
    octane_research, octane_motor : float
        Octane numbers of the grade; properties of the named fuel, not of the surrogate that
        stands for its vapour. [-]
    source : str
        Where the numbers are from.
    """

    name: str
    mass_fractions: tuple[tuple[str, float], ...]
    heat_of_vaporisation: float
    density_liquid: float
    octane_research: float
    octane_motor: float
    source: str


# Gasoline vapour as three hydrocarbons in moles, chosen to have 1.87 hydrogen atoms per carbon
# atom (with air: 14.6 kg/kg) and a molar mass of 104 g/mol. Own choice: 15 % n-heptane, and
# toluene as the ratio demands.
_GASOLINE_MOLES = {"C8H18,isooctane": 0.4785, "C7H16,n-heptane": 0.15, "C7H8": 0.3715}
_MOLAR_MASS = {"C8H18,isooctane": 114.232, "C7H16,n-heptane": 100.205, "C7H8": 92.141}
_GASOLINE_MASS = sum(x * _MOLAR_MASS[name] for name, x in _GASOLINE_MOLES.items())
_GASOLINE = tuple(
    (name, x * _MOLAR_MASS[name] / _GASOLINE_MASS) for name, x in _GASOLINE_MOLES.items()
)
_GASOLINE_SOURCE = (
    "vapour: surrogate of 1.87 H per C; heat of vaporisation: AFDC, 150 Btu/lb; density: middle"
    " of EN 228's 720-775 kg/m3, from memory; octane: {}"
)


def _gasoline(grade: str, research: float, motor: float, octane_source: str) -> Fuel:
    return Fuel(
        name=f"gasoline {grade}",
        mass_fractions=_GASOLINE,
        heat_of_vaporisation=349e3,
        density_liquid=745.0,
        octane_research=research,
        octane_motor=motor,
        source=_GASOLINE_SOURCE.format(octane_source),
    )


# The number in the name is the number on the pump: (research + motor)/2 for 87 and 91, as posted
# in North America; research for 95 and 100, as posted elsewhere.
_PURE = {
    fuel.name: fuel
    for fuel in (
        _gasoline("87", 91.0, 83.0, "posted (R+M)/2 with a sensitivity of 8, common practice"),
        _gasoline("91", 95.0, 87.0, "posted (R+M)/2 with a sensitivity of 8, common practice"),
        _gasoline("95", 95.0, 85.0, "least allowed by EN 228, from memory"),
        _gasoline("100", 100.0, 88.0, "posted research number, sensitivity 12, common practice"),
        Fuel(
            name="ethanol",
            mass_fractions=(("C2H5OH", 1.0),),
            heat_of_vaporisation=920.7e3,
            density_liquid=785.0,
            octane_research=108.0,
            octane_motor=92.0,
            source="heat of vaporisation, density: CoolProp (AFDC 396 Btu/lb); octane: AFDC",
        ),
        Fuel(
            name="methanol",
            mass_fractions=(("CH3OH", 1.0),),
            heat_of_vaporisation=1169.0e3,
            density_liquid=786.2,
            octane_research=107.0,
            octane_motor=92.0,
            source="heat of vaporisation, density: CoolProp (AFDC 506 Btu/lb); octane: AFDC",
        ),
        Fuel(
            name="propane",
            mass_fractions=(("C3H8", 1.0),),
            heat_of_vaporisation=335.7e3,
            density_liquid=492.4,
            octane_research=112.0,
            octane_motor=97.0,
            source="heat of vaporisation, density: CoolProp; octane: from memory",
        ),
        Fuel(
            name="iso-octane",
            mass_fractions=(("C8H18,isooctane", 1.0),),
            heat_of_vaporisation=307.6e3,
            density_liquid=687.8,
            octane_research=100.0,
            octane_motor=100.0,
            source="heat of vaporisation 35.14 kJ/mol, density: from memory; octane: definition",
        ),
    )
}


def _splash_blend(
    name: str, ethanol_volume: float, research: float, motor: float, octane_source: str
) -> Fuel:
    """Gasoline with a volume fraction of ethanol, volumes and heats taken as additive."""
    gasoline, ethanol = _PURE["gasoline 95"], _PURE["ethanol"]
    gasoline_mass = (1.0 - ethanol_volume) * gasoline.density_liquid
    ethanol_mass = ethanol_volume * ethanol.density_liquid
    density = gasoline_mass + ethanol_mass
    share = ethanol_mass / density
    return Fuel(
        name=name,
        mass_fractions=(
            *((species, (1.0 - share) * y) for species, y in gasoline.mass_fractions),
            *((species, share * y) for species, y in ethanol.mass_fractions),
        ),
        heat_of_vaporisation=(1.0 - share) * gasoline.heat_of_vaporisation
        + share * ethanol.heat_of_vaporisation,
        density_liquid=density,
        octane_research=research,
        octane_motor=motor,
        source=f"{100.0 * ethanol_volume:.0f} % ethanol by volume in gasoline, volumes and heats"
        f" additive; octane: {octane_source}",
    )


_BLENDS = (
    _splash_blend("e10", 0.10, 95.0, 85.0, "least allowed by EN 228, from memory"),
    _splash_blend("e85", 0.85, 105.0, 89.0, "from memory"),
)

#: Every fuel that a case may name.
FUELS: Mapping[str, Fuel] = MappingProxyType(_PURE | {fuel.name: fuel for fuel in _BLENDS})
