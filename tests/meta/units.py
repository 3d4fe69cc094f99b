"""Is what stands in brackets at the end of a description a unit, and one we use?"""

from __future__ import annotations

import re

# SI is all that the inside knows; rpm is how every reader of a curve counts engine speed.
SI = frozenset({"m", "kg", "s", "K", "mol", "rad", "Pa", "J", "W", "N", "Hz", "rpm"})
# What people read and write; allowed where the two conversions happen and nowhere else.
TRADE = frozenset(
    {"mm", "cm", "in", "ft", "cc", "L", "deg", "degC", "degF", "ms", "min", "h", "g", "lbf"}
    | {"bar", "kPa", "psi", "inHg", "inH2O", "kW", "hp", "Nm", "cfm", "%"}
)
# Where the dimension is another argument's matter: a number in SI, or in whatever unit is named.
GENERIC = frozenset({"SI", "any"})
EDGES = frozenset({"case", "report", "cli"})

_POWER = re.compile(r"([A-Za-z0-9%]*[A-Za-z%])(-?\d)?")
# Not units: a citation's number, an interval, an index, prose.
_BRACKET = re.compile(r"(?<![\w\])`])\[([^\[\]`]+)\](?!_|\()")


def bracketed(text: str) -> list[str]:
    """All that stands in square brackets and is meant as a unit."""
    found = (match.group(1).strip() for match in _BRACKET.finditer(text))
    return [unit for unit in found if not re.fullmatch(r"\d+|.*(,|\.\.|:).*", unit)]


def is_unit(text: str, known: frozenset[str]) -> bool:
    """
    Whether `text` is a product of known units, at most one bar: ``W/(m2 K)``, ``1/s``, ``-``.

    A digit at the end of a unit is its power.
    """
    if text == "-" or text in GENERIC:
        return True
    above, bar, below = text.partition("/")
    if bar:
        below = below[1:-1] if below.startswith("(") and below.endswith(")") else below
        if " " in below and "(" not in text:
            return False  # `J/kg K` reads two ways
        if not below or not _is_product(below, known):
            return False
    return above == "1" if bar and above == "1" else _is_product(above, known)


def _is_product(text: str, known: frozenset[str]) -> bool:
    words = text.split(" ")
    for word in words:
        match = _POWER.fullmatch(word)
        stem = match.group(1) if match else ""
        if stem not in known and word not in known:
            return False
    return True
