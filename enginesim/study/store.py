"""What has been worked out already, kept so that a power cut loses nothing of it?"""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Self

from enginesim.base.errors import StoreError
from enginesim.base.provenance import PHYSICS_VERSION, stamp
from enginesim.study import store_records
from enginesim.study.store_file import PATIENCE, connect, plain_errors, store_path
from enginesim.study.store_rows import HEADLINES, Failure, from_text, to_text

if TYPE_CHECKING:
    from types import TracebackType

    from enginesim.case import Case
    from enginesim.cycle import CycleRecord
    from enginesim.performance import Performance

_AT = "case_id = ? AND rpm = ? AND fidelity = ? AND physics = ?"
_MOST = 500  # values in one statement, below the limit of every SQLite
_COLUMNS = (
    "case_id", "rpm", "fidelity", "physics", "is_done", "kind", "reason", "time_limit",
    "seconds", "date", "stamp_id", "converged", *HEADLINES,
)  # fmt: skip
_INSERT = f"INSERT INTO points ({', '.join(_COLUMNS)}) VALUES ({', '.join('?' * len(_COLUMNS))})"


class Store:
    """
    Results of one project in one file, keyed by case, speed, fidelity and physics.

    Each result is written in a transaction of its own and is on the disk when the call returns.
    Several processes may have the file open at once. A finished result is never overwritten.
    Made by :meth:`open`; a context manager.

    Attributes
    ----------
    path : Path
        The file.
    is_writable : bool
        Whether results can be added.
    """

    def __init__(
        self, connection: sqlite3.Connection, path: Path, patience: float, is_writable: bool
    ) -> None:
        self.path = path
        self.is_writable = is_writable
        self._connection = connection
        self._patience = patience
        self._cases: dict[str, int] = {}
        self._stamp: int | None = None

    @classmethod
    def open(
        cls,
        path: str | os.PathLike[str] | None = None,
        *,
        create: bool = True,
        patience: float = PATIENCE,
    ) -> Store:
        """
        Store of a file.

        Parameters
        ----------
        path : path, optional
            The file; ``$ENGINESIM_STORE``, else ``enginesim-results.sqlite`` in the current
            folder, if left out.
        create : bool
            Whether a file that is not there is made.
        patience : float
            How long to wait for another program that holds the file. [s]

        Returns
        -------
        Store
            Read-only where the file is.

        Raises
        ------
        StoreError
            If the file is something else, damaged, locked, newer than this program, or not there.
        """
        place = store_path(path)
        connection, is_writable = connect(place, patience=patience, create=create)
        return cls(connection, place, patience, is_writable)

    def close(self) -> None:
        """Let go of the file; harmless a second time."""
        self._connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """
        The connection, to read from; errors come as sentences.

        Yields
        ------
        Connection
            Not to be kept.
        """
        with plain_errors(self.path, self._patience):
            yield self._connection

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """
        The connection in a transaction: all or nothing, on the disk when the block ends.

        Yields
        ------
        Connection
            Not to be kept.
        """
        with plain_errors(self.path, self._patience):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield self._connection
                self._connection.execute("COMMIT")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                self.forget()  # rows that were looked up in it may never have been written
                raise

    def forget(self) -> None:
        """Look up anew which rows there are, after some may have gone."""
        self._cases.clear()
        self._stamp = None

    def get(self, case: Case, rpm: float) -> Performance | Failure | None:
        """
        What is known of a case at one speed.

        Parameters
        ----------
        case : Case
            A loaded case.
        rpm : float
            Engine speed. [rpm]

        Returns
        -------
        Performance, Failure or None
            None if it was never run with the physics of this program.
        """
        return self.get_many(case, (rpm,)).get(rpm)

    def get_many(
        self, case: Case, rpms: Sequence[float] | None = None
    ) -> dict[float, Performance | Failure]:
        """
        What is known of a case at some speeds.

        Parameters
        ----------
        case : Case
            A loaded case.
        rpms : sequence of float, optional
            Engine speeds; all that there are if left out. [rpm]

        Returns
        -------
        dict of float to Performance or Failure
            By speed; those that were never run are left out, and so are those of an older
            program that lack a field.

        Raises
        ------
        StoreError
            If the file cannot be read, or what it holds is damaged.
        """
        query = (
            "SELECT p.rpm, p.is_done, p.kind, p.reason, p.time_limit, d.fields FROM points p "
            "JOIN cases c ON c.id = p.case_id LEFT JOIN details d ON d.point_id = p.id "
            "WHERE c.digest = ? AND p.fidelity = ? AND p.physics = ?"
        )
        asked = (case.digest, case.numerics.fidelity, PHYSICS_VERSION)
        wanted = None if rpms is None else sorted({float(rpm) for rpm in rpms})
        rows: list[tuple[float, int, str, str, float | None, str | None]] = []
        with self.reading() as connection:
            if wanted is None or len(wanted) > _MOST:
                rows = connection.execute(f"{query} ORDER BY p.rpm", asked).fetchall()
            elif wanted:
                marks = ", ".join("?" * len(wanted))
                query += f" AND p.rpm IN ({marks}) ORDER BY p.rpm"
                rows = connection.execute(query, (*asked, *wanted)).fetchall()
        found: dict[float, Performance | Failure] = {}
        for rpm, is_done, kind, reason, limit, text in rows:
            if wanted is not None and rpm not in wanted:
                continue
            if not is_done:
                found[rpm] = Failure(rpm, kind, reason, limit)  # type: ignore[arg-type]
                continue
            try:
                result = from_text(text or "")
            except (ValueError, TypeError, KeyError) as error:
                raise StoreError(
                    f"{self.path}: found the result of {case.name!r} at {rpm:g} rpm damaged "
                    f"(`enginesim store verify` names them all; prune them, and run again)"
                ) from error
            if result is not None:
                found[rpm] = result
        return found

    def put(
        self,
        case: Case,
        result: Performance | Failure,
        *,
        seconds: float | None = None,
        record: CycleRecord | None = None,
    ) -> None:
        """
        Keep a result, or that there is none.

        Parameters
        ----------
        case : Case
            What was run.
        result : Performance or Failure
            What came of it. A result replaces a failure, and one of an older program that lacks
            a field; any other stays as it is.
        seconds : float, optional
            Time that it took. [s]
        record : CycleRecord, optional
            The cycle, to be kept too.

        Raises
        ------
        StoreError
            If it cannot be written; then nothing was changed.
        """
        packed: tuple[int, str, bytes] | None = None
        if record is not None:
            blob = store_records.to_bytes(record)
            packed = int(record.duct_pressure is not None), store_records.checksum(blob), blob
        with self.writing() as connection:
            self._put(connection, case, result, seconds)
            if packed is not None:
                point = connection.execute(
                    f"SELECT id FROM points WHERE {_AT}",
                    (self._case(connection, case), *_place(case, result.rpm)),
                ).fetchone()[0]
                connection.execute(
                    "INSERT OR REPLACE INTO records VALUES (?, ?, ?, ?)", (point, *packed)
                )

    def put_many(self, results: Iterable[tuple[Case, Performance | Failure, float | None]]) -> None:
        """
        Keep many results in one transaction: faster, and all or none.

        Parameters
        ----------
        results : iterable of (Case, Performance or Failure, seconds)
            As :meth:`put` gets them one by one.
        """
        with self.writing() as connection:
            for case, result, seconds in results:
                self._put(connection, case, result, seconds)

    def record(self, case: Case, rpm: float, *, traces: bool = False) -> CycleRecord | None:
        """
        The cycle that was kept with a result.

        Parameters
        ----------
        case : Case
            A loaded case.
        rpm : float
            Engine speed. [rpm]
        traces : bool
            Whether it must have the cells of its ducts.

        Returns
        -------
        CycleRecord or None
            None if none was kept.

        Raises
        ------
        StoreError
            If what was kept is damaged.
        """
        with self.reading() as connection:
            row = connection.execute(
                "SELECT r.digest, r.data FROM records r JOIN points p ON p.id = r.point_id JOIN "
                "cases c ON c.id = p.case_id WHERE c.digest = ? AND p.rpm = ? AND p.fidelity = ? "
                "AND p.physics = ? AND r.has_traces >= ?",
                (case.digest, *_place(case, rpm), int(traces)),
            ).fetchone()
        if row is None:
            return None
        if store_records.checksum(row[1]) != row[0]:
            raise StoreError(f"{self.path}: found the cycle kept at {rpm:g} rpm damaged")
        return store_records.from_bytes(row[1], case)

    def _put(
        self,
        connection: sqlite3.Connection,
        case: Case,
        result: Performance | Failure,
        seconds: float | None,
    ) -> None:
        case_id = self._case(connection, case)
        place = (case_id, *_place(case, result.rpm))
        # Whoever had taken the point upon himself: it is done.
        connection.execute(
            "DELETE FROM claims WHERE digest = ? AND rpm = ? AND fidelity = ? AND physics = ?",
            (case.digest, *place[1:]),
        )
        old = connection.execute(
            "SELECT p.id, p.is_done, d.fields FROM points p LEFT JOIN details d "
            f"ON d.point_id = p.id WHERE {_AT}",
            place,
        ).fetchone()
        is_failure = isinstance(result, Failure)
        if old is not None:
            if old[1] and (is_failure or _is_whole(old[2])):
                return
            connection.execute("DELETE FROM points WHERE id = ?", (old[0],))
        head = (*place, int(not is_failure))
        made = stamp(case.digest)
        when = (seconds, made.date, self._stamped(connection, made.version))
        if isinstance(result, Failure):
            why = (result.kind, result.reason, result.time_limit)
            connection.execute(_INSERT, (*head, *why, *when, *(None,) * (1 + len(HEADLINES))))
            return
        values = (int(result.converged), *(getattr(result, name) for name in HEADLINES))
        point = connection.execute(_INSERT, (*head, None, None, None, *when, *values)).lastrowid
        connection.execute("INSERT INTO details VALUES (?, ?)", (point, to_text(result)))

    def _case(self, connection: sqlite3.Connection, case: Case) -> int:
        known = self._cases.get(case.digest)
        if known is not None:
            return known
        # As another process may have written it since this one last looked.
        connection.execute(
            "INSERT INTO cases (digest, name, given) VALUES (?, ?, ?) ON CONFLICT DO NOTHING",
            (case.digest, case.name, json.dumps(dict(case.given), separators=(",", ":"))),
        )
        row = connection.execute("SELECT id FROM cases WHERE digest = ?", (case.digest,)).fetchone()
        self._cases[case.digest] = row[0]
        return int(row[0])

    def _stamped(self, connection: sqlite3.Connection, version: str) -> int:
        if self._stamp is None:
            made = stamp("")
            where = (version, made.machine, made.python)
            connection.execute(
                "INSERT INTO stamps (version, machine, python) VALUES (?, ?, ?) "
                "ON CONFLICT DO NOTHING",
                where,
            )
            row = connection.execute(
                "SELECT id FROM stamps WHERE version = ? AND machine = ? AND python = ?", where
            ).fetchone()
            self._stamp = int(row[0])
        return self._stamp


def _place(case: Case, rpm: float) -> tuple[float, str, int]:
    return float(rpm), case.numerics.fidelity, PHYSICS_VERSION


def _is_whole(text: str | None) -> bool:
    """Whether a stored result has every field of today; a damaged one has not."""
    try:
        return text is not None and from_text(text) is not None
    except (ValueError, TypeError, KeyError):
        return False
