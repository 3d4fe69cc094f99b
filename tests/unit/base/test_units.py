"""Units against pint, which the package itself does not use."""

from __future__ import annotations

import math

import pint
import pytest

from enginesim.base import units
from enginesim.base.readings import read, spread_in_si
from enginesim.base.units import UnitError, from_si, shown, to_si, unit

# Ours: what the oracle calls it.
SAME = {
    "m": "meter", "cm": "centimeter", "mm": "millimeter", "um": "micrometer", "in": "inch",
    "ft": "foot", "cm2": "centimeter**2", "mm2": "millimeter**2", "in2": "inch**2",
    "m2": "meter**2", "ft2": "foot**2", "L": "liter", "cc": "centimeter**3",
    "cm3": "centimeter**3", "mm3": "millimeter**3", "m3": "meter**3", "in3": "inch**3",
    "ft3": "foot**3", "gal": "gallon", "kg": "kilogram", "g": "gram", "mg": "milligram",
    "lb": "pound", "oz": "ounce", "s": "second", "ms": "millisecond", "min": "minute",
    "h": "hour", "deg": "degree", "rad": "radian", "m/s": "meter/second",
    "cfm": "foot**3/minute", "Pa": "pascal", "kPa": "kilopascal", "MPa": "megapascal",
    "bar": "bar", "mbar": "millibar", "hPa": "hectopascal", "atm": "atmosphere", "psi": "psi",
    "N": "newton", "kN": "kilonewton", "lbf": "pound_force", "J": "joule", "kJ": "kilojoule",
    "MJ": "megajoule", "lb-ft": "pound_force*foot", "Btu": "Btu_it", "W": "watt", "kW": "kilowatt",
    "hp": "horsepower", "%": "percent", "lb/h": "pound/hour", "g/s": "gram/second",
    "kg/m^3": "kilogram/meter**3", "N*m": "newton*meter", "ft/min": "foot/minute",
    "L/s": "liter/second", "m3/s": "meter**3/second", "lb/ft3": "pound/foot**3",
    "km": "kilometer", "mi": "mile", "mph": "mile/hour", "km/h": "kilometer/hour",
    "lbf/in": "pound_force/inch", "kg*m2": "kilogram*meter**2",
}  # fmt: skip
# Columns of liquid: conventional densities, which differ in the last digits between sources.
COLUMNS = {"inHg": "inHg", "mmHg": "mmHg", "inH2O": "inH2O", "mmH2O": "0.1 * cmH2O"}
TEMPERATURES = {"degC": "degC", "degF": "degF", "K": "kelvin", "degR": "degR"}


@pytest.fixture(scope="module")
def oracle() -> pint.UnitRegistry:
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@pytest.mark.parametrize("name", SAME)
def test_factor(name: str, oracle: pint.UnitRegistry) -> None:
    expected = oracle.parse_expression(SAME[name])
    expected = (1 * expected).to_base_units()
    assert to_si(1.0, name) == pytest.approx(float(expected.magnitude), rel=1e-12)


@pytest.mark.parametrize("name", COLUMNS)
def test_column_of_liquid(name: str, oracle: pint.UnitRegistry) -> None:
    expected = float((1 * oracle.parse_expression(COLUMNS[name])).to("pascal").magnitude)
    assert to_si(1.0, name) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize("name", TEMPERATURES)
@pytest.mark.parametrize("value", [-10.0, 0.0, 77.0, 400.0])
def test_temperature(name: str, value: float, oracle: pint.UnitRegistry) -> None:
    expected = oracle.Quantity(value, TEMPERATURES[name]).to("kelvin").magnitude
    assert to_si(value, name) == pytest.approx(expected, rel=1e-13)
    assert from_si(to_si(value, name), name) == pytest.approx(value, abs=1e-10)


def test_every_unit_of_the_table_has_an_oracle() -> None:
    without = {"rpm"}  # a base of its own here: nothing to convert
    known = {*SAME, *COLUMNS, *TEMPERATURES, *without}
    assert set(units._UNITS) - known == set()


