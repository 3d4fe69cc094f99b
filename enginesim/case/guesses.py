"""What was a number that lacks its unit most likely meant to be?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from enginesim.base.units import unit

if TYPE_CHECKING:
    from collections.abc import Iterable

#: What a value that lacks a unit, or is far off, may have been meant in.
_CANDIDATES: Final = {
    "length": ("in", "mm", "cm"),
    "area": ("in2", "cm2", "mm2"),
    "volume": ("cc", "in3", "L"),
    "pressure": ("inHg", "inH2O", "kPa", "psi", "bar"),
    "temperature": ("degF", "degC", "K"),
    "volume flow": ("cfm", "L/s", "m3/s"),
    "mass flow": ("lb/h", "kg/h", "kg/s"),
    "angle": ("deg", "rad"),
    "mass": ("lb", "kg", "g"),
    "force": ("lbf", "N"),
    "velocity": ("mph", "km/h", "m/s"),
    "time": ("s", "ms"),
}
# After @: the checking heights, and the radii of bends, that are taken for meant. [m]
_HEIGHTS: Final = (0.1e-3, 15e-3)
_RADII: Final = (5e-3, 1.0)


def fitting(number: float, dimension: str, usual: Iterable[str], low: float, high: float,
            ) -> list[str]:  # fmt: skip
    """
    Units in which a number would lie in a range.

    Parameters
    ----------
    number : float
        As written. [any]
    dimension : str
        What is wanted.
    usual : iterable of str
        Units to try first.
    low, high : float
        The range. [SI]

    Returns
    -------
    list of str
        Three at most.
    """
    names = dict.fromkeys([*usual, *_CANDIDATES.get(dimension, ())])
    return [name for name in names if low <= unit(name).to_si(number) <= high][:3]


def advice(texts: list[str]) -> str:
    """
    What to write; a choice only if there is one.

    Parameters
    ----------
    texts : list of str
        Values with their units, as they should be written.

    Returns
    -------
    str
        Such as ``write "4 in"``; centimetres also in the millimetres of drawings.

    Examples
    --------
    >>> advice(["3.4 in", "3.4 cm"])
    'write "3.4 in" or "3.4 cm" (34 mm), whichever is meant'
    """
    shown = []
    for text in texts:
        number, _, name = text.partition(" ")
        shown.append(f'"{text}"' + (f" ({10 * float(number):g} mm)" if name == "cm" else ""))
    many = ", whichever is meant" if len(shown) > 1 else ""
    return f"write {' or '.join(shown)}{many}"


def advice_after(text: str, number: float, *, is_height: bool) -> str:
    """
    What to write where the length after @ lacks its unit.

    Parameters
    ----------
    text : str
        The pair as written.
    number : float
        The one after @. [any]
    is_height : bool
        Whether it is a checking height of a cam; the radius of a bend otherwise.

    Returns
    -------
    str
        As `advice`.

    Examples
    --------
    >>> advice_after("218 @ 0.050", 0.05, is_height=True)
    'write "218 @ 0.050 in"'
    """
    low, high = _HEIGHTS if is_height else _RADII
    both = ("in", "mm")
    names = [name for name in both if low <= unit(name).to_si(number) <= high] or both
    return advice([f"{text.strip()} {name}" for name in names])
