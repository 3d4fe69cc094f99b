"""
Which values of a case are known to a band only, and how far may each be moved?

A band is one standard deviation of a normal distribution. Where a value that far away cannot be
built (a flow over the smallest section, a volume below nothing) the distribution ends at the last
value that can: it is truncated there. Which values count: docs/decisions/0033-bands.md.

Source: truncated normal distribution, by its definition.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING, Any, Final

from enginesim.base.errors import CaseError
from enginesim.case.draft import numbers_of
from enginesim.case.facts import walk
from enginesim.case.quantities import bounds
from enginesim.case.reading import amend
from enginesim.case.text import in_si
from enginesim.case.tree import Case
from enginesim.case.values import convert
from enginesim.study.case_numbers import field_value

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case.facts import Field

#: Standard deviations within which limits are looked for: 0.3 % of a normal one lie beyond.
REACH: Final = 3.0
#: A limit is found to this part of a standard deviation.
_FINENESS: Final = 1e-3
_NORMAL: Final = NormalDist()
_FIELDS: Final = dict(walk(Case))
#: Fields that take what stands after ``@`` in another one.
_PARENTS: Final = {
    f"{path.rpartition('.')[0]}.{spot.facts.at}": path
    for path, spot in _FIELDS.items()
    if spot.facts.at
}


@dataclass(frozen=True, slots=True)
class BandedValue:
    """
    A value with a band: one number, or several that are moved together.

    Attributes
    ----------
    name : str
        Field, with what of it is meant where it has two bands.
    path : str
        Field.
    is_typed : bool
        Whether the band was typed; else it is that of a default.
    numbers : tuple of float
        Each number of the field. [SI]
    sigmas : tuple of float
        One standard deviation of each. [SI]
    """

    name: str
    path: str
    is_typed: bool
    numbers: tuple[float, ...]
    sigmas: tuple[float, ...]


def banded_values(case: Case) -> tuple[BandedValue, ...]:
    """
    Every value of a case that has a band, typed or assumed.

    Parameters
    ----------
    case : Case
        An engine.

    Returns
    -------
    tuple of BandedValue
        In the order of the file. A list is one of them: what is wrong with a flow bench or a tape
        measure is wrong with all its readings. A cam card whose seat duration is a default has two.
    """
    assumed = {item.path: item.sigma for item in case.assumed}
    found: list[BandedValue] = []
    for path, spot in _FIELDS.items():
        if spot.kind not in ("value", "values", "pairs"):
            continue
        value = field_value(case, path)
        typed, default = case.bands.get(path), assumed.get(path)
        if (
            value is None
            or (typed is None and default is None)
            or _is_start(case, path)
            or _is_measured(case, path)
        ):
            continue
        numbers = numbers_of(spot, value) if spot.kind == "pairs" else value
        numbers = numbers if isinstance(numbers, tuple) else (numbers,)
        if typed is not None:
            sigmas = _typed(case, spot, path, value, typed)
            found.append(BandedValue(path, path, True, numbers, sigmas))
        if default is not None:
            name = path
            if isinstance(default, float) and len(numbers) > 1:
                # The one duration of a card that nobody gave, at the lowest height.
                name, sigmas = f"{path} (at the seat)", (default, *(0.0,) * (len(numbers) - 1))
            else:
                sigmas = _of_shape(case, path, numbers, _broadcast(default, len(numbers)))
            found.append(BandedValue(name, path, False, numbers, sigmas))
    return tuple(one for one in found if any(one.sigmas))


def _is_measured(case: Case, path: str) -> bool:
    """Whether a rocker ratio is beside a lift that was measured at the valve: it is in that."""
    side = path.removeprefix("cam.").removesuffix(".rocker_ratio")
    lobes = {"intake": case.cam.intake, "exhaust": case.cam.exhaust}
    lobe = lobes.get(side) if path.endswith(".rocker_ratio") else None
    return lobe is not None and lobe.lift_table is not None


def _is_start(case: Case, path: str) -> bool:
    """Whether a value is only where a search begins, so that no result depends on it."""
    return path.startswith("spark.") and case.spark.mode != "schedule"


def _of_shape(
    case: Case, path: str, numbers: tuple[float, ...], sigmas: tuple[float, ...]
) -> tuple[float, ...]:
    """Bands of a flow sheet that was spread from its best flow: that one is known."""
    side, mark, _ = path.partition(".sheet.flow")
    if not mark or f"{side}.peak_flow" not in case.given:
        return sigmas
    best = max(numbers)
    return tuple(0.0 if n == best else s for n, s in zip(numbers, sigmas, strict=True))


def _broadcast(sigma: float | tuple[float, ...], n: int) -> tuple[float, ...]:
    given = sigma if isinstance(sigma, tuple) else (sigma,)
    return given * n if len(given) == 1 else given


def _typed(
    case: Case, spot: Field, path: str, value: Any, sigma: float | tuple[float, ...]
) -> tuple[float, ...]:
    """Typed bands in the order of the value: pairs are sorted, and some are added to them."""
    if spot.kind != "pairs":
        return _broadcast(sigma, len(value) if isinstance(value, tuple) else 1)
    given = dict(zip(convert(spot, case.given[path]).value, _broadcast(sigma, 1), strict=False))
    of_all = sigma[0] if isinstance(sigma, tuple) and len(given) == 1 else 0.0
    added = 0.0 if path.endswith(".durations") else of_all
    return tuple(given.get(pair, added) for pair in value)


def changes(case: Case, one: BandedValue, z: float) -> dict[str, str]:
    """
    What to give anew so that a value is moved.

    Parameters
    ----------
    case : Case
        An engine.
    one : BandedValue
        Of it.
    z : float
        How far, in standard deviations. [-]

    Returns
    -------
    dict of str to str
        For `enginesim.case.amend`. What was typed after an ``@`` stays.
    """
    spot = _FIELDS[one.path]
    moved = tuple(n + z * s for n, s in zip(one.numbers, one.sigmas, strict=True))
    parent = _PARENTS.get(one.path, "")
    if "@" in str(case.given.get(parent, "")):
        head = in_si(_FIELDS[parent], field_value(case, parent))
        return {parent: f"{head} @ {in_si(spot, moved)}"}
    if spot.kind == "pairs":
        pairs = field_value(case, one.path)
        if one.is_typed and one.path.endswith(".durations"):
            # A seat duration that is a default goes along with the others.
            kept = {pair for pair, sigma in zip(pairs, one.sigmas, strict=True) if sigma}
            kept |= set(convert(spot, case.given[one.path]).value)
        else:
            kept = set(pairs)
        new = [
            (pair[0], number) if spot.facts.at_first else (number, pair[1])
            for pair, number in zip(pairs, moved, strict=True)
            if pair in kept
        ]
        return {one.path: in_si(spot, new)}
    text = in_si(spot, moved)
    if spot.facts.at and "@" in str(case.given.get(one.path, "")):
        other = f"{one.path.rpartition('.')[0]}.{spot.facts.at}"
        text += f" @ {in_si(_FIELDS[other], field_value(case, other))}"
    sheet, mark, _ = one.path.partition(".flow")
    if mark and sheet.endswith(".sheet") and one.path not in case.given:
        # A sheet that was a default is given whole.
        rest = (f"{sheet}.{name}" for name in ("lift", "depression"))
        others = {path: in_si(_FIELDS[path], field_value(case, path)) for path in rest}
        return {**others, one.path: text}
    return {one.path: text}


def moved(case: Case, one: BandedValue, z: float) -> Case:
    """
    The same engine with a value moved, defaults following it.

    Parameters
    ----------
    case : Case
        An engine.
    one : BandedValue
        Of it.
    z : float
        How far, in standard deviations. [-]

    Returns
    -------
    Case
        A new one; a printed cam event that no longer agrees is no hindrance.

    Raises
    ------
    CaseError
        If there is no such engine.
    """
    return amend(case, changes(case, one, z), is_lenient=True)


def extent(case: Case, one: BandedValue) -> tuple[float, float] | None:
    """
    How far a value can be moved before there is no such engine.

    Parameters
    ----------
    case : Case
        An engine.
    one : BandedValue
        Of it.

    Returns
    -------
    tuple of float or None
        Lowest and highest place, in standard deviations from the value; infinite where it is beyond
        `REACH`. The value itself need not lie between them: a default may be one that cannot be
        given. None if there is no engine at all. [-]
    """

    def is_possible(z: float) -> bool:
        try:
            moved(case, one, z)
        except CaseError:
            return False
        return True

    ends = {sign: is_possible(sign * REACH) for sign in (-1.0, 1.0)}
    if all(ends.values()):
        return -math.inf, math.inf
    inside = next((z for z in (0.0, REACH, -REACH) if is_possible(z)), None)
    if inside is None:
        return None
    low, high = (
        sign * math.inf if ends[sign] else _end(one, sign, inside, is_possible)
        for sign in (-1.0, 1.0)
    )
    return low, high


def _end(
    one: BandedValue, sign: float, inside: float, is_possible: Callable[[float], bool]
) -> float:
    """Last place on one side that is possible: the end of the field's range, or nearer. [-]."""
    outside = sign * REACH
    at_bound = _to_bound(one, sign)
    if sign * inside < sign * at_bound < REACH:
        if is_possible(at_bound):
            return at_bound
        outside = at_bound
    while abs(outside - inside) > _FINENESS:
        middle = 0.5 * (inside + outside)
        inside, outside = (middle, outside) if is_possible(middle) else (inside, middle)
    return inside


