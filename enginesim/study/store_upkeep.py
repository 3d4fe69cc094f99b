"""Is a store sound, what of it can go, and how are two made one?"""

from __future__ import annotations

import math
import sqlite3
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from enginesim.base.errors import StoreError
from enginesim.base.provenance import PHYSICS_VERSION
from enginesim.study import store_records
from enginesim.study.store_file import connect, plain_errors
from enginesim.study.store_rows import HEADLINES, from_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from enginesim.study.store import Store

_MOST_TOLD = 20  # of problems of one kind


def problems(store: Store) -> list[str]:
    """
    Everything that is wrong with a store.

    Parameters
    ----------
    store : Store
        One that could be opened.

    Returns
    -------
    list of str
        A sentence each; empty for a sound one. Looked at are the file's structure, that each
        result has its fields and they agree with its columns, that each cycle that was kept is as
        it was written and belongs to a result, and that each row belongs to a case.
    """
    found: list[str] = []
    try:
        with store.reading() as connection:
            for checks in (_structure, _rows, _records):
                found += _first(list(checks(connection)))
    except StoreError as error:
        found.append(str(error))
    return found


def _first(sentences: Sequence[str]) -> list[str]:
    more = len(sentences) - _MOST_TOLD
    return [*sentences[:_MOST_TOLD], *([f"... and {more} more of these"] if more > 0 else [])]


def _structure(connection: sqlite3.Connection) -> Iterator[str]:
    for (line,) in connection.execute("PRAGMA integrity_check(100)"):
        if line != "ok":
            yield f"file: {line}"
    for table, row, parent, _ in connection.execute("PRAGMA foreign_key_check"):
        if table == "records":
            yield f"cycle {row}: kept, but its result is gone (orphaned)"
        else:
            yield f"{table} {row}: what it belongs to in {parent} is missing"


def _rows(connection: sqlite3.Connection) -> Iterator[str]:
    names = ", ".join(f"p.{name}" for name in ("id", "rpm", "is_done", "converged", *HEADLINES))
    rows = connection.execute(
        f"SELECT d.fields, c.name, {names} FROM points p LEFT JOIN details d ON d.point_id = p.id "
        "LEFT JOIN cases c ON c.id = p.case_id"
    )
    for text, name, number, rpm, is_done, converged, *values in rows:
        place = f"point {number} ({name or 'unnamed'}, {rpm:g} rpm)"
        if not is_done:
            continue
        if text is None:
            yield f"{place}: its fields are missing"
            continue
        try:
            result = from_text(text)
        except (ValueError, TypeError, KeyError):
            yield f"{place}: its fields cannot be read"
            continue
        if result is None:  # of an older program; not a fault
            continue
        told = [math.nan if value is None else value for value in values]
        written = [getattr(result, name) for name in HEADLINES]
        is_same = all(a == b or (a != a and b != b) for a, b in zip(told, written, strict=True))
        if not is_same or result.rpm != rpm or result.converged != bool(converged):
            yield f"{place}: its columns and its fields differ"


def _records(connection: sqlite3.Connection) -> Iterator[str]:
    for number, digest, data in connection.execute("SELECT point_id, digest, data FROM records"):
        if store_records.checksum(data) != digest:
            yield f"cycle {number}: not as it was written"


@dataclass(frozen=True, slots=True)
class Choice:
    """
    Which points are meant; all conditions together, None asks nothing.

    Attributes
    ----------
    digest : str or None
        Beginning of the digest of the case.
    name : str or None
        Part of the engine's name, small or capital letters.
    physics : str or None
        ``old``: of another `PHYSICS_VERSION` than today's.
    is_failed : bool
        Only those without a result.
    before : str or None
        Only those stored before this date, ISO 8601.
    """

    digest: str | None = None
    name: str | None = None
    physics: str | None = None
    is_failed: bool = False
    before: str | None = None

    def condition(self) -> tuple[str, list[str | int]]:
        """
        The condition of a query over points `p` and cases `c`.

        Returns
        -------
        text : str
            In SQL.
        values : list
            For its question marks.
        """
        parts, values = ["1"], list[str | int]()
        if self.digest is not None:
            parts.append("substr(c.digest, 1, ?) = ?")
            values += [len(self.digest), self.digest]
        if self.name is not None:
            parts.append("instr(lower(c.name), lower(?)) > 0")
            values.append(self.name)
        if self.physics is not None:
            parts.append("p.physics <> ?")
            values.append(PHYSICS_VERSION)
        if self.is_failed:
            parts.append("NOT p.is_done")
        if self.before is not None:
            parts.append("p.date < ?")
            values.append(self.before)
        return " AND ".join(parts), values


@dataclass(frozen=True, slots=True)
class Pruned:
    """
    What was taken out of a store, or would be.

    Attributes
    ----------
    points : int
        Results and failures. [-]
    cycles : int
        Cycles, those of these points and orphans. [-]
    """

    points: int
    cycles: int


