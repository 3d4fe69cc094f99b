"""How far may the difference of two engines move with what was assumed of both of them?

Source: first-order propagation of independent standard deviations, one value moved at a time; a
value that is the same in both engines is moved in both at once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.base.errors import CaseError
from enginesim.case.facts import walk
from enginesim.case.reading import amend
from enginesim.study.case_numbers import case_number

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.study.straight_lines import Floats

#: Speeds at which values are moved, of those of the comparison: the rest lies between them.
MOST_SPEEDS: Final = 5


@dataclass(frozen=True, slots=True)
class Move:
    """
    One engine with one assumed value moved.

    Attributes
    ----------
    path : str
        Field that was moved.
    i : int
        Index of the engine.
    is_shared : bool
        Whether the value is the same in all engines, so that all move together.
    case : Case
        The engine with the moved value.
    """

    path: str
    i: int
    is_shared: bool
    case: Case


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


def bands_of(case: Case) -> dict[str, float]:
    """
    Values with a band that are one number.

    Parameters
    ----------
    case : Case
        An engine.

    Returns
    -------
    dict of str to float
        Standard deviation of each field, typed or assumed. [SI]
    """
    plain = {path for path, spot in walk(type(case)) if spot.kind == "value"}
    found = {item.path: item.sigma for item in case.assumed if item.sigma}
    found |= dict(case.bands)
    return {path: sigma for path, sigma in found.items() if path in plain}


def moves(cases: Sequence[Case]) -> tuple[Move, ...]:
    """
    Every engine with every banded value moved by one standard deviation.

    Parameters
    ----------
    cases : sequence of Case
        Engines of a comparison.

    Returns
    -------
    tuple of Move
        Those that can be built, and of which a result depends; a value is moved down where it
        cannot be moved up.
    """
    bands = [bands_of(case) for case in cases]
    found = []
    for path in dict.fromkeys(path for band in bands for path in band):
        values = [
            case_number(c, path) if path in b else None for c, b in zip(cases, bands, strict=True)
        ]
        is_shared = len(set(values)) == 1
        for sign in (1.0, -1.0):
            made = [
                None if value is None else _moved(case, path, value + sign * band[path])
                for case, value, band in zip(cases, values, bands, strict=True)
            ]
            if all(
                new is not None or value is None for new, value in zip(made, values, strict=True)
            ):
                found += [
                    Move(path, i, is_shared, new)
                    for i, new in enumerate(made)
                    if new is not None and new.digest != cases[i].digest
                ]
                break
    return tuple(found)


def _moved(case: Case, path: str, value: float) -> Case | None:
    try:
        return amend(case, {path: float(value)})
    except CaseError:
        return None


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
        change = {j: moved[path, j] - torque[j] for j in (0, i) if j in of}
        if not change:
            continue
        if all(move.is_shared for move in of.values()):
            zero = np.zeros(torque.shape[1])
            result.append(Share(path, None, change.get(i, zero) - change.get(0, zero)))
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
