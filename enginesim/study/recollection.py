"""
What does the store already know of the points of a study, asked for all at once?

Besides results, the store keeps a note of each point: which case it is (its digest) and the numbers
that the case alone decides. So a finished study of ten thousand engines is answered without
building ten thousand cases. A note is found by a hash of all that it follows from, this program's
source included; losing notes costs time and nothing else.
"""

from __future__ import annotations

import gc
import hashlib
import json
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from enginesim.base.provenance import PHYSICS_VERSION
from enginesim.study.store_rows import HEADLINES, Failure

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from enginesim.study.store import Store

_MOST = 500  # values in one statement, below the limit of every SQLite
#: Rooms and files whose source decides what a note says.
_SOURCES: Final = ("base", "case", "valvetrain", "vehicle", "study/case_numbers.py")
#: What a simulation gave: fields in the order asked for, None where it did not converge; or why
#: there is nothing.
Found = tuple[float, ...] | None | Failure
# What has no numbers: failures, and what did not converge.
_WITHOUT: Final = (
    "SELECT case_id, rpm, is_done, kind, reason, time_limit FROM points "
    "WHERE physics = ? AND NOT (is_done AND converged) AND case_id IN"
)
_AS_TEXT: Final = json.JSONEncoder(sort_keys=True, separators=(",", ":"))
_FLOAT: Final = frozenset((float,))
_NOT_FINITE = {"inf": float("inf"), "-inf": float("-inf")}


@lru_cache(maxsize=1)
def source_stamp() -> str:
    """
    Hash of the program's source as far as notes depend on it.

    Returns
    -------
    str
        64 hexadecimal digits.
    """
    root = Path(__file__).parents[1]
    stamp = hashlib.sha256()
    for name in _SOURCES:
        place = root / name
        files = sorted(place.rglob("*.py")) if place.is_dir() else [place]
        for file in files:
            stamp.update(file.read_bytes())
    return stamp.hexdigest()


def key_of(*parts: Any) -> str:
    """
    Key of a note.

    Parameters
    ----------
    *parts : object
        All that the note follows from, besides the program itself.

    Returns
    -------
    str
        64 hexadecimal digits.
    """
    text = _AS_TEXT.encode([source_stamp(), *parts])
    return hashlib.sha256(text.encode()).hexdigest()


def notes(store: Store | None, keys: Iterable[str]) -> dict[str, dict[str, Any]]:
    """
    Notes that are there.

    Parameters
    ----------
    store : Store or None
        Where to look.
    keys : iterable of str
        From :func:`key_of`.

    Returns
    -------
    dict of str to dict
        By key; those that are not there are left out.
    """
    found: dict[str, dict[str, Any]] = {}
    if store is None:
        return found
    with store.reading() as connection:
        for some in _portions(list(dict.fromkeys(keys))):
            marks = ", ".join("?" * len(some))
            rows = connection.execute(f"SELECT key, value FROM notes WHERE key IN ({marks})", some)
            found.update((key, json.loads(value)) for key, value in rows)
    return found


def remember(store: Store | None, made: Mapping[str, Mapping[str, Any]]) -> None:
    """
    Keep notes.

    Parameters
    ----------
    store : Store or None
        Where to; nothing happens where it cannot be written.
    made : mapping of str to mapping
        By key.
    """
    if store is None or not made or not store.is_writable:
        return
    rows = [(key, json.dumps(value, separators=(",", ":"))) for key, value in made.items()]
    with store.writing() as connection:
        connection.executemany("INSERT OR REPLACE INTO notes VALUES (?, ?)", rows)


def results(
    store: Store | None, digests: Iterable[str], fields: Sequence[str]
) -> dict[str, dict[float, Found]]:
    """
    Some fields of every result of many cases.

    Parameters
    ----------
    store : Store or None
        Where to look.
    digests : iterable of str
        Of the cases; the fidelity is part of them.
    fields : sequence of str
        Fields of the performance.

    Returns
    -------
    dict of str to dict of float to tuple of float, None or Failure
        By digest, then by speed [rpm]; points that were never run with today's physics are left
        out, and so are those that lack a field.
    """
    found: dict[str, dict[float, Found]] = {}
    if store is None:
        return found
    columns = [
        f"p.{name}" if name in HEADLINES else f"json_extract(d.fields, '$.{name}')"
        for name in fields
    ]
    lacking = [
        f"json_type(d.fields, '$.{name}') IS NULL" for name in fields if name not in HEADLINES
    ]
    query = (
        f"SELECT p.case_id, p.rpm, p.is_done AND p.converged, {' OR '.join(lacking) or '0'}, "
        f"{', '.join(columns)} FROM points p "
        + ("LEFT JOIN details d ON d.point_id = p.id " if lacking else "")
        + "WHERE p.physics = ? AND p.case_id IN "
    )
    with store.reading() as connection:
        for some in _portions(list(dict.fromkeys(digests))):
            marks = ", ".join("?" * len(some))
            named = f"SELECT id, digest FROM cases WHERE digest IN ({marks})"
            cases = {
                number: found.setdefault(digest, {})
                for number, digest in connection.execute(named, some)
            }
            marks = ", ".join("?" * len(cases))
            wanted = (PHYSICS_VERSION, *cases)
            is_whole = True
            for row in connection.execute(f"{query} ({marks})", wanted):
                case, rpm, is_good, is_lacking = row[:4]
                if not is_good:
                    is_whole = False
                elif not is_lacking:
                    cases[case][rpm] = _numbers(row[4:])
            if not is_whole:
                rows = connection.execute(f"{_WITHOUT} ({marks})", wanted)
                for case, rpm, is_done, kind, reason, limit in rows:
                    failure = Failure(rpm, kind, reason, limit)
                    if is_done:
                        cases[case][rpm] = None
                    elif failure.holds(None):
                        cases[case][rpm] = failure
    return found


def _numbers(values: tuple[Any, ...]) -> tuple[float, ...]:
    """As the store has them: null where there is none, infinities as text."""
    if _FLOAT.issuperset(map(type, values)):
        return values
    return tuple(
        float("nan") if value is None else _NOT_FINITE.get(value) or float(value)
        for value in values
    )


@contextmanager
def all_kept() -> Iterator[None]:
    """While much is made that stays, do not look for what could be thrown away: a tenth less."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _portions(items: list[str]) -> Iterator[list[str]]:
    for i in range(0, len(items), _MOST):
        yield items[i : i + _MOST]