@pytest.mark.parametrize("spelling", units._SPELLINGS)
def test_every_other_spelling_leads_to_a_unit(spelling: str) -> None:
    assert unit(spelling) == unit(units._SPELLINGS[spelling])


@pytest.mark.parametrize(
    "text, dimension",
    [
        ("N m", "energy"),
        ("kg/m^3", "density"),
        ("m**2", "area"),
        ("1/min", "engine speed"),
        ("kg/h", "mass flow"),
        ("in H2O", None),
    ],
)
def test_dimension_of_a_product(text: str, dimension: str | None) -> None:
    if dimension is None:
        with pytest.raises(UnitError, match="unknown unit 'H2O'"):
            unit(text)
    else:
        assert unit(text).exponents == units.DIMENSIONS[dimension]
        assert units.dimension_name(unit(text).exponents) == dimension


def test_unknown_unit_names_the_nearest() -> None:
    with pytest.raises(UnitError, match="did you mean 'inHg'"):
        unit("inHgg")


@pytest.mark.parametrize(
    "text", ["", "in", "nan in", "inf mm", "1e999 in", "- in", "five in", "4.0 furlong", "in 4"]
)
def test_what_is_no_quantity(text: str) -> None:
    with pytest.raises(UnitError):
        unit(read(text).unit_text)


def test_reading_takes_everything_apart() -> None:
    reading = read("65 128,180 cfm +- 3 % @ 28 inH2O")
    assert reading.numbers == (65.0, 128.0, 180.0)
    assert (reading.unit_text, reading.band, reading.band_unit) == ("cfm", 3.0, "%")
    assert reading.at is not None
    assert (reading.at.numbers, reading.at.unit_text) == ((28.0,), "inH2O")


@pytest.mark.parametrize(
    "text, sigma",
    [
        ("0.480 in +- 0.005", 0.005 * 0.0254),
        ("0.480 in +- 1 mm", 1e-3),
        ("0.480 in +/- 2 %", 0.02 * 0.48 * 0.0254),
        ("80 degC ± 8 K", 8.0),
        ("80 degC +- 9 degF", 5.0),
        ("10 % +- 1", 0.01),
    ],
)
def test_band(text: str, sigma: float) -> None:
    reading = read(text)
    assert spread_in_si(reading, reading.numbers[0]) == pytest.approx(sigma, rel=1e-12)


def test_band_of_another_dimension() -> None:
    with pytest.raises(UnitError, match="the band is in 'K'"):
        spread_in_si(read("4 in +- 3 K"), 4.0)


def test_band_without_a_number() -> None:
    with pytest.raises(UnitError, match="no number after"):
        read("4 in +- much")


def test_shown() -> None:
    assert shown(0.102362, "in") == "4.03 in"
    assert shown(math.radians(110), "deg") == "110 deg"
    assert shown(123456.0, "") == "123456"


@pytest.mark.parametrize(
    "text, numbers, unit_text",
    [
        ("3/8 in", (0.375,), "in"),
        ("1-3/4 in", (1.75,), "in"),
        ("1 3/4 in", (1.75,), "in"),
        ("1-1/2, 1-5/8 1 3/4 in", (1.5, 1.625, 1.75), "in"),
        ("-1/2 in", (-0.5,), "in"),
        ("214 deg @ 1/16 in", (214.0,), "deg"),
    ],
)
def test_fractions_of_a_ruler(text: str, numbers: tuple[float, ...], unit_text: str) -> None:
    reading = read(text)
    assert reading.numbers == numbers
    assert reading.unit_text == unit_text


@pytest.mark.parametrize("text", ["1/0 in", "3/4/5 in", "0.5/2 in", "1 2 / 3 4 in"])
def test_what_is_no_fraction_is_left_for_the_unit_to_refuse(text: str) -> None:
    assert "/" in read(text).unit_text
