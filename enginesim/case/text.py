"""Values of a case in the words and units of the trade."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from enginesim.base.units import BARE, SI_UNITS, shown

if TYPE_CHECKING:
    from enginesim.case.facts import Facts, Field


def described(spot: Field, value: Any, system: str = "us") -> str:
    """
    Value of a field for people to read.

    Parameters
    ----------
    spot : Field
        The field.
    value : object
        As the code sees it. [SI]
    system : str
        ``us`` or ``si``. [-]

    Returns
    -------
    str
        With its unit; lists with one unit at the end.

    Examples
    --------
    >>> from enginesim.case.facts import Facts, Field
    >>> described(Field("bore", "bore", "value", Facts("", "length", "in", "mm")), 0.1016)
    '4 in'
    """
    facts = spot.facts
    unit = (facts.us if system == "us" else facts.si) or BARE.get(facts.dimension, "")
    match spot.kind:
        case "value":
            return shown(value, unit)
        case "values":
            alike = facts.per_cylinder and len(set(value)) == 1
            return _list(value[:1] if alike else value, unit)
        case "pairs":
            return ", ".join(_pair(pair, facts, unit, system) for pair in value)
        case "integers":
            return "-".join(str(number) for number in value)
        case "groups":
            return " / ".join(" ".join(str(number) for number in group) for group in value)
        case "switch":
            return "true" if value else "false"
        case _:
            return str(value)


def in_si(spot: Field, value: Any) -> str:
    """
    Numbers of a field in SI as a case file would have them, to the last digit.

    Parameters
    ----------
    spot : Field
        A field of one number, of several or of pairs.
    value : object
        As the code sees it; numbers may come in any iterable. [SI]

    Returns
    -------
    str
        Text that is read as the same value again.

    Examples
    --------
    >>> from enginesim.case.facts import Facts, Field
    >>> in_si(Field("bore", "bore", "value", Facts("", "length", "in", "mm")), 0.1016)
    '0.1016 m'
    """
    facts = spot.facts
    unit = SI_UNITS[facts.dimension]
    if spot.kind == "pairs":
        texts = []
        for pair in value:
            at, number = pair if facts.at_first else (pair[1], pair[0])
            place = f"{float(at)!r} {SI_UNITS[facts.at_dimension]}"
            texts.append(f"{float(number)!r} {unit} @ {place}".rstrip())
        return ", ".join(texts)
    numbers = value if isinstance(value, Iterable) else (value,)
    bare = " ".join(repr(float(number)) for number in numbers)
    return f"{bare} {unit}".strip()


def plain(help_text: str) -> str:
    """
    Help of a field without its second half and its marks.

    Parameters
    ----------
    help_text : str
        From the field's facts. [-]

    Returns
    -------
    str
        A few words.
    """
    return help_text.split(";")[0].split(", as ``")[0].replace("``", "")


def _list(values: tuple[float, ...], unit: str) -> str:
    numbers = [shown(value, unit).removesuffix(unit).strip() for value in values]
    return f"{' '.join(numbers)} {unit}".strip()


def _pair(pair: tuple[float, float], facts: Facts, unit: str, system: str) -> str:
    at, value = pair if facts.at_first else (pair[1], pair[0])
    place = {"length": "in" if system == "us" else "mm"}.get(facts.at_dimension, "")
    return f"{shown(value, unit)} @ {shown(at, place)}"
