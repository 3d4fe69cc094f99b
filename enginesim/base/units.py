"""How much is that in SI? The units of this trade, by name."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from enginesim.base.characters import quoted
from enginesim.base.constants import G_STANDARD, T_ICE
from enginesim.base.names import nearest

Exponents = tuple[int, int, int, int, int, int]

_PLAIN: Final[Exponents] = (0, 0, 0, 0, 0, 0)

#: Dimension names and their exponents of (m, kg, s, K, rad, rev/min).
DIMENSIONS: Final[dict[str, Exponents]] = {
    "ratio": _PLAIN,
    "length": (1, 0, 0, 0, 0, 0),
    "area": (2, 0, 0, 0, 0, 0),
    "volume": (3, 0, 0, 0, 0, 0),
    "mass": (0, 1, 0, 0, 0, 0),
    "time": (0, 0, 1, 0, 0, 0),
    "temperature": (0, 0, 0, 1, 0, 0),
    "angle": (0, 0, 0, 0, 1, 0),
    "engine speed": (0, 0, 0, 0, 0, 1),
    "velocity": (1, 0, -1, 0, 0, 0),
    "volume flow": (3, 0, -1, 0, 0, 0),
    "mass flow": (0, 1, -1, 0, 0, 0),
    "density": (-3, 1, 0, 0, 0, 0),
    "pressure": (-1, 1, -2, 0, 0, 0),
    "force": (1, 1, -2, 0, 0, 0),
    "energy": (2, 1, -2, 0, 0, 0),
    "power": (2, 1, -3, 0, 0, 0),
    "spring rate": (0, 1, -2, 0, 0, 0),
    "inertia": (2, 1, 0, 0, 0, 0),
    "specific energy": (2, 0, -2, 0, 0, 0),
}

#: Unit of each dimension in SI, as a case file would have it.
SI_UNITS: Final = {
    "length": "m",
    "area": "m2",
    "volume": "m3",
    "temperature": "K",
    "angle": "rad",
    "engine speed": "rpm",
    "volume flow": "m3/s",
    "mass flow": "kg/s",
    "pressure": "Pa",
    "ratio": "",
    "mass": "kg",
    "force": "N",
    "spring rate": "N/m",
    "inertia": "kg*m2",
    "velocity": "m/s",
    "density": "kg/m3",
    "time": "s",
}

#: Units that may be left out: what a bare number of that dimension means.
BARE: Final = {"ratio": "", "angle": "deg", "engine speed": "rpm"}

_INCH = 0.0254
_FOOT = 0.3048
_MILE = 5280 * _FOOT
_POUND = 0.45359237
_POUND_FORCE = _POUND * G_STANDARD
_LITRE = 1e-3
_MERCURY = 13595.1  # conventional density of mercury at 0 degC [kg/m3]
_WATER = 1000.0  # conventional density of water [kg/m3]


@dataclass(frozen=True, slots=True)
class Unit:
    """
    A unit: value in SI = value x factor + offset.

    Engine speed has revolutions a minute as its base, because everybody says it so.
    """

    factor: float
    exponents: Exponents
    offset: float = 0.0

    def to_si(self, value: float) -> float:
        """
        Value in SI.

        Parameters
        ----------
        value : float
            In this unit. [any]

        Returns
        -------
        float
            The same in SI (engine speed: rev/min). [SI]
        """
        return value * self.factor + self.offset

    def from_si(self, value: float) -> float:
        """
        SI value in this unit.

        Parameters
        ----------
        value : float
            In SI (engine speed: rev/min). [SI]

        Returns
        -------
        float
            The same in this unit. [any]
        """
        return (value - self.offset) / self.factor


class UnitError(ValueError):
    """Text that is no number with a unit of this trade; the message says why."""


def _table() -> dict[str, Unit]:
    groups: dict[str, dict[str, float]] = {
        "ratio": {"%": 0.01},
        "length": {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "um": 1e-6, "in": _INCH, "ft": _FOOT}
        | {"km": 1e3, "mi": _MILE},
        "area": {"cm2": 1e-4, "mm2": 1e-6, "in2": _INCH**2, "m2": 1.0, "ft2": _FOOT**2},
        "volume": {
            "L": _LITRE,
            "cc": 1e-6,
            "cm3": 1e-6,
            "mm3": 1e-9,
            "m3": 1.0,
            "in3": _INCH**3,
            "ft3": _FOOT**3,
            "gal": 231 * _INCH**3,
        },
        "mass": {"kg": 1.0, "g": 1e-3, "mg": 1e-6, "lb": _POUND, "oz": _POUND / 16},
        "time": {"s": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0},
        "temperature": {"K": 1.0, "degR": 5 / 9},
        "angle": {"deg": math.pi / 180, "rad": 1.0},
        "engine speed": {"rpm": 1.0},
        "velocity": {"m/s": 1.0, "mph": _MILE / 3600},
        "volume flow": {"cfm": _FOOT**3 / 60},
        "pressure": {
            "Pa": 1.0,
            "kPa": 1e3,
            "MPa": 1e6,
            "bar": 1e5,
            "mbar": 1e2,
            "hPa": 1e2,
            "atm": 101325.0,
            "psi": _POUND_FORCE / _INCH**2,
            "inHg": _INCH * _MERCURY * G_STANDARD,
            "mmHg": 1e-3 * _MERCURY * G_STANDARD,
            "inH2O": _INCH * _WATER * G_STANDARD,
            "mmH2O": 1e-3 * _WATER * G_STANDARD,
        },
        "force": {"N": 1.0, "kN": 1e3, "lbf": _POUND_FORCE},
        "energy": {
            "J": 1.0,
            "kJ": 1e3,
            "MJ": 1e6,
            "lb-ft": _POUND_FORCE * _FOOT,
            "Btu": 1055.05585262,
        },
        "power": {"W": 1.0, "kW": 1e3, "hp": 550 * _FOOT * _POUND_FORCE},
    }
    table = {
        name: Unit(factor, DIMENSIONS[dimension])
        for dimension, units in groups.items()
        for name, factor in units.items()
    }
    celsius = Unit(1.0, DIMENSIONS["temperature"], T_ICE)
    fahrenheit = Unit(5 / 9, DIMENSIONS["temperature"], T_ICE - 32 * 5 / 9)
    return table | {"degC": celsius, "degF": fahrenheit}


_UNITS: Final = _table()

#: Other spellings of the same unit.
_SPELLINGS: Final = {
    "inch": "in", "inches": "in", '"': "in", "feet": "ft", "foot": "ft", "°": "deg",
    "degree": "deg", "degrees": "deg", "l": "L", "litre": "L", "liter": "L", "ltr": "L",
    "ccm": "cc", "cid": "in3", "ci": "in3", "lbs": "lb", "lbm": "lb", "hr": "h",
    "ft-lb": "lb-ft", "lbf-ft": "lb-ft", "ft-lbf": "lb-ft", "C": "degC", "F": "degF",
    "°C": "degC", "°F": "degF", "celsius": "degC", "fahrenheit": "degF", "inh2o": "inH2O",
    "inhg": "inHg", "CFM": "cfm", "RPM": "rpm", "1/min": "rpm", "BTU": "Btu", "µm": "um",
    "PSI": "psi", "kelvin": "K", "percent": "%", "hours": "h", "HP": "hp", "kpa": "kPa",
}  # fmt: skip

_FACTOR = re.compile(
    r'\s*([*/·]?)\s*([A-Za-z°%µ"][A-Za-z0-9°"-]*|1)\s*(?:(?:\^|\*\*)\s*(-?[0-9]+))?'
)
_LONGEST: Final = 60  # characters of a unit [-]
#: Highest power of a unit.
HIGHEST_POWER: Final = 9


@lru_cache(maxsize=256)
def unit(text: str) -> Unit:
    """
    Unit of a text such as ``in``, ``kg/m3`` or ``N*m``.

    Parameters
    ----------
    text : str
        Known units, joined by ``*``, a space or ``/``; whole powers by ``^``. Empty for a
        plain number.

    Returns
    -------
    Unit
        Its factor, exponents and offset.

    Raises
    ------
    UnitError
        If some part is not a unit of this trade, or a power is above 9.

    Examples
    --------
    >>> unit("lb/h").to_si(1.0)
    0.00012600
    """
    text = text.strip()
    known = _UNITS.get(_SPELLINGS.get(text, text))
    if known is not None:
        return known
    if len(text) > _LONGEST:
        raise UnitError(f"{quoted(text)} is not a unit")
    factor, exponents, position = 1.0, list(_PLAIN), 0
    while position < len(text):
        match = _FACTOR.match(text, position)
        if match is None:
            raise UnitError(f"{quoted(text)} is not a unit")
        operator, name, power_text = match.groups()
        power = int(power_text or 1) * (-1 if operator == "/" else 1)
        if abs(power) > HIGHEST_POWER:
            raise UnitError(f"{quoted(text)} is not a unit: a power above {HIGHEST_POWER}")
        if name != "1":
            part = _named(name)
            factor *= part.factor**power
            exponents = [e + power * p for e, p in zip(exponents, part.exponents, strict=True)]
        position = match.end()
    if not 0.0 < factor < math.inf:
        raise UnitError(f"{quoted(text)} is not a unit")
    a, b, c, d, e, f = exponents
    return Unit(factor, (a, b, c, d, e, f))


def _named(name: str) -> Unit:
    found = _UNITS.get(_SPELLINGS.get(name, name))
    if found is None:
        near = nearest(name, [*_SPELLINGS, *_UNITS])
        raise UnitError(
            f"unknown unit {quoted(name)}" + (f", did you mean {near!r}?" if near else "")
        )
    return found


def dimension_name(exponents: Exponents) -> str:
    """
    Name of a dimension, as the messages say it.

    Parameters
    ----------
    exponents : tuple of int
        Of the base units.

    Returns
    -------
    str
        Such as ``length``; ``unnamed`` if nothing in a case has that dimension.
    """
    return next((name for name, known in DIMENSIONS.items() if known == exponents), "unnamed")


def from_si(value: float, unit_name: str) -> float:
    """
    SI value in a named unit.

    Parameters
    ----------
    value : float
        In SI (engine speed: rev/min). [SI]
    unit_name : str
        What is wanted.

    Returns
    -------
    float
        Value in that unit. [any]

    Examples
    --------
    >>> from_si(0.102362, "in")
    4.0300
    """
    return unit(unit_name).from_si(value)


def to_si(value: float, unit_name: str) -> float:
    """
    Value of a named unit in SI.

    Parameters
    ----------
    value : float
        In that unit. [any]
    unit_name : str
        The unit.

    Returns
    -------
    float
        Value in SI (engine speed: rev/min). [SI]

    Examples
    --------
    >>> to_si(77.0, "degF")
    298.150
    """
    return unit(unit_name).to_si(value)


def shown(value: float, unit_name: str, digits: int = 4) -> str:
    """
    SI value as text with its unit.

    Parameters
    ----------
    value : float
        In SI. [SI]
    unit_name : str
        Unit to show.
    digits : int
        Significant digits.

    Returns
    -------
    str
        Such as ``4.03 in``.

    Examples
    --------
    >>> shown(0.102362, "in")
    '4.03 in'
    """
    number = f"{from_si(value, unit_name):.{digits}g}"
    if "e" in number and "e-" not in number:
        number = f"{from_si(value, unit_name):.0f}"
    return f"{number} {unit_name}".strip()
