"""In which unit, with how many digits, is each number shown? The only conversion on the way out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isfinite
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

import numpy as np

from enginesim.base.quantity import quantities
from enginesim.base.units import unit

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

System: TypeAlias = Literal["us", "si"]


@dataclass(frozen=True, slots=True)
class Scale:
    """
    How one kind of quantity is shown in one system.

    Attributes
    ----------
    name : str
        Unit as :mod:`enginesim.base.units` reads it.
    symbol : str
        Unit as it is written for people; empty for a plain number.
    digits : int
        Decimals in a table.
    """

    name: str
    symbol: str
    digits: int

    def of(self, si: ArrayLike) -> NDArray[np.float64]:
        """
        SI values in this unit.

        Parameters
        ----------
        si : array_like
            Values in SI. [-]

        Returns
        -------
        ndarray
            Values in the unit of the scale. [-]
        """
        shown = unit(self.name)
        return (np.asarray(si, dtype=np.float64) - shown.offset) / shown.factor

    def finer(self, si: ArrayLike) -> Scale:
        """
        The same scale with a decimal more where whole numbers would be too coarse.

        Parameters
        ----------
        si : array_like
            All values that are shown together, in SI. [-]

        Returns
        -------
        Scale
            With one decimal if it had none and no value reaches a hundred: a small engine's torque.
        """
        size = np.abs(self.of(si))
        is_coarse = self.digits == 0 and not np.any(size >= 100.0)
        return replace(self, digits=1) if is_coarse else self

    def text(self, si: float, digits: int | None = None) -> str:
        """
        One SI value as a number without its unit.

        Parameters
        ----------
        si : float
            Value in SI. [-]
        digits : int, optional
            Decimals other than the scale's own. [-]

        Returns
        -------
        str
            The number, or a dash where there is none.
        """
        value = float(self.of(si))
        if not isfinite(value):
            return "-"
        decimals = self.digits if digits is None else digits
        shown = f"{value:.{decimals}f}"
        return shown.removeprefix("-") if float(shown) == 0.0 else shown

    def with_unit(self, si: float, digits: int | None = None) -> str:
        """
        One SI value as text with its unit.

        Parameters
        ----------
        si : float
            Value in SI. [-]
        digits : int, optional
            Decimals other than the scale's own. [-]

        Returns
        -------
        str
            Such as ``412 lb-ft``.
        """
        return f"{self.text(si, digits)} {self.symbol}".rstrip()


def signed(value: float, digits: int = 0) -> str:
    """
    A number with its sign; what rounds to zero has none.

    Parameters
    ----------
    value : float
        Any; what is not finite is a dash. [any]
    digits : int
        Decimals. [-]

    Returns
    -------
    str
        Such as ``+4``.

    Examples
    --------
    >>> [signed(x, 1) for x in (4.26, -0.04, -1.0)]
    ['+4.3', '0.0', '-1.0']
    """
    if not isfinite(value):
        return "-"
    text = f"{value:+.{digits}f}"
    return text if float(text) else text[1:]


_PLAIN: Final = {
    "speed": Scale("rpm", "rpm", 0),
    "angle": Scale("deg", "deg", 1),
    "percent": Scale("%", "%", 1),
    "number": Scale("", "", 3),
    "octane": Scale("", "", 1),
}

#: Kind of quantity: how it is shown, in each system.
SCALES: Final[dict[System, dict[str, Scale]]] = {
    "us": {
        **_PLAIN,
        "torque": Scale("lb-ft", "lb-ft", 0),
        "power": Scale("hp", "hp", 0),
        "mean pressure": Scale("psi", "psi", 1),
        "cylinder pressure": Scale("psi", "psi", 0),
        "duct pressure": Scale("psi", "psi", 1),
        "depression": Scale("inHg", "inHg", 2),
        "barometer": Scale("inHg", "inHg", 2),
        "temperature": Scale("degF", "°F", 0),
        "flow": Scale("lb/h", "lb/h", 0),
        "fuel flow": Scale("lb/h", "lb/h", 1),
        "valve flow": Scale("lb/min", "lb/min", 1),
        "consumption": Scale("lb/hp/h", "lb/hp h", 3),
        "volume": Scale("in3", "in³", 1),
        "length": Scale("in", "in", 3),
        "velocity": Scale("ft/min", "ft/min", 0),
        "gas velocity": Scale("ft/s", "ft/s", 0),
        "road speed": Scale("mph", "mph", 1),
        "force": Scale("lbf", "lbf", 0),
        "spring rate": Scale("lbf/in", "lbf/in", 0),
        "small volume": Scale("cc", "cc", 1),
        "mass": Scale("g", "g", 3),
        "air flow": Scale("cfm", "cfm", 0),
    },
    "si": {
        **_PLAIN,
        "torque": Scale("N*m", "N m", 0),
        "power": Scale("kW", "kW", 0),
        "mean pressure": Scale("bar", "bar", 2),
        "cylinder pressure": Scale("bar", "bar", 1),
        "duct pressure": Scale("bar", "bar", 2),
        "depression": Scale("kPa", "kPa", 2),
        "barometer": Scale("kPa", "kPa", 1),
        "temperature": Scale("degC", "°C", 0),
        "flow": Scale("kg/h", "kg/h", 0),
        "fuel flow": Scale("kg/h", "kg/h", 1),
        "valve flow": Scale("g/s", "g/s", 0),
        "consumption": Scale("g/kW/h", "g/kWh", 0),
        "volume": Scale("cc", "cm³", 0),
        "length": Scale("mm", "mm", 1),
        "velocity": Scale("m/s", "m/s", 1),
        "gas velocity": Scale("m/s", "m/s", 1),
        "road speed": Scale("km/h", "km/h", 1),
        "force": Scale("N", "N", 0),
        "spring rate": Scale("N/mm", "N/mm", 1),
        "small volume": Scale("cc", "cm³", 1),
        "mass": Scale("g", "g", 3),
        "air flow": Scale("L/s", "L/s", 1),
    },
}


def scale(field: str, system: System) -> Scale:
    """
    How a field of the performance is shown.

    Parameters
    ----------
    field : str
        Field of :class:`enginesim.performance.Performance`.
    system : {"us", "si"}
        Customary units of the United States, or metric ones.

    Returns
    -------
    Scale
        Unit, symbol and digits.

    Examples
    --------
    >>> scale("torque", "us").with_unit(400 * 1.3558179483)
    '400 lb-ft'
    """
    from enginesim.performance import Performance

    return SCALES[system][quantities(Performance)[field].kind]


def file_keys() -> tuple[tuple[str, str, str], ...]:
    """
    Keys of the files; SI or what is everywhere read beside it.

    Returns
    -------
    tuple of (str, str, str)
        Key, field of :class:`enginesim.performance.Performance`, and unit in the file.
    """
    from enginesim.performance import Performance

    known = quantities(Performance)
    return tuple(
        (meaning.in_files[0] or name, name, meaning.in_files[1]) for name, meaning in known.items()
    )


def file_value(value: float | int | str | bool, unit_name: str) -> float | int | str | bool | None:
    """
    A field as it stands in a file.

    Parameters
    ----------
    value : float, int, str or bool
        In SI. [-]
    unit_name : str
        Unit of the key; text, truth values and counts have none.

    Returns
    -------
    float, int, str, bool or None
        In the unit of the key; None for what is no finite number. [-]
    """
    if isinstance(value, str | bool | int):
        return value
    shown = unit(unit_name).from_si(value)
    return shown if isfinite(shown) else None
