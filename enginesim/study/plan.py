"""Which engines does a study consist of, and what does each change?"""

from __future__ import annotations

import itertools
from functools import lru_cache
from typing import TYPE_CHECKING, Any, TypeAlias

from enginesim.base.units import BARE, SI_UNITS, unit
from enginesim.study import spread
from enginesim.study.fields import known_fields
from enginesim.study.values import Span, Words, number_text, with_at

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from enginesim.study.definition import Study, Variable

#: A value for each variable: a number in the variable's unit, or a word.
Point: TypeAlias = tuple[float | str, ...]


def points(study: Study) -> list[Point]:
    """
    Engines of a sweep.

    Parameters
    ----------
    study : Study
        Checked.

    Returns
    -------
    list of Point
        Every combination, the last variable running fastest; or samples, each once.
    """
    if study.samples:
        return samples(study, study.samples)
    return list(itertools.product(*(_items(variable) for variable in study.variables)))


def _items(variable: Variable) -> tuple[float, ...] | tuple[str, ...]:
    values = variable.values
    return (values.low, values.high) if isinstance(values, Span) else values.items


def samples(study: Study, n: int) -> list[Point]:
    """
    Engines drawn at random, but evenly spread.

    Parameters
    ----------
    study : Study
        Says what is varied, and with which seed.
    n : int
        How many are drawn; fewer come back where several are the same. [-]

    Returns
    -------
    list of Point
        The first of a scrambled Halton sequence; so more samples begin with the same ones.
    """
    shares = spread.shares(n, len(study.variables), study.seed)
    drawn = [from_shares(study.variables, row) for row in shares]
    return list(dict.fromkeys(drawn))


def from_shares(variables: Sequence[Variable], shares: Iterable[float]) -> Point:
    """
    Point from numbers between 0 and 1.

    Parameters
    ----------
    variables : sequence of Variable
        What is varied.
    shares : iterable of float
        One for each: how far along its span, or along its list. [-]

    Returns
    -------
    Point
        Values that the variables may have.
    """
    found: list[float | str] = []
    for variable, share in zip(variables, shares, strict=True):
        values = variable.values
        if isinstance(values, Span):
            found.append(values.of_share(float(share)))
        else:
            n = len(values.items)
            found.append(values.items[min(int(share * n), n - 1)])
    return tuple(found)


def changes(study: Study, point: Point) -> dict[str, Any]:
    """
    What a point changes in the case.

    Parameters
    ----------
    study : Study
        Checked.
    point : Point
        A value for each variable.

    Returns
    -------
    dict of str to object
        For `enginesim.case.amend`: parts first, so that fields of them can be changed too.
    """
    fields = known_fields()
    parts: dict[str, Any] = {}
    plain: dict[str, Any] = {}
    for variable, value in zip(study.variables, point, strict=True):
        spot = fields.get(variable.name)
        if spot is None:
            continue
        if spot.part is not None:
            parts[variable.name] = part_place(study, str(value))
        elif spot.kind == "integer" and not isinstance(value, str):
            plain[variable.name] = str(round(value))
        else:
            plain[variable.name] = variable.shown(value)
    if study.links:
        numbers = {
            variable.name: unit(variable.values.unit).to_si(value)
            for variable, value in zip(study.variables, point, strict=True)
            if not isinstance(value, str)
        }
        heights = {variable.name: variable.values.at for variable in study.variables}
        for link in study.links:
            value = link.value(numbers[link.source])
            spot = fields[link.target]
            if spot.kind == "pairs":
                name = BARE.get(spot.facts.dimension) or SI_UNITS[spot.facts.dimension]
                text = number_text(unit(name).from_si(value), name)
                plain[link.target] = with_at(text, link.at or heights[link.source])
            else:
                plain[link.target] = value
    return parts | plain


def part_place(study: Study, file: str) -> str:
    """
    Place of a part file, which is named from the folder of the case.

    Parameters
    ----------
    study : Study
        Has the case.
    file : str
        As it is written in the study.

    Returns
    -------
    str
        The whole path.
    """
    return _place(study.folder, study.case, file)


@lru_cache(maxsize=256)
def _place(folder: Path, case: str, file: str) -> str:
    return str(((folder / case).parent / file).absolute())


def shown(variable: Variable, value: float | str) -> str:
    """
    A value for people: part files by their names alone.

    Parameters
    ----------
    variable : Variable
        Whose value it is.
    value : float or str
        In its unit, or a word. [any]

    Returns
    -------
    str
        Such as ``8.5 in`` or ``cam-214``.
    """
    text = variable.shown(value)
    if isinstance(variable.values, Words) and text.endswith(".toml"):
        return text.rpartition("/")[2].removesuffix(".toml")
    return text
