"""Which numbers, unit, band and reference stand in a text such as ``0.480 in +- 0.005``?"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from enginesim.base.characters import quoted
from enginesim.base.numerals import doubt
from enginesim.base.units import UnitError, unit


@dataclass(frozen=True, slots=True)
class Reading:
    """
    Numbers with a unit, as read from a text.

    Attributes
    ----------
    numbers : tuple of float
        As written.
    unit_text : str
        As written; empty when there was none.
    band : float or None
        Half width typed after ``+-``, in the same unit (a part of the value if `relative`).
    band_unit : str
        Unit written after the band; empty for that of the numbers.
    at : Reading or None
        What was written after ``@``.
    """

    numbers: tuple[float, ...]
    unit_text: str
    band: float | None = None
    band_unit: str = ""
    at: Reading | None = None


_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_FRACTION = re.compile(r"(?<![\d./])(?:(\d+)(?:\s+|-))?(\d+)/([1-9]\d*)(?![\d./])")
_LIST = re.compile(rf"\s*({_NUMBER}(?:\s*,\s*{_NUMBER}|\s+{_NUMBER})*)\s*")
_BAND = re.compile(r"(?:\+-|\+/-|±)\s*((?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*)$")


def read(text: str) -> Reading:
    """
    Take apart ``"0.1 0.2 in"``, ``"0.480 in +- 0.005"`` or ``"650 cfm @ 1.5 inHg"``.

    Parameters
    ----------
    text : str
        Numbers parted by spaces or commas, a unit, and after them, if wanted, a band
        (``+-``) and a reference (``@``). Fractions as on a ruler: ``3/8 in``, ``1-3/4 in`` and
        ``1 3/4 in``.

    Returns
    -------
    Reading
        What stands there; the units are not looked up yet.

    Raises
    ------
    UnitError
        If there is no number, or something after it that cannot be understood.

    Examples
    --------
    >>> read("650 cfm @ 1.5 inHg").at.numbers
    (1.5,)
    >>> read("1-3/4 in").numbers
    (1.75,)
    """
    why = doubt(text)
    if why:
        raise UnitError(why)
    head, mark, tail = text.partition("@")
    if "@" in tail:
        raise UnitError(f"{quoted(text.strip())} has more than one @")
    head = _FRACTION.sub(_decimal, head)
    at = read(tail) if mark else None
    match = _LIST.match(head)
    if match is None:
        raise UnitError(f"{quoted(text.strip())} does not begin with a number")
    numbers = tuple(float(word) for word in re.findall(_NUMBER, match.group(1)))
    rest = head[match.end() :].strip()
    if not all(math.isfinite(number) for number in numbers):
        raise UnitError(f"{quoted(text.strip())} is too large a number")
    band, band_unit = None, ""
    split = re.search(r"\+-|\+/-|±", rest)
    if split:
        band_match = _BAND.match(rest[split.start() :])
        if band_match is None:
            raise UnitError(f"{quoted(text.strip())} has no number after {split.group()!r}")
        band, band_unit = float(band_match.group(1)), band_match.group(2).strip()
        if not math.isfinite(band):
            raise UnitError(f"{quoted(text.strip())} has too large a band")
        rest = rest[: split.start()].strip()
    return Reading(numbers, rest, band, band_unit, at)


def _decimal(fraction: re.Match[str]) -> str:
    whole, part, of = (int(number or 0) for number in fraction.groups())
    return repr(whole + part / of)


def spread_in_si(reading: Reading, number: float, unit_text: str = "") -> float | None:
    """
    Typed band of a reading, 1 sigma.

    Parameters
    ----------
    reading : Reading
        From `read`.
    number : float
        The value as written, for bands in per cent. [any]
    unit_text : str
        Unit of a value that has none written: of a bare angle, degrees.

    Returns
    -------
    float or None
        Band in SI without any offset, or None if none was typed. [SI]

    Raises
    ------
    UnitError
        If the band's unit is unknown or of another dimension.
    """
    if reading.band is None:
        return None
    own_text = reading.unit_text or unit_text
    own = unit(own_text)
    if reading.band_unit == "%" and own_text != "%":
        return abs(reading.band * 0.01 * number * own.factor)
    other = unit(reading.band_unit) if reading.band_unit else own
    if other.exponents != own.exponents:
        raise UnitError(
            f"the band is in {quoted(reading.band_unit)}, the value in {quoted(own_text)}"
        )
    return reading.band * other.factor


def unquoted(text: str) -> str:
    """
    Text without one pair of quotes around it.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    str
        What stands between the quotes; the text itself, less spaces, if there is no such pair.

    Examples
    --------
    >>> unquoted('"3-1/2 in"')
    '3-1/2 in'
    """
    text = text.strip()
    is_quoted = len(text) > 1 and text[0] == text[-1] and text[0] in "\"'"
    return text[1:-1].strip() if is_quoted else text
