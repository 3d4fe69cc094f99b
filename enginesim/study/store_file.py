"""How is a store's file opened, and what is said when that, or a write to it, goes wrong?"""

from __future__ import annotations

import os
import sqlite3
import stat
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from enginesim.base.characters import LONGEST_PATH, excerpt, harmful, visible
from enginesim.base.errors import StoreError
from enginesim.study.store_schema import APPLICATION, SCHEMA, migrate

#: File in the current folder that is used unless another is named.
DEFAULT: Final = "enginesim-results.sqlite"
#: Time after which a store that another program holds is given up. [s]
PATIENCE: Final = 30.0

_SENTENCES = {
    sqlite3.SQLITE_FULL: "found no room left on the disk (make room, or name another place with "
    "--store; what was finished is kept)",
    sqlite3.SQLITE_BUSY: "found it locked by another program, and waited {patience:.0f} s (is a "
    "backup or a database browser holding it?)",
    sqlite3.SQLITE_LOCKED: "found it locked by another program (is a database browser open?)",
    sqlite3.SQLITE_CORRUPT: "found it damaged (see `enginesim store verify`; take a copy of the "
    "file first, or name another with --store)",
    sqlite3.SQLITE_NOTADB: "found something else than a store of results (name another file with "
    "--store)",
    sqlite3.SQLITE_READONLY: "found it read-only (results cannot be added; name another file with "
    "--store, or change the file's permissions)",
    sqlite3.SQLITE_CANTOPEN: "found no way to open it (does its folder exist, and may you write "
    "there?)",
    sqlite3.SQLITE_IOERR: "found that the disk would not read or write it (is it full, or a "
    "network drive that went away?)",
}


def store_path(chosen: str | os.PathLike[str] | None = None) -> Path:
    """
    File of the store that a command uses.

    Parameters
    ----------
    chosen : path, optional
        What the user named.

    Returns
    -------
    Path
        That; else ``$ENGINESIM_STORE``; else ``enginesim-results.sqlite`` in the current folder.
    """
    return Path(chosen or os.environ.get("ENGINESIM_STORE") or DEFAULT)


@contextmanager
def plain_errors(path: Path, patience: float = PATIENCE) -> Iterator[None]:
    """
    Turn what SQLite raises into a sentence about the file.

    Parameters
    ----------
    path : Path
        The file.
    patience : float
        How long a lock was waited for. [s]

    Yields
    ------
    None
        Once.

    Raises
    ------
    StoreError
        For what can be put right by the user.
    """
    try:
        yield
    except sqlite3.Error as error:
        sentence = _SENTENCES.get(getattr(error, "sqlite_errorcode", 0) & 0xFF)
        if sentence is None:
            raise
        raise StoreError(f"{path}: {sentence.format(patience=patience)}") from error


def connect(
    path: Path, *, patience: float = PATIENCE, create: bool = True
) -> tuple[sqlite3.Connection, bool]:
    """
    Connection to a store, made or brought to the schema of today where need be.

    Parameters
    ----------
    path : Path
        The file.
    patience : float
        How long to wait for a lock. [s]
    create : bool
        Whether a file that is not there is made.

    Returns
    -------
    connection : Connection
        In WAL mode with full synchronisation.
    is_writable : bool
        Whether results can be added; not where file or folder is read-only.

    Raises
    ------
    StoreError
        If the file is something else, damaged, locked, written by a newer program, or not there.
    """
    size = _size(path)
    if size is None and not create:
        raise StoreError(f"{path}: found no store (it is made by the first run)")
    if size == 0 and not create:
        raise StoreError(f"{path}: found an empty file; allowed a store of results")
    is_writable = size is None or (os.access(path, os.W_OK) and _is_free(path.parent))
    with plain_errors(path, patience):
        connection = _connection(path, patience, is_writable)
        try:
            _require_ours(connection, path, is_writable, create=create)
            if is_writable:
                _write_ahead(connection, patience)
                connection.execute("PRAGMA synchronous = FULL")
                connection.execute("PRAGMA foreign_keys = ON")
                if _schema(connection) < SCHEMA:
                    migrate(connection)
        except BaseException:
            connection.close()
            raise
    return connection, is_writable


def _write_ahead(connection: sqlite3.Connection, patience: float) -> None:
    """Have a write-ahead log. While another process makes the file, SQLite refuses at once."""
    end = time.monotonic() + patience
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            is_busy = error.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY
            if not is_busy or time.monotonic() > end:
                raise
            time.sleep(0.01)
        else:
            return


def _is_free(folder: Path) -> bool:
    return os.access(folder, os.W_OK)


def _connection(path: Path, patience: float, is_writable: bool) -> sqlite3.Connection:
    place = f"file:{_quoted(path)}"
    if not is_writable:
        # In a folder that cannot be written to, the shared index of a WAL cannot be made.
        is_still = not Path(f"{path}-wal").exists() and not _is_free(path.parent)
        place += "?immutable=1" if is_still else "?mode=ro"
    return sqlite3.connect(
        place, uri=True, timeout=patience, isolation_level=None, check_same_thread=False
    )


def _quoted(path: Path) -> str:
    from urllib.parse import quote

    return quote(str(path.absolute()))


def _schema(connection: sqlite3.Connection) -> int:
    schema: int = connection.execute("PRAGMA user_version").fetchone()[0]
    return schema


def _size(path: Path) -> int | None:
    """Size of a file that may be a store [B], None where there is none."""
    number = harmful(str(path))
    if number:
        raise StoreError(f"{visible(str(path))}: found a name with the character {number}")
    try:
        found = path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        shown = excerpt(str(path), LONGEST_PATH)
        raise StoreError(f"{shown}: found no way to open it: {error.strerror}") from error
    if stat.S_ISDIR(found.st_mode):
        raise StoreError(f"{path}: found a folder; allowed a file")
    if not stat.S_ISREG(found.st_mode):
        raise StoreError(f"{path}: found no ordinary file; allowed a store of results")
    return found.st_size


def _require_ours(
    connection: sqlite3.Connection, path: Path, is_writable: bool, *, create: bool
) -> None:
    # In one transaction, as another process may just be making it.
    connection.execute("BEGIN")
    application = connection.execute("PRAGMA application_id").fetchone()[0]
    is_empty = not connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    schema = _schema(connection)
    connection.execute("COMMIT")
    is_new = create and application == 0 and is_empty
    if application != APPLICATION and not is_new:
        raise StoreError(
            f"{path}: found another program's database; allowed a store of results (name another "
            f"file with --store)"
        )
    if schema > SCHEMA:
        raise StoreError(
            f"{path}: found schema {schema}, written by a newer enginesim; allowed up to {SCHEMA} "
            f"(bring this program up to date, or name another file with --store)"
        )
    if schema < SCHEMA and not is_writable:
        raise StoreError(
            f"{path}: found schema {schema} in a read-only file; allowed schema {SCHEMA} (it is "
            f"brought up to date once it can be written to)"
        )
