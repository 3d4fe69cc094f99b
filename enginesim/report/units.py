"""In which unit, with how many digits, is each number shown? The only conversion on the way out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isfinite
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

import numpy as np

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
        "air flow": Scale("L/s", "L/s", 1),
    },
}

#: Field of :class:`enginesim.performance.Performance`: the kind of quantity that it is.
KINDS: Final = {
    "rpm": "speed",
    "torque": "torque",
    "torque_indicated": "torque",
    "power": "power",
    "ve": "percent",
    "ve_plenum": "percent",
    "delivery_ratio": "percent",
    "imep_gross": "mean pressure",
    "imep_net": "mean pressure",
    "pmep": "mean pressure",
    "fmep": "mean pressure",
    "bmep": "mean pressure",
    "residual": "percent",
    "short_circuit": "percent",
    "lambda_overall": "number",
    "lambda_trapped": "number",
    "air_flow": "flow",
    "fuel_flow": "fuel flow",
    "bsfc": "consumption",
    "p_max": "cylinder pressure",
    "theta_p_max": "angle",
    "ca10": "angle",
    "ca50": "angle",
    "ca90": "angle",
    "spark": "angle",
    "knock_margin": "angle",
    "octane_margin": "octane",
    "egt": "temperature",
    "inlet_mach": "number",
    "piston_speed": "velocity",
    "manifold_depression": "depression",
    "displacement": "volume",
    "volume_full": "volume",
    "air_pressure": "barometer",
    "air_temperature": "temperature",
    "p_filled": "duct pressure",
    "p_port": "duct pressure",
    "p_port_closing": "duct pressure",
    "t_port": "temperature",
    "t_mixed": "temperature",
    "t_warmed": "temperature",
    "backflow": "percent",
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
    return SCALES[system][KINDS[field]]


#: Keys of the files, each with its field and unit; SI or what is everywhere read beside it.
FILE_KEYS: Final = (
    ("rpm", "rpm", "rpm"),
    ("torque_Nm", "torque", "N*m"),
    ("power_kW", "power", "kW"),
    ("torque_indicated_Nm", "torque_indicated", "N*m"),
    ("ve", "ve", ""),
    ("ve_plenum", "ve_plenum", ""),
    ("delivery_ratio", "delivery_ratio", ""),
    ("imep_bar", "imep_net", "bar"),
    ("imep_gross_bar", "imep_gross", "bar"),
    ("pmep_bar", "pmep", "bar"),
    ("fmep_bar", "fmep", "bar"),
    ("bmep_bar", "bmep", "bar"),
    ("imep_spread", "imep_spread", ""),
    ("air_spread", "air_spread", ""),
    ("air_trapped_g", "air_trapped", "g"),
    ("trapped_mass_g", "trapped_mass", "g"),
    ("residual", "residual", ""),
    ("short_circuit", "short_circuit", ""),
    ("lambda", "lambda_overall", ""),
    ("lambda_trapped", "lambda_trapped", ""),
    ("bsfc_g_kWh", "bsfc", "g/kW/h"),
    ("air_kg_h", "air_flow", "kg/h"),
    ("fuel_kg_h", "fuel_flow", "kg/h"),
    ("p_max_bar", "p_max", "bar"),
    ("theta_p_max_deg", "theta_p_max", "deg"),
    ("ca10_deg", "ca10", "deg"),
    ("ca50_deg", "ca50", "deg"),
    ("ca90_deg", "ca90", "deg"),
    ("spark_deg", "spark", "deg"),
    ("knock_margin_deg", "knock_margin", "deg"),
    ("knock_margin_octane", "octane_margin", ""),
    ("egt_K", "egt", "K"),
    ("inlet_mach", "inlet_mach", ""),
    ("piston_speed_m_s", "piston_speed", "m/s"),
    ("manifold_bar", "manifold_pressure", "bar"),
    ("manifold_depression_kPa", "manifold_depression", "kPa"),
    ("n_cylinders", "n_cylinders", ""),
    ("displacement_L", "displacement", "L"),
    ("air_bar", "air_pressure", "bar"),
    ("air_K", "air_temperature", "K"),
    ("air_density_kg_m3", "air_density", "kg/m3"),
    ("volume_full_cc", "volume_full", "cc"),
    ("mass_filled_g", "mass_filled", "g"),
    ("r_filled_J_kg_K", "r_filled", "J/kg/K"),
    ("p_filled_bar", "p_filled", "bar"),
    ("backflow", "backflow", ""),
    ("p_port_bar", "p_port", "bar"),
    ("p_port_closing_bar", "p_port_closing", "bar"),
    ("t_port_K", "t_port", "K"),
    ("t_mixed_K", "t_mixed", "K"),
    ("t_warmed_K", "t_warmed", "K"),
    ("released_heat_J", "released_heat", "J"),
    ("wall_heat_J", "wall_heat", "J"),
    ("heat_brake", "heat_brake", ""),
    ("heat_friction", "heat_friction", ""),
    ("heat_walls", "heat_walls", ""),
    ("heat_incomplete", "heat_incomplete", ""),
    ("heat_exhaust", "heat_exhaust", ""),
    ("converged", "converged", ""),
    ("status", "status", ""),
    ("cycles", "cycles", ""),
    ("mass_error", "mass_error", ""),
    ("energy_error", "energy_error", ""),
    ("imbalance", "imbalance", ""),
    ("work_error", "work_error", ""),
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
