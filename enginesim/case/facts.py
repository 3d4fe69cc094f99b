"""What is known of an input field: dimension, range, default, its source and band, help."""

from __future__ import annotations

import types
from dataclasses import dataclass, fields
from typing import (
    TYPE_CHECKING,
    Annotated,
    Any,
    Literal,
    Union,
    dataclass_transform,
    get_args,
    get_origin,
    get_type_hints,
)

if TYPE_CHECKING:
    from collections.abc import Iterator


@dataclass(frozen=True, slots=True)
class Facts:
    """
    What the reader, the manual and the schema know of one field.

    Attributes
    ----------
    help : str
        What it is, in one sentence without a full stop.
    dimension : str
        Key of `base.units.DIMENSIONS`; for pairs, that of the value before the ``@``.
    us, si : str
        Units in which it is shown.
    low, high : str
        Allowed range, with units (angles, ratios and speeds may be bare).
    default : str or None
        Text that stands in for the field when it is not given.
    derived : str
        The default in words, when it depends on other fields (`case.defaults` works it out).
    source : str
        Where the default comes from; estimates say so.
    band : str
        One standard deviation of the default: ``"5 %"``, ``"0.4 in"``.
    at : str
        Sibling field that takes what is written after ``@``.
    at_dimension : str
        For pairs, dimension of what is written after ``@``.
    at_first : bool
        For pairs, whether the number after ``@`` comes first in the tuple.
    key : str
        Name in the file, when it is not that of the attribute.
    per_cylinder : bool
        One value stands for all cylinders; otherwise as many as there are cylinders.
    has_lines : bool
        For a text, whether it may have several lines; otherwise it is a name.
    """

    help: str
    dimension: str = "ratio"
    us: str = ""
    si: str = ""
    low: str | None = None
    high: str | None = None
    default: str | None = None
    derived: str = ""
    source: str = ""
    band: str = ""
    at: str = ""
    at_dimension: str = ""
    at_first: bool = True
    key: str = ""
    per_cylinder: bool = False
    has_lines: bool = False


@dataclass_transform(frozen_default=True, kw_only_default=True)
class Part:
    """
    A table of the case file: every class derived from it is a frozen dataclass, SI inside.

    The reader checks values with the same facts before it makes a part; nothing checks them again.
    """

    def __init_subclass__(cls) -> None:
        """Make a dataclass of the new class."""
        dataclass(frozen=True, kw_only=True)(cls)


@dataclass(frozen=True, slots=True)
class Field:
    """
    One field of the tree.

    Attributes
    ----------
    name, key : str
        Attribute, and name in the file.
    kind : str
        ``value``, ``values``, ``pairs``, ``integer``, ``integers``, ``groups``, ``choice``,
        ``text``, ``switch`` or ``part``.
    facts : Facts
        What is known of it.
    optional : bool
        Whether it may stay None.
    choices : tuple of str
        For a choice.
    part : type or None
        Model of a part.
    """

    name: str
    key: str
    kind: str
    facts: Facts
    optional: bool = False
    choices: tuple[str, ...] = ()
    part: type[Part] | None = None


_KINDS: dict[Any, str] = {
    float: "value",
    int: "integer",
    str: "text",
    bool: "switch",
    tuple[float, ...]: "values",
    tuple[int, ...]: "integers",
    tuple[tuple[float, float], ...]: "pairs",
    tuple[tuple[int, ...], ...]: "groups",
}


_FIELDS: dict[type[Part], dict[str, Field]] = {}


def fields_of(model: type[Part]) -> dict[str, Field]:
    """
    Input fields of a model, by their name in the file.

    Parameters
    ----------
    model : type of Part
        Any table of the tree.

    Returns
    -------
    dict of str to Field
        In the order of the file; attributes without `Facts` (results) are left out.
    """
    if model not in _FIELDS:
        kinds = get_type_hints(model, include_extras=True)
        found = (_field(field.name, kinds[field.name]) for field in fields(model))  # type: ignore[arg-type]
        _FIELDS[model] = {field.key: field for field in found if field is not None}
    return _FIELDS[model]


def _field(name: str, kind: Any) -> Field | None:
    if get_origin(kind) is not Annotated:
        return None
    annotation, facts = get_args(kind)
    optional = False
    if get_origin(annotation) in (Union, types.UnionType):
        optional = True
        annotation = next(arm for arm in get_args(annotation) if arm is not type(None))
    key = facts.key or name
    if get_origin(annotation) is Literal:
        return Field(name, key, "choice", facts, optional, get_args(annotation))
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return Field(name, key, "part", facts, optional, part=annotation)
    return Field(name, key, _KINDS[annotation], facts, optional)


def walk(model: type[Part], prefix: str = "") -> Iterator[tuple[str, Field]]:
    """
    Every field under a model, with its dotted path.

    Parameters
    ----------
    model : type of Part
        Where to begin.
    prefix : str
        Path of the model itself, with its last dot.

    Yields
    ------
    tuple of str and Field
        Parts before their contents.
    """
    for key, field in fields_of(model).items():
        yield f"{prefix}{key}", field
        if field.part is not None:
            yield from walk(field.part, f"{prefix}{key}.")
