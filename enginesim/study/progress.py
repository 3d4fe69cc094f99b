"""How far is a study, how fast does it go, and what happened on the way?"""

from __future__ import annotations

import time
from collections import deque
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, TextIO

from enginesim.base.errors import StudyError
from enginesim.study.store_rows import Failure

if TYPE_CHECKING:
    from pathlib import Path

    from enginesim.case import Case
    from enginesim.performance import Performance

_WINDOW = 200  # runs over which the rate is taken
_SUMMARY = 60.0  # between two lines of the log that say how far it is [s]


@dataclass
class Progress:
    """
    Count of a study's points.

    Attributes
    ----------
    total : int or None
        Points of the study; None while that is not known. [-]
    stored : int
        Found in the store, results and failures. [-]
    done : int
        Run now, with a result. [-]
    failed : int
        Run now, without. [-]
    under_way : int
        Being run. [-]
    elsewhere : int
        Being run by another process on the same store. [-]
    is_stopped : bool
        Whether it was told to stop before all was done.
    """

    total: int | None = None
    stored: int = 0
    done: int = 0
    failed: int = 0
    under_way: int = 0
    elsewhere: int = 0
    is_stopped: bool = False
    _starting: int | None = field(default=None, repr=False)
    _ends: deque[float] = field(default_factory=lambda: deque(maxlen=_WINDOW), repr=False)

    def count(self, result: Performance | Failure) -> None:
        """
        Count a run that has ended.

        Parameters
        ----------
        result : Performance or Failure
            What came of it.
        """
        if isinstance(result, Failure):
            self.failed += 1
        else:
            self.done += 1
        if self._starting is None:
            # Whatever is under way now waited for a process to load and compile, as this one did.
            self._starting = max(self.under_way - 1, 0)
        elif self._starting:
            self._starting -= 1
        if not self._starting:
            self._ends.append(time.monotonic())

    @property
    def finished(self) -> int:
        """Points of which the outcome is known."""
        return self.stored + self.done + self.failed

    @property
    def rate(self) -> float:
        """
        Runs a second, over the last two hundred; 0 until that can be said [1/s].

        Those that began together with the processes do not count.
        """
        if len(self._ends) < 2:
            return 0.0
        return (len(self._ends) - 1) / max(time.monotonic() - self._ends[0], 1e-3)

    @property
    def remaining(self) -> float | None:
        """Time that the rest will take at this rate, if that can be said [s]."""
        if self.total is None or not self.rate:
            return None
        return max(self.total - self.finished, 0) / self.rate

    def line(self) -> str:
        """
        All of it in one line.

        Returns
        -------
        str
            Such as ``120 of 400 points, 60 from the store, 1 failed, 2.9 a second, 1 min 37 s to
            go``.
        """
        of = "" if self.total is None else f" of {self.total}"
        parts = [f"{self.finished}{of} points"]
        if self.stored:
            parts.append(f"{self.stored} from the store")
        if self.failed:
            parts.append(f"{self.failed} failed")
        if self.elsewhere:
            parts.append(f"{self.elsewhere} left to another process")
        if self.rate:
            parts.append(_rate(self.rate))
        if self.remaining is not None and self.under_way:
            parts.append(f"{duration(self.remaining)} to go")
        return ", ".join(parts)


def _rate(rate: float) -> str:
    return f"{rate:.1f} a second" if rate >= 0.95 else f"{rate * 60:.1f} a minute"


def duration(seconds: float) -> str:
    """
    A time in words.

    Parameters
    ----------
    seconds : float
        The time. [s]

    Returns
    -------
    str
        In the two largest units that it has.

    Examples
    --------
    >>> duration(97), duration(7260), duration(0.4)
    ('1 min 37 s', '2 h 1 min', '0 s')
    """
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60} s"
    return f"{whole // 3600} h {whole % 3600 // 60} min"


class Log:
    """
    A file to which a study writes what happens, a line each.

    Parameters
    ----------
    path : Path or None
        Added to if it is there; None writes nothing.

    Raises
    ------
    StudyError
        If it cannot be written.
    """

    def __init__(self, path: Path | None) -> None:
        self._file: TextIO | None = None
        self._told = time.monotonic()
        if path is not None:
            try:
                self._file = path.open("a", encoding="utf-8", buffering=1)
            except OSError as error:
                raise StudyError(
                    f"{path}: found no way to write the log: {error.strerror}"
                ) from error

    def write(self, text: str) -> None:
        """
        Add a line with date and time.

        Parameters
        ----------
        text : str
            What happened; further lines of it are indented.
        """
        if self._file is None:
            return
        now = datetime.now().astimezone().isoformat(timespec="seconds")
        # A log on a full disk is no reason to stop.
        with suppress(OSError, ValueError):
            self._file.write(f"{now}  {text.rstrip().replace(chr(10), chr(10) + '    ')}\n")

    def outcome(self, case: Case, result: Performance | Failure, seconds: float) -> None:
        """
        Add what came of a point.

        Parameters
        ----------
        case : Case
            What was run.
        result : Performance or Failure
            What came of it.
        seconds : float
            Time that it took. [s]
        """
        place = f"{case.digest[:12]} {result.rpm:g} rpm, {seconds:.2f} s"
        if isinstance(result, Failure):
            self.write(f"{place}: FAILED, {result.kind}: {result.reason}")
        else:
            self.write(f"{place}: torque {result.torque:.2f} N m, {result.status}")

    def summary(self, progress: Progress, *, now: bool = False) -> None:
        """
        Add how far it is, once a minute.

        Parameters
        ----------
        progress : Progress
            The counts.
        now : bool
            Whether to add it whatever the time.
        """
        if now or time.monotonic() - self._told > _SUMMARY:
            self._told = time.monotonic()
            self.write(progress.line())

    def close(self) -> None:
        """Let go of the file."""
        if self._file is not None:
            with suppress(OSError):
                self._file.close()
