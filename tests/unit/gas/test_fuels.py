"""Have the fuels the published air-fuel ratios, heats and octane numbers?"""

from __future__ import annotations

import pytest
from CoolProp.CoolProp import PropsSI

from enginesim.base.constants import T_REF
from enginesim.gas import FUELS, stoichiometric_ratio, tables
from enginesim.gas.mixture import atoms, fuel_moles
from tests.unit.gas import oracle

# Dry stoichiometric air-fuel ratio, element balance with oxygen and 3.773 atmospheric nitrogen.
# Band 0.5 %: what the composition of air and gasoline's hydrogen are known to.
RATIOS = {
    "iso-octane": 15.13,
    "gasoline 95": 14.60,
    "ethanol": 9.00,
    "methanol": 6.47,
    "e85": 9.80,
    "e10": 14.01,
    "propane": 15.68,
}

# Lower heating value of the liquid [MJ/kg]: US DOE AFDC fuel-property table (18,676, 11,585 and
# 8,637 Btu/lb); iso-octane from Cantera less 0.31 of vaporisation. Band 1 %: spread of sources.
HEATING_VALUES = {
    "gasoline 95": 43.44,
    "ethanol": 26.946,
    "methanol": 20.090,
    "iso-octane": 44.34,
}

# Heat of vaporisation [kJ/kg]: AFDC (150, 396 and 506 Btu/lb). Band 1 %.
HEATS = {"gasoline 95": 349.0, "ethanol": 921.1, "methanol": 1177.0}

# Research and motor octane numbers: AFDC.
OCTANE = {"ethanol": (108.0, 92.0), "methanol": (107.0, 92.0)}


@pytest.mark.parametrize("fuel, ratio", RATIOS.items())
def test_stoichiometric_ratio(fuel: str, ratio: float) -> None:
    assert stoichiometric_ratio(FUELS[fuel]) == pytest.approx(ratio, rel=5e-3)
    assert tables(fuel, 1.0).afr_stoich == stoichiometric_ratio(FUELS[fuel])


@pytest.mark.parametrize("fuel", sorted(FUELS))
def test_stoichiometric_ratio_is_that_of_cantera(fuel: str) -> None:
    gas = oracle.everything()
    gas.TPX = 300.0, 1e5, oracle.humid_air(0.0)
    y_air = gas.mass_fraction_dict()
    expected = gas.stoich_air_fuel_ratio(dict(FUELS[fuel].mass_fractions), y_air, basis="mass")
    assert stoichiometric_ratio(FUELS[fuel]) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("fuel, expected", HEATING_VALUES.items())
def test_lower_heating_value(fuel: str, expected: float) -> None:
    assert tables(fuel, 1.0).lower_heating_value / 1e6 == pytest.approx(expected, rel=1e-2)


@pytest.mark.parametrize("lambda_", [0.7, 1.3])
def test_lower_heating_value_does_not_depend_on_the_mixture(lambda_: float) -> None:
    assert tables("e10", lambda_).lower_heating_value == tables("e10", 1.0).lower_heating_value


@pytest.mark.parametrize("fuel, expected", HEATS.items())
def test_heat_of_vaporisation(fuel: str, expected: float) -> None:
    assert FUELS[fuel].heat_of_vaporisation / 1e3 == pytest.approx(expected, rel=1e-2)


@pytest.mark.parametrize(
    "fuel, fluid", [("ethanol", "Ethanol"), ("methanol", "Methanol"), ("propane", "n-Propane")]
)
def test_liquid_is_that_of_coolprop(fuel: str, fluid: str) -> None:
    """Within the last digit written: the numbers are CoolProp's."""
    vapour, liquid = (PropsSI("H", "T", T_REF, "Q", q, fluid) for q in (1, 0))
    assert FUELS[fuel].heat_of_vaporisation == pytest.approx(vapour - liquid, abs=60.0)
    density = PropsSI("D", "T", T_REF, "Q", 0, fluid)
    assert FUELS[fuel].density_liquid == pytest.approx(density, abs=0.06)


def test_gasoline_lies_between_the_heats_of_what_it_is_made_of() -> None:
    """Heptane 365 and toluene 413 kJ/kg (CoolProp), iso-octane 308; a mass-weighted mean of 348."""
    heats = {"C8H18,isooctane": FUELS["iso-octane"].heat_of_vaporisation}
    for species, fluid in (("C7H16,n-heptane", "n-Heptane"), ("C7H8", "Toluene")):
        vapour, liquid = (PropsSI("H", "T", T_REF, "Q", q, fluid) for q in (1, 0))
        heats[species] = vapour - liquid
    mean = sum(y * heats[species] for species, y in FUELS["gasoline 95"].mass_fractions)
    assert FUELS["gasoline 95"].heat_of_vaporisation == pytest.approx(mean, rel=1e-2)


def test_gasoline_has_its_hydrogen() -> None:
    """1.87 atoms per carbon atom, by choice of the surrogate."""
    found = atoms(fuel_moles(FUELS["gasoline 95"]))
    assert found["H"] / found["C"] == pytest.approx(1.87, abs=5e-4)


@pytest.mark.parametrize("fuel", sorted(FUELS))
def test_every_fuel_is_whole(fuel: str) -> None:
    made = FUELS[fuel]
    assert made.name == fuel
    assert sum(y for _, y in made.mass_fractions) == pytest.approx(1.0, abs=1e-12)
    assert made.octane_motor <= made.octane_research
    assert made.source


@pytest.mark.parametrize("fuel, expected", OCTANE.items())
def test_octane_numbers(fuel: str, expected: tuple[float, float]) -> None:
    assert (FUELS[fuel].octane_research, FUELS[fuel].octane_motor) == expected


def test_octane_numbers_are_those_on_the_pump() -> None:
    def posted(grade: str) -> float:
        made = FUELS[f"gasoline {grade}"]
        return (made.octane_research + made.octane_motor) / 2.0

    assert (posted("87"), posted("91")) == (87.0, 91.0)
    assert FUELS["gasoline 95"].octane_research == 95.0
    assert FUELS["gasoline 100"].octane_research == 100.0


def test_blend_weighs_by_mass_not_by_volume() -> None:
    """85 % by volume is 85.7 % by mass: 0.85 785 / (0.85 785 + 0.15 745)."""
    share = dict(FUELS["e85"].mass_fractions)["C2H5OH"]
    assert share == pytest.approx(0.85 * 785.0 / (0.85 * 785.0 + 0.15 * 745.0), rel=1e-12)
    heats = share * 920.7e3 + (1.0 - share) * 349e3
    assert FUELS["e85"].heat_of_vaporisation == pytest.approx(heats, rel=1e-12)
