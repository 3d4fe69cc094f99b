"""What do the tables of a store look like, and how does an older file become one of today's?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from enginesim.study.store_rows import HEADLINES

if TYPE_CHECKING:
    import sqlite3

#: Marks the file as ours: the letters "engs".
APPLICATION: Final = 0x656E6773

_COLUMNS = ",\n    ".join(f"{name} REAL" for name in HEADLINES)

_FIRST = f"""
CREATE TABLE cases (
    id INTEGER PRIMARY KEY,
    digest TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    given TEXT NOT NULL
);
CREATE TABLE stamps (
    id INTEGER PRIMARY KEY,
    version TEXT NOT NULL,
    machine TEXT NOT NULL,
    python TEXT NOT NULL,
    UNIQUE (version, machine, python)
);
CREATE TABLE points (
    id INTEGER PRIMARY KEY,
    case_id INTEGER NOT NULL REFERENCES cases (id),
    rpm REAL NOT NULL,
    fidelity TEXT NOT NULL,
    physics INTEGER NOT NULL,
    is_done INTEGER NOT NULL CHECK (is_done IN (0, 1)),
    kind TEXT,
    reason TEXT,
    time_limit REAL,
    seconds REAL,
    date TEXT NOT NULL,
    stamp_id INTEGER NOT NULL REFERENCES stamps (id),
    converged INTEGER,
    {_COLUMNS},
    UNIQUE (case_id, rpm, fidelity, physics)
);
CREATE TABLE details (
    point_id INTEGER PRIMARY KEY REFERENCES points (id) ON DELETE CASCADE,
    fields TEXT NOT NULL
);
CREATE TABLE records (
    point_id INTEGER PRIMARY KEY REFERENCES points (id) ON DELETE CASCADE,
    has_traces INTEGER NOT NULL CHECK (has_traces IN (0, 1)),
    digest TEXT NOT NULL,
    data BLOB NOT NULL
)
"""

# Which process has taken a point upon itself, and until when others leave it alone.
_CLAIMS = """
CREATE TABLE claims (
    digest TEXT NOT NULL,
    rpm REAL NOT NULL,
    fidelity TEXT NOT NULL,
    physics INTEGER NOT NULL,
    owner TEXT NOT NULL,
    host TEXT NOT NULL,
    pid INTEGER NOT NULL,
    until REAL NOT NULL,
    PRIMARY KEY (digest, rpm, fidelity, physics)
) WITHOUT ROWID
"""

# What a study remembers besides results, such as which case each of its points is.
_NOTES = """
CREATE TABLE notes (
    key TEXT PRIMARY KEY,
    value TEXT NOT NULL
) WITHOUT ROWID
"""

#: Script number n turns a file of schema n into one of schema n + 1; a new file runs them all.
SCRIPTS: Final = (_FIRST, _CLAIMS, _NOTES)

#: Schema of this program.
SCHEMA: Final = len(SCRIPTS)


def migrate(connection: sqlite3.Connection) -> int:
    """
    Bring a file to the schema of today, all or nothing.

    Parameters
    ----------
    connection : Connection
        To a store or to an empty file, with no transaction open.

    Returns
    -------
    int
        Schema that the file had; 0 if it was empty. [-]
    """
    connection.execute("BEGIN IMMEDIATE")
    try:
        before: int = connection.execute("PRAGMA user_version").fetchone()[0]
        for script in SCRIPTS[before:]:
            for statement in script.split(";"):
                connection.execute(statement)
        if before < SCHEMA:
            connection.execute(f"PRAGMA application_id = {APPLICATION}")
            connection.execute(f"PRAGMA user_version = {SCHEMA}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    return before
