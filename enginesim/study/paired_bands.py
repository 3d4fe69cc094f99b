"""How far may the difference of two engines move with what was assumed of both of them?

Source: first-order propagation of independent standard deviations, one value moved at a time; a
value of a part that both engines have is moved in both at once.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.base.errors import CaseError
from enginesim.study.bands import BandedValue, banded_values, extent, moved, quantiles

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.study.straight_lines import Floats

#: Speeds at which values are moved, of those of the comparison: the rest lies between them.
MOST_SPEEDS: Final = 5


#: A value that can be moved by less than this part of its band cannot be moved. [-]
LEAST_MOVE: Final = 0.01


@dataclass(frozen=True, slots=True)
class Move:
    """
    One engine with one value moved.

    Attributes
    ----------
    path : str
        Field that was moved, with what of it is meant where it has two bands.
    i : int
        Index of the engine.
    is_shared : bool
        Whether it is the same value of the same part as in the first engine, so that both move
        together.
    case : Case
        The engine with the moved value.
    weight : float
        One standard deviation over how far it was moved: one, but where a limit is near. [-]
    """

    path: str
    i: int
    is_shared: bool
    case: Case
    weight: float = 1.0


@dataclass(frozen=True, slots=True)
class LeftOut:
    """
    A value with a band that does not count.

    Attributes
    ----------
    path : str
        As in `Move`.
    reason : str
        Why, in words.
    """

    path: str
    reason: str


@dataclass(frozen=True, slots=True)
class Share:
    """
    What one assumed value does to a difference.

    Attributes
    ----------
    path : str
        Field.
    i : int or None
        Index of the engine in which alone it was moved; None for all.
    effect : ndarray, shape (n,)
        Change of the difference with one standard deviation. [N m]
    """

    path: str
    i: int | None
    effect: Floats


def moves(cases: Sequence[Case]) -> tuple[tuple[Move, ...], tuple[LeftOut, ...]]:
    """
    Every engine with every banded value moved by one standard deviation.

    Parameters
    ----------
    cases : sequence of Case
        Engines of a comparison.

    Returns
    -------
    found : tuple of Move
        Those of which a result depends. A value is moved the same way in all engines, within what
        can be built: there its distribution is truncated.
    left_out : tuple of LeftOut
        Values that cannot be moved at all, and those with a typed band of which no result depends.
    """
    known = [{one.name: one for one in banded_values(case)} for case in cases]
    found: list[Move] = []
    left_out: list[LeftOut] = []
    for name in dict.fromkeys(name for each in known for name in each):
        values = [each.get(name) for each in known]
        pairs = [(i, one) for i, one in enumerate(values) if one is not None]
        z, spread = _place(extent(cases[i], one) for i, one in pairs)
        if spread < LEAST_MOVE:
            left_out.append(LeftOut(name, _refusal(cases[pairs[0][0]], pairs[0][1])))
            continue
        made = [(i, one, moved(cases[i], one, z)) for i, one in pairs]
        acting = [
            Move(name, i, _is_shared(cases, values, i), case, spread / abs(z))
            for i, one, case in made
            if case.digest != cases[i].digest
        ]
        found += acting
        is_typed = any(one.is_typed for _, one in pairs)
        if not acting and is_typed:
            left_out.append(LeftOut(name, "no result depends on it"))
    return tuple(found), tuple(left_out)


def _place(extents: Iterable[tuple[float, float] | None]) -> tuple[float, float]:
    """Where to move a value in all engines, and half the width of what it may be there. [-]."""
    ends = list(extents)
    low = max(math.inf if end is None else end[0] for end in ends)
    high = min(-math.inf if end is None else end[1] for end in ends)
    if low >= high:
        return 0.0, 0.0
    one, other = quantiles(low, high)
    return (other if abs(other) >= abs(one) else one), 0.5 * (other - one)


def _refusal(case: Case, one: BandedValue) -> str:
    """Why a value cannot be moved up at all, or else down."""
    for z in (2.0 * LEAST_MOVE, -2.0 * LEAST_MOVE):
        try:
            moved(case, one, z)
        except CaseError as error:
            return str(error.problems[0])
    return "it can be moved by next to nothing"


def _is_shared(cases: Sequence[Case], values: Sequence[BandedValue | None], i: int) -> bool:
    """Whether a value of an engine is that of the first one: the same part, known the same way."""
    first, other = values[0], values[i]
    if first is None or other is None or first.is_typed != other.is_typed:
        return False
    if first.is_typed and (first.numbers, first.sigmas) != (other.numbers, other.sigmas):
        return False
    return is_same_part(cases[0], cases[i], first.path)


def is_same_part(a: Case, b: Case, path: str) -> bool:
    """
    Whether a field belongs to the same part in two engines.

    Parameters
    ----------
    a, b : Case
        Engines.
    path : str
        Dotted field.

    Returns
    -------
    bool
        True where the table of the case that the field stands in says the same in both, but for
        fields that were changed one by one: other runners on a manifold leave it that manifold.
        Rockers are not part of the cam: the same ratio is the same rockers.
    """
    if path.endswith(".rocker_ratio"):
        return str(a.given.get(path)) == str(b.given.get(path))
    table = f"{path.partition('.')[0]}."
    changed = {key for key in a.overridden | b.overridden if key.startswith(table)}
    keys = {key for key in (*a.given, *b.given) if key.startswith(table)} - changed
    if not changed and any(key not in a.given or key not in b.given for key in keys):
        return False
    return all(
        str(a.given[key]) == str(b.given[key]) for key in keys if key in a.given and key in b.given
    )


def some(rpm: Sequence[float]) -> tuple[float, ...]:
    """
    Speeds at which values are moved.

    Parameters
    ----------
    rpm : sequence of float
        Speeds of the comparison, rising. [rpm]

    Returns
    -------
    tuple of float
        Both ends and some between, evenly. [rpm]
    """
    n = min(MOST_SPEEDS, len(rpm))
    places = np.unique(np.rint(np.linspace(0, len(rpm) - 1, n)).astype(int))
    return tuple(float(rpm[k]) for k in places)


def shares(
    torque: Floats, moved: Mapping[tuple[str, int], Floats], found: Sequence[Move], i: int
) -> tuple[Share, ...]:
    """
    What each value does to one engine's difference from the first.

    Parameters
    ----------
    torque : ndarray, shape (n_side, n)
        Torque of the engines as they are. [N m]
    moved : mapping of (str, int) to ndarray
        Torque of each moved engine, by field and engine; not a number where it has none. [N m]
    found : sequence of Move
        From `moves`.
    i : int
        Index of the engine. [-]

    Returns
    -------
    tuple of Share
        The largest first.
    """
    result = []
    for path in dict.fromkeys(move.path for move in found):
        of = {move.i: move for move in found if move.path == path}
        change = {j: of[j].weight * (moved[path, j] - torque[j]) for j in (0, i) if j in of}
        if not change:
            continue
        if i in of and 0 in of and of[i].is_shared:
            result.append(Share(path, None, change[i] - change[0]))
        else:
            result += [Share(path, j, c if j == i else -c) for j, c in change.items()]
    return tuple(sorted(result, key=lambda share: -_size(share.effect)))


def _size(effect: Floats) -> float:
    known = effect[np.isfinite(effect)]
    return float(np.sqrt(np.mean(known**2))) if len(known) else 0.0


def band(found: Sequence[Share], at: Sequence[float], rpm: Floats) -> Floats:
    """
    Standard deviation of a difference from all values together.

    Parameters
    ----------
    found : sequence of Share
        From `shares`.
    at : sequence of float
        Speeds of their effects. [rpm]
    rpm : ndarray, shape (m,)
        Speeds at which it is wanted. [rpm]

    Returns
    -------
    ndarray, shape (m,)
        Root of the sum of squares, straight lines between the speeds. [N m]
    """
    total = np.zeros(len(at))
    for share in found:
        total += np.where(np.isfinite(share.effect), share.effect, 0.0) ** 2
    result: Floats = np.interp(rpm, np.asarray(at), np.sqrt(total))
    return result
