"""By which factor does a standard bring torque and power to its reference air?

The relations are those of checks that were read in the sources named with each; what is from
memory says so. All hold for engines without boost at full throttle.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING, Final

from enginesim.base.constants import P_J1349, T_ICE, T_J1349
from enginesim.base.errors import ResultError
from enginesim.base.humidity import saturation_pressure
from enginesim.base.names import nearest

if TYPE_CHECKING:
    from enginesim.case import Case

_INCH_OF_MERCURY = 3386.389  # conventional, at 0 degC [Pa]
_P_J607 = 29.92 * _INCH_OF_MERCURY
_T_J607 = 519.67 / 1.8  # 60 degF [K]
_P_DIN, _T_DIN = 101.3e3, T_ICE + 20.0


@dataclass(frozen=True, slots=True)
class Air:
    """
    Air that an engine breathes.

    Attributes
    ----------
    p : float
        Barometer, vapour included. [Pa]
    p_vapour : float
        Partial pressure of its water. [Pa]
    t : float
        Temperature at the inlet. [K]
    """

    p: float
    p_vapour: float
    t: float

    @property
    def p_dry(self) -> float:
        """Barometer less vapour. [Pa]."""
        return self.p - self.p_vapour


@dataclass(frozen=True, slots=True)
class Standard:
    """
    One way to correct.

    Attributes
    ----------
    name : str
        As it is asked for.
    title : str
        As it is printed.
    reference : str
        Air at which the factor is one.
    relation : callable
        Factor from the air.
    factors : tuple of float or None
        Least and greatest factor for which the standard is meant. [-]
    temperatures : tuple of float or None
        Least and greatest inlet temperature for which it is meant. [K]
    pressures : tuple of float or None
        Least and greatest dry pressure for which it is meant. [Pa]
    """

    name: str
    title: str
    reference: str
    relation: Callable[[Air], float]
    factors: tuple[float, float] | None = None
    temperatures: tuple[float, float] | None = None
    pressures: tuple[float, float] | None = None


def _j1349(air: Air) -> float:
    return 1.180 * (P_J1349 / air.p_dry) * sqrt(air.t / T_J1349) - 0.180


def _j607(air: Air) -> float:
    return _P_J607 / air.p_dry * sqrt(air.t / _T_J607)


def _iso_1585(air: Air) -> float:
    return float((P_J1349 / air.p_dry) ** 1.2 * (air.t / T_J1349) ** 0.6)


def _din_70020(air: Air) -> float:
    return _P_DIN / air.p * sqrt(air.t / _T_DIN)


#: Standards by the name under which they are asked for.
STANDARDS: Final = {
    standard.name: standard
    for standard in (
        Standard("none", "no correction", "the air of the case", lambda _: 1.0),
        # Form of June 1990, read in two quotations of the standard; its limits from memory.
        Standard(
            "J1349",
            "SAE J1349",
            "99 kPa (29.23 inHg) dry, 77 °F (25 °C)",
            _j1349,
            factors=(0.93, 1.07),
            temperatures=(288.15, 308.15),
            pressures=(90e3, 105e3),
        ),
        # Exponents and limits from memory; reference air read in a handbook's quotation.
        Standard(
            "ISO1585",
            "ISO 1585",
            "99 kPa dry, 25 °C",
            _iso_1585,
            factors=(0.93, 1.07),
            temperatures=(288.15, 308.15),
            pressures=(80e3, 110e3),
        ),
        # Read in a public discussion of the standards; total pressure. No limits known to us.
        Standard("DIN70020", "DIN 70020", "101.3 kPa, humid, 20 °C", _din_70020),
        # Read in two sources, with two published examples. No limits known to us.
        Standard("J607", "SAE J607", "29.92 inHg dry, 60 °F", _j607),
    )
}


def standard(name: str) -> Standard:
    """
    Standard of a name, whatever the case of its letters.

    Parameters
    ----------
    name : str
        Such as ``J1349`` or ``none``.

    Returns
    -------
    Standard
        One of `STANDARDS`.

    Raises
    ------
    ResultError
        If there is none of that name.
    """
    plain = name.strip().lower()
    for known, found in STANDARDS.items():
        if known.lower() == plain:
            return found
    near = nearest(name, STANDARDS)
    hint = f"did you mean {near!r}?" if near else f"there are {', '.join(STANDARDS)}"
    raise ResultError(f"correction: found no {name!r} ({hint})")


def air_of(case: Case) -> Air:
    """
    Air of a case.

    Parameters
    ----------
    case : Case
        The engine on its day.

    Returns
    -------
    Air
        Its barometer, vapour and temperature.

    Raises
    ------
    GasError
        If the temperature is outside the range of the vapour's formula.
    """
    air = case.air
    vapour = air.humidity * saturation_pressure(air.pressure, air.temperature)
    return Air(air.pressure, vapour, air.temperature)


def factor(name: str, air: Air) -> float:
    """
    Factor on torque and power.

    Parameters
    ----------
    name : str
        Key of `STANDARDS`.
    air : Air
        Air in which the torque was found.

    Returns
    -------
    float
        Corrected over found. [-]

    Raises
    ------
    ResultError
        If there is no such standard.

    Notes
    -----
    SAE J1349: ``1.18 (99 kPa / p_dry) sqrt(T / 298.15 K) - 0.18``, a mechanical efficiency of
    0.85; ISO 1585: ``(99 kPa / p_dry)^1.2 (T / 298.15 K)^0.6``; DIN 70020:
    ``(101.3 kPa / p) sqrt(T / 293.15 K)``; SAE J607: ``(29.92 inHg / p_dry) sqrt(T / 60 degF)``.

    Examples
    --------
    A warm, damp day:

    >>> print(f"{factor('J1349', Air(98e3, 2547.0, 303.15)):.4f}")
    1.0541
    """
    return standard(name).relation(air)


def doubts(name: str, air: Air) -> tuple[str, ...]:
    """
    What of an air lies outside a standard's limits.

    Parameters
    ----------
    name : str
        Key of `STANDARDS`.
    air : Air
        Air in which the torque was found.

    Returns
    -------
    tuple of str
        A sentence for each; none where all is inside, or no limit is known.

    Raises
    ------
    ResultError
        If there is no such standard.
    """
    meant = standard(name)
    value = meant.relation(air)
    checks = (
        ("factor", value, meant.factors, 1.0, 0.0, "", 4),
        ("inlet temperature", air.t, meant.temperatures, 1.0, T_ICE, " °C", 1),
        ("dry pressure", air.p_dry, meant.pressures, 1e-3, 0.0, " kPa", 1),
    )
    found = []
    for what, number, limits, scale, offset, unit, digits in checks:
        if limits is None or limits[0] <= number <= limits[1]:
            continue
        shown, low, high = ((x - offset) * scale for x in (number, *limits))
        found.append(
            f"{meant.title}: {what} {shown:.{digits}f}{unit} is outside the"
            f" {low:g} to {high:g}{unit} for which the standard is meant"
        )
    return tuple(found)
