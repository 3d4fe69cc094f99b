"""What do the pools that run points have in common?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Protocol

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.performance import Performance
    from enginesim.study.store_rows import Failure

#: Beyond its time limit, for a point to end by itself before its process is ended. [s]
BEYOND: Final = 5.0


@dataclass(eq=False, slots=True)
class Job:
    """
    A point that is to be run.

    Attributes
    ----------
    case : Case
        The engine.
    rpm : float
        Engine speed. [rpm]
    time_limit : float or None
        Time after which it is given up. [s]
    losses : int
        Processes that were lost while they ran it. [-]
    """

    case: Case
    rpm: float
    time_limit: float | None = None
    losses: int = 0


@dataclass(frozen=True, eq=False, slots=True)
class Outcome:
    """
    A point that has been run.

    Attributes
    ----------
    job : Job
        The point.
    result : Performance or Failure
        What came of it.
    seconds : float
        Time that it took. [s]
    """

    job: Job
    result: Performance | Failure
    seconds: float


class Pool(Protocol):
    """Where points are run: processes of this machine, or a cluster."""

    @property
    def free(self) -> int:
        """Points that can be begun now."""

    def submit(self, job: Job) -> None:
        """Have a point run."""

    def wait(self, timeout: float) -> list[Outcome]:
        """What has ended since the last call; waits for the first."""

    def drop(self) -> None:
        """Give up all points that have not ended."""

    def close(self) -> None:
        """End what runs them."""
