"""What can go wrong, as one tree of errors, and how a problem is written down."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


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
        head = ": ".join(part for part in (self.place, self.path) if part)
        text = f"{head}: found {self.found}" if head else f"found {self.found}"
        if self.allowed:
            text += f"; allowed {self.allowed}"
        return f"{text} ({self.hint})" if self.hint else text


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
        super().__init__("\n".join(str(problem) for problem in self.problems))

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
