"""From numbers with units to SI, with a useful word when that is not possible."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from enginesim.base.characters import excerpt, quoted
from enginesim.base.readings import Reading, read, spread_in_si
from enginesim.base.units import BARE, DIMENSIONS, UnitError, dimension_name, shown, unit
from enginesim.case.guesses import advice, advice_after, fitting

if TYPE_CHECKING:
    from enginesim.case.facts import Facts

#: Typed or assumed standard deviation of a field: one number, or one for each of a list. [SI]
Band: TypeAlias = float | tuple[float, ...]

# A ratio as the trade writes it, 10:1.
_TO_ONE: Final = re.compile(r"(?<=[\d.])\s*:\s*1(?:\.0*)?(?![\d.:])")

PAIR_EXAMPLE = {"length": '"90 deg @ 3 in"', "ratio": '"2.0 in @ 0, 1.8 in @ 1"'}


class Unfit(ValueError):
    """
    A value that cannot be used.

    Parameters
    ----------
    found, allowed, hint : str
        As in `base.errors.Problem`.
    """

    def __init__(self, found: str, allowed: str, hint: str = "") -> None:
        super().__init__(found)
        self.found, self.allowed, self.hint = found, allowed, hint


@dataclass(frozen=True, slots=True)
class Converted:
    """
    A value as the code sees it.

    Attributes
    ----------
    value : object
        SI number, text, tuple: what the field's kind says.
    at : Reading or None
        What was written after ``@`` for a sibling field.
    sigma : float, tuple of float or None
        Typed band; of a list, one for each number, zero where none was typed. [SI]
    """

    value: Any
    at: Reading | None = None
    sigma: Band | None = None


def a(noun: str) -> str:
    """
    Noun with its article.

    Parameters
    ----------
    noun : str
        Such as the name of a dimension. [-]

    Returns
    -------
    str
        Such as ``an angle``.
    """
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


@lru_cache(maxsize=512)
def bounds(facts: Facts) -> tuple[float, float]:
    """
    Allowed range of a field.

    Parameters
    ----------
    facts : Facts
        Of the field.

    Returns
    -------
    tuple of float
        Lowest and highest value. [SI]
    """

    def limit(text: str | None, otherwise: float) -> float:
        return otherwise if text is None else _in_si(read(text), facts)[0]

    return limit(facts.low, -math.inf), limit(facts.high, math.inf)


def _in_si(reading: Reading, facts: Facts, dimension: str = "") -> tuple[float, ...]:
    """Numbers of a reading in SI; no range check."""
    dimension = dimension or facts.dimension
    name = reading.unit_text or BARE.get(dimension, "")
    if not reading.unit_text and dimension not in BARE:
        raise _unitless(reading.numbers[0], facts, dimension)
    own = unit(name)
    if own.exponents != DIMENSIONS[dimension]:
        raise Unfit(
            f"{reading.numbers[0]:g} {name}, {a(dimension_name(own.exponents))}",
            a(dimension) + (f", in {_usual(facts)}" if facts.us else ""),
            f'write "{reading.numbers[0]:g} lbf" if pounds of load are meant'
            if dimension == "force" and own.exponents == DIMENSIONS["mass"]
            else "",
        )
    return tuple(own.to_si(number) for number in reading.numbers)


def _usual(facts: Facts) -> str:
    """Usual units of a field, between quotes: an inch is also a word."""
    return " or ".join(f'"{name}"' for name in dict.fromkeys((facts.us, facts.si)) if name)


def _unitless(number: float, facts: Facts, dimension: str) -> Unfit:
    likely = _fitting(number, facts, dimension) or [facts.us]
    hint = advice([f"{number:g} {name}" for name in likely])
    return Unfit(f"{number:g} without a unit", f"{a(dimension)} with its unit, in quotes", hint)


def _fitting(number: float, facts: Facts, dimension: str) -> list[str]:
    """Units in which the number would lie in the range."""
    if dimension != facts.dimension:
        return []
    usual = [name for name in (facts.us, facts.si) if name]
    return fitting(number, dimension, usual, *bounds(facts))


def _within(value: float, written: str, number: float, name: str, facts: Facts) -> float:
    low, high = bounds(facts)
    slack = 1e-12 * max(abs(value), 1e-30)
    if low - slack <= value <= high + slack:
        return value
    found = written.strip()
    if facts.dimension in ("length", "area", "volume", "pressure", "temperature", "volume flow"):
        other = facts.si if name == facts.us else facts.us
        if other and other != name:
            found += f" ({shown(value, other)})"
    return _raise_far_off(found, number, name, facts)


def _raise_far_off(found: str, number: float, name: str, facts: Facts) -> float:
    low, high = bounds(facts)
    guesses = []
    own = unit(name)
    # A plain number that is too large was most likely meant in per cent; nobody slips by 1000.
    # What is too small is not told by its digits what it should be.
    for shift in (100, 10) if facts.dimension == "ratio" else (10, 100, 1000, 0.1, 0.01):
        if low <= own.to_si(number / shift) <= high:
            guesses.append(f"{number / shift:.6g} {name}".strip())
            break
    guesses += [f"{number:g} {n}" for n in _fitting(number, facts, facts.dimension) if n != name][
        :2
    ]
    hint = f"did you mean {' or '.join(guesses)}?" if guesses else ""
    raise Unfit(found, range_text(facts).removeprefix(", ") or "another value", hint)


def _reading(given: Any, facts: Facts, dimension: str = "") -> Reading:
    """What was given, as a reading, whatever TOML type it has."""
    if isinstance(given, bool) or not isinstance(given, int | float | str):
        raise Unfit(excerpt(given), f"{a(dimension or facts.dimension)} as a number or a text")
    if isinstance(given, str):
        is_ratio = (dimension or facts.dimension) == "ratio"
        try:
            reading = read(_TO_ONE.sub("", given) if is_ratio else given)
            unit(reading.unit_text)
        except UnitError as error:
            usual = f", such as {_usual(facts)}" if facts.us or facts.si else ""
            raise Unfit(quoted(given), f"a number and a unit{usual}", str(error)) from None
        return reading
    if abs(given) > 1e300 or given != given:  # not math.isfinite: an integer may be too large
        raise Unfit(excerpt(given), "a finite number")
    return Reading((float(given),), "")


def value(facts: Facts, given: Any) -> Converted:
    """
    One number with its unit.

    Parameters
    ----------
    facts : Facts
        Of the field.
    given : object
        As it stands in the file.

    Returns
    -------
    Converted
        Within the range. [SI]

    Raises
    ------
    Unfit
        If it is not that.
    """
    reading = _reading(given, facts)
    if len(reading.numbers) != 1:
        raise Unfit(quoted(given), "one value", f"{len(reading.numbers)} numbers stand here")
    value = _in_si(reading, facts)[0]
    name = reading.unit_text or BARE.get(facts.dimension, "")
    _within(value, excerpt(given), reading.numbers[0], name, facts)
    if reading.at is not None and not facts.at:
        raise Unfit(quoted(given), "a plain value", "nothing may follow @ here")
    return Converted(value, reading.at, _sigma(reading, reading.numbers[0], name, given, facts))


def _sigma(reading: Reading, number: float, name: str, given: Any, facts: Facts) -> float | None:
    try:
        sigma = spread_in_si(reading, number, name)
    except UnitError as error:
        raise Unfit(quoted(given), "a band in the unit of the value, or in %", str(error)) from None
    low, high = bounds(facts)
    # One standard deviation beyond half the range says less than the range itself.
    if sigma is not None and sigma > 0.5 * (high - low):
        allowed = f"a band of at most half the range{range_text(facts)}"
        raise Unfit(quoted(given), allowed, "the number after +- is one standard deviation")
    return sigma


def _sigmas(found: list[float | None]) -> tuple[float, ...] | None:
    """Bands of a list; None where none was typed."""
    if all(sigma is None for sigma in found):
        return None
    return tuple(sigma or 0.0 for sigma in found)


def values(facts: Facts, given: Any) -> Converted:
    """
    Several numbers, as a list or in one text.

    Parameters
    ----------
    facts : Facts
        Of the field.
    given : object
        As it stands in the file.

    Returns
    -------
    Converted
        A tuple, each within the range. [SI]

    Raises
    ------
    Unfit
        If it is not that.
    """
    items = given if isinstance(given, list) else [given]
    values: list[float] = []
    at, sigmas = None, list[float | None]()
    for item in items:
        reading = _reading(item, facts)
        name = reading.unit_text or BARE.get(facts.dimension, "")
        in_si = _in_si(reading, facts)
        for value, number in zip(in_si, reading.numbers, strict=True):
            _within(value, f"{number:g} {name}".strip(), number, name, facts)
        values += in_si
        at = reading.at or at
        sigmas += [_sigma(reading, number, name, item, facts) for number in reading.numbers]
    if not values:
        raise Unfit("an empty list", "at least one value")
    if at is not None and not facts.at:
        raise Unfit(quoted(given), "plain values", "nothing may follow @ here")
    return Converted(tuple(values), at, _sigmas(sigmas))


def pairs(facts: Facts, given: Any) -> Converted:
    """
    Pairs such as ``214 deg @ 0.050 in``.

    Parameters
    ----------
    facts : Facts
        Of the field.
    given : object
        As it stands in the file.

    Returns
    -------
    Converted
        Pairs in the order that the field says, with bands of what stands before the ``@``. [SI]

    Raises
    ------
    Unfit
        If it is not that.
    """
    items = given if isinstance(given, list) else str(given).split(",")
    if isinstance(given, bool | int | float | dict):
        items = [given]
    pairs, sigmas = [], list[float | None]()
    for item in items:
        if isinstance(item, str) and not item.strip():
            continue
        reading = _reading(item, facts)
        if reading.at is None or len(reading.numbers) != 1 or len(reading.at.numbers) != 1:
            example = PAIR_EXAMPLE.get(facts.at_dimension, "")
            if facts.at_first and facts.at_dimension == "length":
                example = '"214 deg @ 0.050 in"'
            raise Unfit(
                quoted(item), f"pairs with @, such as {example}", facts.help.replace("``", "")
            )
        value = _in_si(reading, facts)[0]
        name = reading.unit_text or BARE.get(facts.dimension, "")
        _within(value, f"{reading.numbers[0]:g} {name}", reading.numbers[0], name, facts)
        if not reading.at.unit_text and facts.at_dimension not in BARE:
            number = reading.at.numbers[0]
            raise Unfit(
                f"{number:g} without a unit after @",
                f"{a(facts.at_dimension)} with its unit",
                advice_after(str(item), number, is_height=facts.at_first),
            )
        try:
            at = _in_si(reading.at, facts, facts.at_dimension)[0]
        except UnitError as error:
            raise Unfit(quoted(item), f"{a(facts.at_dimension)} after @", str(error)) from None
        if reading.at.band is not None:
            allowed = "a band of the value before the @, such as 214 deg +- 1 @ 0.050 in"
            raise Unfit(quoted(item), allowed, "what stands after the @ is taken as exact")
        pairs.append((at, value) if facts.at_first else (value, at))
        sigmas.append(_sigma(reading, reading.numbers[0], name, item, facts))
    return Converted(tuple(pairs), sigma=_sigmas(sigmas))


def range_text(facts: Facts) -> str:
    """
    Allowed range in words.

    Parameters
    ----------
    facts : Facts
        Of the field.

    Returns
    -------
    str
        Such as ``, 20 mm to 300 mm``; empty without a range.
    """
    if facts.low is None or facts.high is None:
        return ""
    return f", {facts.low} to {facts.high}"


def sibling_value(facts: Facts, reading: Reading, given: Any) -> Converted:
    """
    Value after ``@``, for the field that it belongs to, with its band.

    Parameters
    ----------
    facts : Facts
        Of that field.
    reading : Reading
        What stands after ``@``.
    given : object
        The whole, as it stands in the file.

    Returns
    -------
    Converted
        Within its range. [SI]

    Raises
    ------
    Unfit
        As `convert`.
    """
    if len(reading.numbers) != 1:
        raise Unfit("several numbers after @", "one value")
    written = f"{reading.numbers[0]:g} {reading.unit_text}".strip()
    try:
        value = _in_si(reading, facts)[0]
        _within(value, written, reading.numbers[0], reading.unit_text, facts)
        name = reading.unit_text or BARE.get(facts.dimension, "")
        return Converted(value, sigma=_sigma(reading, reading.numbers[0], name, given, facts))
    except UnitError as error:
        raise Unfit(f"{written} after @", a(facts.dimension), str(error)) from None
    except Unfit as error:
        hint = error.hint
        if not reading.unit_text and isinstance(given, str):
            likely = _fitting(reading.numbers[0], facts, facts.dimension) or [facts.us]
            hint = advice([f"{given.strip()} {name}" for name in likely])
        raise Unfit(f"{error.found} after @", error.allowed, hint) from None
