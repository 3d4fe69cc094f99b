"""What does each field of a result mean, in which unit, and how is it asked for by name?"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import Any

from enginesim.base.errors import ResultError
from enginesim.base.names import nearest


@dataclass(frozen=True, slots=True)
class Quantity:
    """
    Meaning of one field of a result.

    Attributes
    ----------
    name : str
        Attribute under which the field is found.
    unit : str
        SI unit, ``-`` for a pure number, empty for text.
    label : str
        A few words for an axis or a column.
    definition : str
        One sentence that says what is meant, over what, relative to what.
    shape : str
        Axes of an array, such as ``(cylinder, sample)``; empty for a single value.
    kind : str
        Kind of number, which decides how it is shown; empty where none is chosen.
    in_files : tuple of (str, str)
        Key in files and unit there, empty for a plain number and for text.
    """

    name: str
    unit: str
    label: str
    definition: str
    shape: str = ""
    kind: str = ""
    in_files: tuple[str, str] = ("", "")


def quantity(
    unit: str,
    label: str,
    definition: str,
    *,
    shape: str = "",
    kind: str = "",
    in_files: tuple[str, str] = ("", ""),
    **options: Any,
) -> Any:
    """
    Field of a result's dataclass that carries its unit, label and definition.

    Parameters
    ----------
    unit : str
        SI unit, ``-`` for a pure number, empty for text.
    label : str
        A few words for an axis or a column.
    definition : str
        One sentence that says what is meant.
    shape : str
        Axes of an array; empty for a single value.
    kind : str
        Kind of number, which decides how it is shown.
    in_files : tuple of (str, str)
        Key in files, the field's own name if empty, and unit there.
    **options : Any
        Passed on to :func:`dataclasses.field`, such as ``default``.

    Returns
    -------
    Any
        What :func:`dataclasses.field` gives; the declared type of the field holds.
    """
    meaning = {
        "unit": unit,
        "label": label,
        "definition": definition,
        "shape": shape,
        "kind": kind,
        "in_files": in_files,
    }
    return field(metadata=meaning, **options)


# Asked for at every cell of every table: what a class declares does not change.
_FOUND: dict[type, dict[str, Quantity]] = {}


def quantities(result: type) -> dict[str, Quantity]:
    """
    All fields of a result, by name, in the order in which they are declared.

    Parameters
    ----------
    result : type
        Dataclass whose fields were made by :func:`quantity`.

    Returns
    -------
    dict of str to Quantity
        What each field means.

    Examples
    --------
    >>> @dataclass
    ... class Sample:
    ...     p: float = quantity("Pa", "pressure", "Static pressure.")
    >>> quantities(Sample)["p"].unit
    'Pa'
    """
    if result not in _FOUND:
        _FOUND[result] = {
            f.name: Quantity(name=f.name, **f.metadata) for f in fields(result) if f.metadata
        }
    return dict(_FOUND[result])


def unknown(result: type, name: str) -> ResultError:
    """
    Error for a name that a result does not have, with the nearest one that it has.

    Parameters
    ----------
    result : type
        Dataclass that was asked.
    name : str
        What it was asked for.

    Returns
    -------
    ResultError
        To be raised by the caller.
    """
    names = tuple(quantities(result))
    meant = nearest(name, names)
    hint = f"did you mean {meant!r}?" if meant else f"it has {', '.join(names)}"
    return ResultError(f"{result.__name__}: found no {name!r} ({hint})")