def prune(store: Store, choice: Choice | None, *, cycles_only: bool, dry: bool) -> Pruned:
    """
    Take points out of a store, orphans and damaged rows with them, and give the room back.

    Parameters
    ----------
    store : Store
        One that can be written to.
    choice : Choice or None
        Points that go; None takes only what is orphaned or damaged.
    cycles_only : bool
        Whether their results stay and only the kept cycles go.
    dry : bool
        Whether nothing is done, only counted.

    Returns
    -------
    Pruned
        The counts.

    Raises
    ------
    StoreError
        If the store cannot be written.
    """
    chosen: list[int] = []
    with store.reading() as connection:
        if choice is not None:
            condition, values = choice.condition()
            query = "SELECT p.id FROM points p JOIN cases c ON c.id = p.case_id WHERE "
            chosen = [row[0] for row in connection.execute(query + condition, values)]
        kept = {row[0] for row in connection.execute("SELECT point_id FROM records")}
        known = {row[0] for row in connection.execute("SELECT id FROM points")}
        bad = _unsound(connection)
    orphans = kept - known
    points = set() if cycles_only else {*chosen, *bad}
    cycles = (kept & {*chosen, *points}) | orphans
    if not dry and (points or cycles):
        with store.writing() as connection:
            for number in sorted(cycles):
                connection.execute("DELETE FROM records WHERE point_id = ?", (number,))
            for number in sorted(points):
                connection.execute("DELETE FROM points WHERE id = ?", (number,))
            connection.execute("DELETE FROM cases WHERE id NOT IN (SELECT case_id FROM points)")
        store.forget()
        with store.reading() as connection:
            connection.execute("VACUUM")
    return Pruned(len(points), len(cycles))


def _unsound(connection: sqlite3.Connection) -> set[int]:
    """Points with a result whose fields are missing or cannot be read."""
    found = set()
    query = (
        "SELECT p.id, d.fields FROM points p LEFT JOIN details d ON d.point_id = p.id "
        "WHERE p.is_done"
    )
    for number, text in connection.execute(query):
        try:
            from_text(text or "")
        except (ValueError, TypeError, KeyError):
            found.add(number)
    return found


@dataclass(frozen=True, slots=True)
class Merged:
    """
    What came of a merger.

    Attributes
    ----------
    added : int
        Points that this store did not have, or had as failures only. [-]
    known : int
        Points that it had. [-]
    """

    added: int
    known: int


def merge(store: Store, other: Path) -> Merged:
    """
    Take over everything that another store has and this one has not, all or nothing.

    Parameters
    ----------
    store : Store
        Where it goes.
    other : Path
        The other file; it is not changed but for its schema, which is brought up to date.

    Returns
    -------
    Merged
        The counts.

    Raises
    ------
    StoreError
        If the other is no store, or the two are the same file.
    """
    require_store(other)
    if other.samefile(store.path):
        raise StoreError(f"{other}: found the store itself; allowed another file")
    with store.reading() as connection, plain_errors(other):
        connection.execute("ATTACH DATABASE ? AS other", (str(other),))
    try:
        with store.writing() as connection:
            return _taken_over(connection)
    finally:
        with store.reading() as connection:
            connection.execute("DETACH DATABASE other")


def require_store(path: Path) -> None:
    """
    Refuse what is no store, and bring an older one to the schema of today.

    Parameters
    ----------
    path : Path
        A file; it is not made.

    Raises
    ------
    StoreError
        If it is not there or something else.
    """
    connect(path, create=False)[0].close()


_MATCH = (
    "p.case_id = c.id AND p.rpm = op.rpm AND p.fidelity = op.fidelity AND p.physics = op.physics"
)
_PAIRS = (
    "FROM other.points op JOIN other.cases oc ON oc.id = op.case_id "
    "JOIN main.cases c ON c.digest = oc.digest"
)


def _taken_over(connection: sqlite3.Connection) -> Merged:
    connection.execute(
        "INSERT OR IGNORE INTO main.cases (digest, name, given) "
        "SELECT digest, name, given FROM other.cases ORDER BY id"
    )
    connection.execute(
        "INSERT OR IGNORE INTO main.stamps (version, machine, python) "
        "SELECT version, machine, python FROM other.stamps ORDER BY id"
    )
    # A result is better than a failure.
    connection.execute(
        f"DELETE FROM main.points WHERE NOT is_done AND id IN (SELECT p.id {_PAIRS} "
        f"JOIN main.points p ON {_MATCH} WHERE op.is_done)"
    )
    rows = connection.execute(
        f"SELECT op.id, c.id, s.id {_PAIRS} JOIN other.stamps os ON os.id = op.stamp_id "
        "JOIN main.stamps s ON s.version = os.version AND s.machine = os.machine "
        f"AND s.python = os.python WHERE NOT EXISTS (SELECT 1 FROM main.points p WHERE {_MATCH}) "
        "ORDER BY op.id"
    ).fetchall()
    names = (
        "rpm, fidelity, physics, is_done, kind, reason, time_limit, seconds, date, converged, "
        + ", ".join(HEADLINES)
    )
    for theirs, case, stamp in rows:
        ours = connection.execute(
            f"INSERT INTO main.points (case_id, stamp_id, {names}) "
            f"SELECT ?, ?, {names} FROM other.points WHERE id = ?",
            (case, stamp, theirs),
        ).lastrowid
        for table, columns in (("details", "fields"), ("records", "has_traces, digest, data")):
            connection.execute(
                f"INSERT INTO main.{table} (point_id, {columns}) "
                f"SELECT ?, {columns} FROM other.{table} WHERE point_id = ?",
                (ours, theirs),
            )
    total = connection.execute("SELECT count(*) FROM other.points").fetchone()[0]
    return Merged(len(rows), total - len(rows))
