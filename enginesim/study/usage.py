"""At which speeds is the engine used: a window, or a histogram of time at speed?"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from enginesim.base.characters import quoted
from enginesim.base.errors import CaseError, Problem
from enginesim.base.numerals import doubt
from enginesim.base.text_file import UnreadableFile, content

if TYPE_CHECKING:
    from pathlib import Path

_NUMBER = r"(\d+(?:\.\d*)?|\.\d+)"
_WINDOW = re.compile(rf"\s*{_NUMBER}\s*:\s*{_NUMBER}\s*")
_ROW = re.compile(rf"{_NUMBER}(?:\s*-\s*{_NUMBER})?\s*[,;\s]\s*{_NUMBER}")
_WINDOW_FORM: Final = "first:last, such as 2500:5500"
_ROW_FORM: Final = "a speed or first-last, then time there, such as 2500, 12 or 2500-3000, 12"


@dataclass(frozen=True, slots=True)
class Window:
    """
    Stretch of engine speed.

    Attributes
    ----------
    low, high : float
        Its ends. [rpm]
    """

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Weights:
    """
    Histogram of time at speed.

    Attributes
    ----------
    bins : tuple of (float, float, float)
        First and last speed of each bin, the same for a single speed [rpm], and the time there,
        in any unit. [-]
    """

    bins: tuple[tuple[float, float, float], ...]

    @property
    def low(self) -> float:
        """Lowest speed [rpm]."""
        return min(low for low, _, _ in self.bins)

    @property
    def high(self) -> float:
        """Highest speed [rpm]."""
        return max(high for _, high, _ in self.bins)


def window(text: str, option: str = "--window") -> Window:
    """
    Window from what was typed.

    Parameters
    ----------
    text : str
        Such as ``2500:5500``.
    option : str
        Where it was typed, for the message.

    Returns
    -------
    Window
        Not yet compared with the speeds of a curve.

    Raises
    ------
    CaseError
        If it is no window.

    Examples
    --------
    >>> window("2500:5500").high
    5500.0
    """
    why = doubt(text)
    match = None if why else _WINDOW.fullmatch(text)
    if match is None:
        raise CaseError([Problem(option, "", quoted(text), _WINDOW_FORM, why)])
    low, high = float(match[1]), float(match[2])
    if low >= high:
        hint = f"did you mean {high:g}:{low:g}?" if low > high else "one speed is no window"
        raise CaseError([Problem(option, "", quoted(text), "a last speed above the first", hint)])
    return Window(low, high)


def weights(path: Path, option: str = "--weights") -> Weights:
    """
    Histogram from a file of two columns.

    Parameters
    ----------
    path : Path
        Text: a speed, or two joined by a dash, and the time there in any unit, parted by a comma,
        a semicolon, a tab or blanks. A first line of words, empty lines and what follows a ``#``
        are passed over.
    option : str
        Where it was asked for, for the message.

    Returns
    -------
    Weights
        Bins as they stand in the file.

    Raises
    ------
    CaseError
        With every line that cannot be understood.
    """
    try:
        text = content(path)
    except UnreadableFile as error:
        allowed = "a text file, each line " + _ROW_FORM
        raise CaseError([Problem(option, "", error.found, allowed, error.hint)]) from None
    return _bins(text, str(path))


def _bins(text: str, label: str) -> Weights:
    problems: list[Problem] = []
    bins: list[tuple[float, float, float]] = []
    is_first = True
    for number, line in enumerate(text.splitlines(), 1):
        row = line.partition("#")[0].strip()
        if not row:
            continue
        place = f"{label}:{number}"
        why = doubt(row)
        match = None if why else _ROW.fullmatch(row)
        if match is None:
            if not (is_first and not re.search(r"\d", row)):
                problems.append(Problem(place, "", quoted(row), _ROW_FORM, why))
        else:
            low, time = float(match[1]), float(match[3])
            high = float(match[2]) if match[2] else low
            if match[2] and high <= low:
                problems.append(Problem(place, "", quoted(row), "a last speed above the first"))
            bins.append((low, high, time))
        is_first = False
    if not problems and not bins:
        problems.append(Problem(label, "", "no line of figures", _ROW_FORM))
    elif not problems and sum(time for _, _, time in bins) <= 0.0:
        problems.append(Problem(label, "", "no time at any speed", "some time above zero"))
    problems += _repeated(bins, label)
    if problems:
        raise CaseError(problems)
    return Weights(tuple(bins))


def _repeated(bins: list[tuple[float, float, float]], label: str) -> list[Problem]:
    """Bins that overlap: time that would count twice."""
    found = []
    ordered = sorted(bins)
    for (low, high, _), (next_low, next_high, _) in pairwise(ordered):
        if next_low < high or (next_low, next_high) == (low, high):
            found.append(
                Problem(
                    label,
                    "",
                    f"{_shown(low, high)} and {_shown(next_low, next_high)} rpm",
                    "each speed in one line",
                )
            )
    return found


def _shown(low: float, high: float) -> str:
    return f"{low:g}" if low == high else f"{low:g}-{high:g}"