def _to_bound(one: BandedValue, sign: float) -> float:
    """Where the first of the numbers comes to the end of the field's range. [-]."""
    end = bounds(_FIELDS[one.path].facts)[1 if sign > 0 else 0]
    places = [(end - n) / s for n, s in zip(one.numbers, one.sigmas, strict=True) if s]
    return min(places) if sign > 0 else max(places)


def quantiles(low: float, high: float) -> tuple[float, float]:
    """
    One standard deviation to either side of a truncated normal distribution.

    Parameters
    ----------
    low, high : float
        Where it is truncated, in standard deviations from its mean before that. [-]

    Returns
    -------
    tuple of float
        Where 15.9 and 84.1 % of it lie below: -1 and 1 without a limit. [-]

    Examples
    --------
    >>> quantiles(-math.inf, math.inf)
    (-1.0, 1.0)
    >>> print("{:.4f} {:.4f}".format(*quantiles(0.0, math.inf)))
    0.2002 1.4096
    """
    if math.isinf(low) and math.isinf(high):
        return -1.0, 1.0
    first, last = _NORMAL.cdf(low), _NORMAL.cdf(high)
    one, other = (
        _NORMAL.inv_cdf(first + share * (last - first))
        for share in (_NORMAL.cdf(-1.0), _NORMAL.cdf(1.0))
    )
    return one, other
