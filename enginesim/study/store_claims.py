"""Which process works on which point, so that two studies on one store run nothing twice?"""

from __future__ import annotations

import os
import platform
import time
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from enginesim.study.store_rows import key_of

if TYPE_CHECKING:
    import sqlite3

    from enginesim.case import Case
    from enginesim.study.store import Store

#: Time after which a claim that nobody renews is void: its process has been lost. [s]
LEASE: Final = 60.0

_AT = "digest = ? AND rpm = ? AND fidelity = ? AND physics = ?"


class Claims:
    """
    Points that this process has taken upon itself, in a store that others may share.

    A claim is void as soon as its process has ended, where that can be seen from here, and in any
    case when it has not been renewed for :data:`LEASE`. It ends with the writing of the result.

    Parameters
    ----------
    store : Store
        One that can be written to.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._host = platform.node()
        self._owner = f"{self._host}:{os.getpid()}:{os.urandom(4).hex()}"
        self._renewed = time.monotonic()

    def take(self, points: Sequence[tuple[Case, float]]) -> list[bool]:
        """
        Claim points, all in one transaction.

        Parameters
        ----------
        points : sequence of (Case, rpm)
            What is to be run.

        Returns
        -------
        list of bool
            Whether each is now ours; not if another process works on it. What another has
            finished since the store was last asked is in the store by now: look again.
        """
        now = time.time()
        taken = []
        with self._store.writing() as connection:
            for case, rpm in points:
                key = key_of(case, rpm)
                place = (key.digest, key.rpm, key.fidelity, key.physics)
                is_ours = self._is_free(connection, place, now)
                if is_ours:
                    connection.execute(
                        "INSERT OR REPLACE INTO claims VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                        (*place, self._owner, self._host, os.getpid(), now + LEASE),
                    )
                taken.append(is_ours)
        return taken

    def is_free(self, case: Case, rpm: float) -> bool:
        """
        Whether a point could be taken.

        Parameters
        ----------
        case : Case
            The engine.
        rpm : float
            Engine speed. [rpm]

        Returns
        -------
        bool
            Not if another process works on it.
        """
        key = key_of(case, rpm)
        with self._store.reading() as connection:
            place = (key.digest, key.rpm, key.fidelity, key.physics)
            return self._is_free(connection, place, time.time())

    def _is_free(
        self, connection: sqlite3.Connection, place: tuple[str, float, str, int], now: float
    ) -> bool:
        row = connection.execute(
            f"SELECT owner, host, pid, until FROM claims WHERE {_AT}", place
        ).fetchone()
        if row is None or row[0] == self._owner:
            return True
        _, host, pid, until = row
        return until < now or (host == self._host and not _is_alive(pid))

    def renew(self) -> None:
        """Hold on to all claims; to be called often, writes only when a quarter has passed."""
        if time.monotonic() - self._renewed < LEASE / 4:
            return
        with self._store.writing() as connection:
            connection.execute(
                "UPDATE claims SET until = ? WHERE owner = ?", (time.time() + LEASE, self._owner)
            )
        self._renewed = time.monotonic()

    def give_back(self, case: Case, rpm: float) -> None:
        """
        Let go of one point.

        Parameters
        ----------
        case : Case
            The engine.
        rpm : float
            Engine speed. [rpm]
        """
        key = key_of(case, rpm)
        with self._store.writing() as connection:
            connection.execute(
                f"DELETE FROM claims WHERE {_AT} AND owner = ?",
                (key.digest, key.rpm, key.fidelity, key.physics, self._owner),
            )

    def drop(self) -> None:
        """Let go of all points that were claimed and not finished."""
        with self._store.writing() as connection:
            connection.execute("DELETE FROM claims WHERE owner = ?", (self._owner,))


def _is_alive(pid: int) -> bool:
    """Whether a process of this machine is there; taken for granted where one cannot ask."""
    if os.name != "posix":
        return True
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True
