"""What may a variable of a study be: a span of numbers, some numbers, or some words?"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from enginesim.base.characters import excerpt, quoted
from enginesim.base.numerals import doubt
from enginesim.base.readings import read
from enginesim.base.units import UnitError, unit
from enginesim.case.quantities import Unfit

if TYPE_CHECKING:
    from collections.abc import Sequence

#: No more values than this for one variable.
MOST: Final = 1000
#: Numbers are kept to this many digits, so that 0.1 + 0.2 is 0.3.
DIGITS: Final = 12

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_RANGE = re.compile(rf"\s*({_NUMBER})\s*:\s*({_NUMBER})\s*(?::\s*({_NUMBER})\s*)?([^\d:\s].*)?")
_DASHED = re.compile(rf"({_NUMBER})(?:-|\s+-\s+|\s*\.\.\s*|\s+to\s+)({_NUMBER})\s*([^\d\s].*)?")
ALLOWED: Final = (
    'first:last:step with its unit ("8:20:1 in"), first:last for anything between, '
    'or a list ("8, 10, 12 in", ["a.toml", "b.toml"])'
)


def rounded(value: float) -> float:
    """
    Number without the noise of its last digits.

    Parameters
    ----------
    value : float
        Any. [any]

    Returns
    -------
    float
        The same to twelve digits. [any]
    """
    return float(f"{value:.{DIGITS}g}")


def number_text(value: float, unit_text: str) -> str:
    """
    Number as a case file would have it.

    Parameters
    ----------
    value : float
        In the unit. [any]
    unit_text : str
        The unit; empty for none.

    Returns
    -------
    str
        Such as ``8.5 in``.
    """
    return f"{value:.{DIGITS}g} {unit_text}".rstrip()


def with_at(text: str, at: str) -> str:
    """
    Text of a number with what stands after its ``@``.

    Parameters
    ----------
    text, at : str
        Such as ``214 deg`` and ``0.050 in``; the latter may be empty.

    Returns
    -------
    str
        Such as ``214 deg @ 0.050 in``.
    """
    return f"{text} @ {at}" if at else text


@dataclass(frozen=True, slots=True)
class Amount:
    """
    One number with its unit.

    Attributes
    ----------
    number : float
        In the unit.
    unit : str
        As it was written; empty for a plain number.
    """

    number: float
    unit: str = ""

    @property
    def text(self) -> str:
        """As it is written in a study file."""
        return number_text(self.number, self.unit)

    @property
    def si(self) -> float:
        """The number in SI. [SI]."""
        return unit(self.unit).to_si(self.number)

    @property
    def difference(self) -> float:
        """The number in SI as a difference: no offset of a temperature scale. [SI]."""
        return unit(self.unit).factor * self.number


@dataclass(frozen=True, slots=True)
class Span:
    """
    Any number between two.

    Attributes
    ----------
    low, high : float
        Ends, in the unit.
    unit : str
        As it was written; empty for a plain number.
    at : str
        What stands after ``@`` of each; empty for none.
    """

    low: float
    high: float
    unit: str = ""
    at: str = ""

    @property
    def text(self) -> str:
        """As it is written in a study file."""
        ends = f"{self.low:.{DIGITS}g}:{self.high:.{DIGITS}g}"
        return with_at(f"{ends} {self.unit}".rstrip(), self.at)

    def of_share(self, share: float) -> float:
        """Value at a share of the way from low to high, 0 to 1; to four digits of the way."""
        return rounded(self.low + (self.high - self.low) * round(share, 4))

    def share(self, value: float) -> float:
        """How far along the way a value lies, 0 to 1."""
        return (value - self.low) / (self.high - self.low)


@dataclass(frozen=True, slots=True)
class Steps:
    """
    One of some numbers.

    Attributes
    ----------
    numbers : tuple of float
        In the unit, as they were given.
    unit : str
        As it was written; empty for a plain number.
    at : str
        What stands after ``@`` of each; empty for none.
    """

    numbers: tuple[float, ...]
    unit: str = ""
    at: str = ""

    @property
    def text(self) -> str:
        """As it is written in a study file."""
        listed = ", ".join(f"{n:.{DIGITS}g}" for n in self.numbers)
        return with_at(f"{listed} {self.unit}".rstrip(), self.at)

    @property
    def items(self) -> tuple[float, ...]:
        """The values, in order."""
        return self.numbers


@dataclass(frozen=True, slots=True)
class Words:
    """
    One of some words: part files, choices, or values that are no single number.

    Attributes
    ----------
    items : tuple of str
        As they were given.
    """

    items: tuple[str, ...]
    unit: str = ""
    at: str = ""


Values: TypeAlias = Span | Steps | Words


def parse(given: Any, *, is_numeric: bool, is_paired: bool = False) -> Values:
    """
    Values of a variable from what was written.

    Parameters
    ----------
    given : object
        A text, a number or a list of them.
    is_numeric : bool
        Whether a single number can stand in the field.
    is_paired : bool
        Whether a number with an ``@`` behind it can: durations at one height are numbers too.

    Returns
    -------
    Values
        Not yet compared with the range of the field.

    Raises
    ------
    Unfit
        If it cannot be understood.

    Examples
    --------
    >>> parse("8:10:0.5 in", is_numeric=True)
    Steps(numbers=(8.0, 8.5, 9.0, 9.5, 10.0), unit='in', at='')
    >>> parse("220:240:10 @ 0.050 in", is_numeric=False, is_paired=True).text
    '220, 230, 240 @ 0.050 in'
    >>> parse("cam-a.toml, cam-b.toml", is_numeric=False).items
    ('cam-a.toml', 'cam-b.toml')
    """
    if is_paired and isinstance(given, str) and given.count("@") == 1:
        head, _, at = (part.strip() for part in given.partition("@"))
        found = parse(head, is_numeric=True)
        if not isinstance(found, Words):
            return replace(found, at=at)
    if isinstance(given, bool) or not isinstance(given, str | int | float | list):
        raise Unfit(excerpt(given), ALLOWED)
    if isinstance(given, list):
        return _listed(given, is_numeric)
    if not isinstance(given, str):
        return _listed([given], is_numeric)
    if is_numeric and doubt(given):
        raise Unfit(quoted(given), ALLOWED, doubt(given))
    if is_numeric and ":" in given:
        return _ranged(given)
    if is_numeric:
        numbers = _numbers(given)
        if numbers is not None:
            return _steps(numbers.numbers, numbers.unit, given)
    dashed = _DASHED.fullmatch(given.strip())
    if dashed is not None:
        range_text = f"{dashed[1]}:{dashed[2]} {dashed[3] or ''}".rstrip()
        raise Unfit(quoted(given), ALLOWED, f'did you mean "{range_text}"?')
    words = [word.strip() for word in given.split(",")]
    return _words(words, given)


def _ranged(text: str) -> Values:
    match = _RANGE.fullmatch(text)
    if match is None:
        raise Unfit(quoted(text), ALLOWED)
    low, high = float(match[1]), float(match[2])
    unit_text = (match[4] or "").strip()
    _check_unit(unit_text, text)
    if not (math.isfinite(low) and math.isfinite(high)):
        raise Unfit(quoted(text), "finite numbers")
    if low >= high:
        raise Unfit(quoted(text), ALLOWED, "the last value must be above the first")
    if match[3] is None:
        return Span(rounded(low), rounded(high), unit_text)
    step = float(match[3])
    if step <= 0.0:
        raise Unfit(quoted(text), ALLOWED, "the step must be above 0")
    n = math.ceil((high - low) / step - 1e-9)
    if n >= MOST:
        raise Unfit(quoted(text), f"at most {MOST} values", "take a larger step")
    numbers = [rounded(low + i * step) for i in range(n)]
    return Steps((*numbers, rounded(high)), unit_text)


def _numbers(text: str) -> Steps | None:
    """Numbers with one unit at the end, or None where words stand."""
    try:
        reading = read(text)
        unit(reading.unit_text)
    except UnitError:
        return None
    if reading.at is not None or reading.band is not None:
        return None
    return Steps(reading.numbers, reading.unit_text)


def _listed(items: list[Any], is_numeric: bool) -> Values:
    if not items:
        raise Unfit("an empty list", ALLOWED)
    if len(items) > MOST:
        raise Unfit(f"{len(items)} values", f"at most {MOST} values")
    if is_numeric:
        readings = [_numbers(str(item)) for item in items if not isinstance(item, bool | list)]
        found = [reading for reading in readings if reading is not None]
        is_alike = len({reading.unit for reading in found}) == 1
        if len(found) == len(items) and is_alike and all(len(r.numbers) == 1 for r in found):
            return _steps([reading.numbers[0] for reading in found], found[0].unit, items)
    return _words([_word(item) for item in items], items)


def _word(item: Any) -> str:
    if isinstance(item, bool):
        return "true" if item else "false"
    if not isinstance(item, str | int | float):
        raise Unfit(excerpt(item), "texts or numbers in the list")
    return str(item)


def _steps(numbers: Sequence[float], unit_text: str, given: Any) -> Steps:
    if any(abs(number) > 1e300 for number in numbers):
        raise Unfit(excerpt(given), "finite numbers")
    values = tuple(rounded(number) for number in numbers)
    if len(set(values)) < len(values):
        raise Unfit(excerpt(given), "each value once")
    return Steps(values, unit_text)


def _words(words: list[str], given: Any) -> Words:
    if not all(words):
        raise Unfit(excerpt(given), ALLOWED, "one of the values is empty")
    if len(set(words)) < len(words):
        raise Unfit(excerpt(given), "each value once")
    return Words(tuple(words))


def _check_unit(unit_text: str, text: str) -> None:
    try:
        unit(unit_text)
    except UnitError as error:
        raise Unfit(quoted(text), ALLOWED, str(error)) from None
