"""What is to be compared, at which speeds: all that is wrong with it is said at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TypeVar

from enginesim.base.characters import quoted
from enginesim.base.errors import CaseError, Problem
from enginesim.cycle.speeds import parse
from enginesim.study.swap import Entry, entry
from enginesim.study.usage import Weights, Window
from enginesim.study.usage import weights as read_weights
from enginesim.study.usage import window as read_window

_Read = TypeVar("_Read")


@dataclass(frozen=True, slots=True)
class Contest:
    """
    What was asked for.

    Attributes
    ----------
    entry : Entry
        The engines.
    rpm : tuple of float
        Speeds of each. [rpm]
    window : Window or None
        Of the averages.
    weights : Weights or None
        Of weighted averages.
    standard : str
        Of the correction.
    waves : tuple of float
        Speeds whose waves are to be drawn. [rpm]
    """

    entry: Entry
    rpm: tuple[float, ...]
    window: Window | None
    weights: Weights | None
    standard: str
    waves: tuple[float, ...]


def asked(
    cases: Sequence[Path],
    swaps: Sequence[str],
    overrides: Sequence[str],
    rpm: str,
    window: str | None,
    weights: Path | None,
    standard: str,
    waves: Sequence[str],
) -> Contest:
    """
    What was asked for, from what was typed.

    Parameters
    ----------
    cases : sequence of Path
        Case files.
    swaps : sequence of str
        ``PART=FILE`` or ``PATH=VALUE``.
    overrides : sequence of str
        ``PATH=VALUE`` for every engine.
    rpm : str
        Speeds as typed.
    window : str or None
        Window as typed.
    weights : Path or None
        File of a histogram.
    standard : str
        Key of the correction standards.
    waves : sequence of str
        Speeds as typed.

    Returns
    -------
    Contest
        Sound in itself.

    Raises
    ------
    CaseError
        With every problem.
    """
    problems: list[Problem] = []

    def read(what: Callable[[], _Read]) -> _Read | None:
        try:
            return what()
        except CaseError as error:
            problems.extend(error.problems)
            return None

    speeds = read(lambda: parse(rpm))
    drawn = [read(partial(parse, text, "--waves")) for text in waves]
    span = None if window is None else read(lambda: read_window(window))
    histogram = None if weights is None else read(lambda: read_weights(weights))
    engines = read(lambda: entry(cases, swaps, overrides))
    if speeds is not None:
        if len(speeds.rpm) < 2:
            allowed = "two speeds or more"
            problems.append(Problem("--rpm", "", f"{quoted(rpm.strip())}", allowed))
        else:
            problems += _outside(speeds.rpm, span, histogram, weights)
    if problems or speeds is None or engines is None:
        raise CaseError(problems)
    return Contest(
        engines,
        speeds.rpm,
        span,
        histogram,
        standard,
        tuple(sorted({speed for found in drawn for speed in (found.rpm if found else ())})),
    )


def _outside(
    rpm: Sequence[float], span: Window | None, histogram: Weights | None, weights: Path | None
) -> list[Problem]:
    return [
        Problem(
            place,
            "",
            f"{part.low:g} to {part.high:g} rpm",
            f"within {rpm[0]:g} to {rpm[-1]:g} rpm",
            "give more speeds with --rpm",
        )
        for place, part in (("--window", span), (f"--weights {weights}", histogram))
        if part is not None and (part.low < rpm[0] or part.high > rpm[-1])
    ]
