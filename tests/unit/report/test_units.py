"""Numbers as people read them, against pint's conversions."""

from __future__ import annotations

from math import inf, nan

import pint
import pytest

from enginesim.base.quantity import quantities
from enginesim.performance import Performance
from enginesim.report.units import SCALES, file_keys, file_value, scale, signed

# Unit as it is written for people: what pint calls it.
PINT = {
    "": "dimensionless",
    "%": "percent",
    "rpm": "rpm",
    "deg": "degree",
    "lb-ft": "foot * pound_force",
    "hp": "horsepower",
    "psi": "psi",
    "inHg": "inch_Hg",
    "°F": "degF",
    "lb/h": "pound / hour",
    "lb/min": "pound / minute",
    "lb/hp h": "pound / horsepower / hour",
    "in³": "inch ** 3",
    "in": "inch",
    "ft/min": "foot / minute",
    "N m": "newton * meter",
    "kW": "kilowatt",
    "bar": "bar",
    "kPa": "kilopascal",
    "°C": "degC",
    "kg/h": "kilogram / hour",
    "g/s": "gram / second",
    "g/kWh": "gram / kilowatt / hour",
    "cm³": "centimeter ** 3",
    "mm": "millimeter",
    "m/s": "meter / second",
    "ft/s": "foot / second",
    "mph": "mile / hour",
    "km/h": "kilometer / hour",
    "lbf": "pound_force",
    "N": "newton",
    "lbf/in": "pound_force / inch",
    "N/mm": "newton / millimeter",
    "cc": "centimeter ** 3",
    "g": "gram",
    "cfm": "foot ** 3 / minute",
    "L/s": "liter / second",
}
# What a kind of quantity is in SI.
SI = {
    "speed": "rpm",
    "angle": "radian",
    "percent": "dimensionless",
    "number": "dimensionless",
    "octane": "dimensionless",
    "torque": "newton * meter",
    "power": "watt",
    "mean pressure": "pascal",
    "cylinder pressure": "pascal",
    "duct pressure": "pascal",
    "depression": "pascal",
    "barometer": "pascal",
    "temperature": "kelvin",
    "flow": "kilogram / second",
    "fuel flow": "kilogram / second",
    "valve flow": "kilogram / second",
    "consumption": "kilogram / joule",
    "volume": "meter ** 3",
    "length": "meter",
    "velocity": "meter / second",
    "gas velocity": "meter / second",
    "road speed": "meter / second",
    "force": "newton",
    "spring rate": "newton / meter",
    "small volume": "meter ** 3",
    "mass": "kilogram",
    "air flow": "meter ** 3 / second",
}


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@pytest.mark.parametrize("system", ["us", "si"])
def test_symbols_say_what_the_numbers_are(registry: pint.UnitRegistry, system: str) -> None:
    for kind, shown in SCALES[system].items():
        expected = registry.Quantity(321.0, SI[kind]).to(PINT[shown.symbol]).magnitude
        # 2e-5: mercury at 0 degC has two conventional densities.
        assert float(shown.of(321.0)) == pytest.approx(expected, rel=2e-5), kind


def test_both_systems_show_the_same_kinds() -> None:
    assert set(SCALES["us"]) == set(SCALES["si"]) == set(SI)
    kinds = {meaning.kind for meaning in quantities(Performance).values()} - {""}
    assert kinds <= set(SI)
    assert len(kinds) > 10


def test_fields_exist_and_fit_their_kind() -> None:
    known = quantities(Performance)
    units = {"radian": "rad", "dimensionless": "-", "pascal": "Pa", "watt": "W", "kelvin": "K"}
    for field, meaning in known.items():
        if not meaning.kind:
            continue
        si = SI[meaning.kind].replace("newton * meter", "N m").replace("kilogram", "kg")
        si = (
            si.replace("meter", "m")
            .replace("second", "s")
            .replace("joule", "J")
            .replace(" / ", "/")
            .replace(" ** ", "")
        )
        assert known[field].unit == units.get(si, si), field


# The keys that were promised, as they were promised.
PROMISED = [
    *(
        "rpm",
        "torque_Nm",
        "power_kW",
        "ve",
        "imep_bar",
    ),
    *(
        "pmep_bar",
        "fmep_bar",
        "bmep_bar",
        "residual",
        "p_max_bar",
    ),
    *(
        "theta_p_max_deg",
        "ca50_deg",
        "spark_deg",
        "lambda",
        "bsfc_g_kWh",
    ),
    *(
        "air_kg_h",
        "fuel_kg_h",
        "egt_K",
        "inlet_mach",
        "manifold_bar",
    ),
    *(
        "knock_margin_deg",
        "converged",
        "cycles",
        "mass_error",
        "energy_error",
    ),
]


def test_files_have_the_promised_keys() -> None:
    keys = [key for key, _, _ in file_keys()]
    assert set(PROMISED) <= set(keys)
    assert len(keys) == len(set(keys))
    assert {field for _, field, _ in file_keys()} == set(quantities(Performance))


def test_suffix_of_a_key_is_its_unit() -> None:
    suffixes = {
        "N*m": "Nm",
        "g/kW/h": "g_kWh",
        "kg/m3": "kg_m3",
        "J/kg/K": "J_kg_K",
        "kg/h": "kg_h",
        "m/s": "m_s",
        "": "",
        "rpm": "rpm",
    }
    for key, _, unit in file_keys():
        assert key.endswith(suffixes.get(unit, unit)), key


def test_numbers_as_text() -> None:
    assert scale("torque", "us").with_unit(400 * 1.3558179483) == "400 lb-ft"
    assert scale("egt", "si").with_unit(1000.0) == "727 °C"
    assert scale("ve", "us").text(0.8764) == "87.6"
    assert scale("ve", "us").with_unit(0.8765, 0) == "88 %"
    assert scale("inlet_mach", "si").with_unit(0.5) == "0.500"
    assert scale("pmep", "si").text(-1e-9) == "0.00"
    assert scale("pmep", "si").text(-1e3) == "-0.01"
    assert scale("bsfc", "us").text(inf) == "-"
    assert scale("ve_plenum", "us").text(nan) == "-"


def test_values_for_files() -> None:
    assert file_value(1e5, "bar") == pytest.approx(1.0)
    assert file_value(nan, "bar") is None
    assert file_value(inf, "g/kW/h") is None
    assert file_value(True, "") is True
    assert file_value(5, "") == 5
    assert file_value("periodic", "") == "periodic"


@pytest.mark.parametrize(
    "torque, text",
    [([31.7, 48.0], "31.7 N m"), ([31.7, 148.0], "32 N m"), ([31.7, nan], "31.7 N m")],
)
def test_small_engines_get_a_decimal(torque: list[float], text: str) -> None:
    assert scale("torque", "si").finer(torque).with_unit(torque[0]) == text


def test_scale_with_decimals_stays() -> None:
    ratio = scale("lambda_overall", "si")
    assert ratio.digits > 0
    assert ratio.finer([0.9]) == ratio


def test_nothing_has_no_sign() -> None:
    """-0 % is no figure; what rounds to zero is zero."""
    assert [signed(value) for value in (0.4, -0.4, 0.0, -0.0, 1.5e1, -2.0)] == [
        "0", "0", "0", "0", "+15", "-2"
    ]  # fmt: skip
    assert [signed(value, 1) for value in (-0.04, -0.06, nan, inf)] == ["0.0", "-0.1", "-", "-"]
