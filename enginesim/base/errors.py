"""What can go wrong, as one tree of errors, and how a problem is written down."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from enginesim.base.characters import LONGEST_PATH, QUOTED, excerpt, shortened

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

#: Most problems that are told in full; of more there is a count.
MOST_SHOWN: Final = 20


@dataclass(frozen=True, slots=True)
class Problem:
    """
    One thing that is wrong (or doubtful) in what the user gave.

    Attributes
    ----------
    place : str
        Where: ``file:line``, ``file`` or ``--set``.
    path : str
        Dotted field, such as ``block.bore``; empty when no one field is meant.
    found : str
        What stands there.
    allowed : str
        What may stand there.
    hint : str
        The likely cause, or what to do about it; may be empty.
    """

    place: str
    path: str
    found: str
    allowed: str = ""
    hint: str = ""

    def __str__(self) -> str:
        places = (shortened(self.place, LONGEST_PATH), excerpt(self.path, QUOTED))
        head = ": ".join(part for part in places if part)
        found = f"found {shortened(self.found)}"
        text = f"{head}: {found}" if head else found
        if self.allowed:
            text += f"; allowed {shortened(self.allowed)}"
        return f"{text} ({shortened(self.hint)})" if self.hint else text


def told(problems: Sequence[Problem]) -> list[str]:
    """
    Problems as a message tells them.

    Parameters
    ----------
    problems : sequence of Problem
        All that was found.

    Returns
    -------
    list of str
        A line for each of the first `MOST_SHOWN`, and how many there are besides.
    """
    lines = [str(problem) for problem in problems[:MOST_SHOWN]]
    more = len(problems) - MOST_SHOWN
    return [*lines, f"... and {more} more"] if more > 0 else lines


class EngineSimError(Exception):
    """Root of every error that the user, not the program, can put right."""


class CaseError(EngineSimError, ValueError):
    """
    A case that cannot be used: holds every problem, not the first one only.

    Parameters
    ----------
    problems : iterable of Problem
        All that was found.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(told(self.problems)))

    def __reduce__(self) -> tuple[type[CaseError], tuple[tuple[Problem, ...]]]:
        return type(self), (self.problems,)


class GasError(EngineSimError, ValueError):
    """A fuel, mixture or state for which no gas properties can be made."""


class NetworkError(EngineSimError, ValueError):
    """An engine that cannot be laid out as ducts and volumes."""


class CycleError(EngineSimError, RuntimeError):
    """A simulation that broke down; the message names speed, place and crank angle."""


class StoreError(EngineSimError, RuntimeError):
    """A store of results that cannot be opened, read or written; nothing in it was changed."""


class StudyError(EngineSimError, RuntimeError):
    """A study that cannot go on; what was finished is in the store."""


class ResultError(EngineSimError, KeyError):
    """A result that was asked for and is not there."""

    def __str__(self) -> str:
        return " ".join(str(argument) for argument in self.args)
