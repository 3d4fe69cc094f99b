"""At which engine speeds is the curve to be worked out?"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import ceil, isfinite
from typing import TYPE_CHECKING, Final

from enginesim.base.characters import quoted
from enginesim.base.errors import CaseError, Problem
from enginesim.base.numerals import doubt

if TYPE_CHECKING:
    from collections.abc import Sequence

#: Range in which an engine speed is taken for meant. [rpm]
SLOWEST: Final = 200.0
FASTEST: Final = 20000.0
#: No more speeds than this in one request.
MOST: Final = 500

#: Where the curve bends, speeds lie no farther apart than this. [rpm]
CLOSEST: Final = 125.0
#: A straight line between two neighbours that misses the torque in between by more than this
#: part of the highest torque is a bend: about the scatter of one careful pull on a dynamometer.
BEND: Final = 0.005

_NUMBER = r"(\d+(?:\.\d*)?)"
_RANGE = re.compile(rf"{_NUMBER}:{_NUMBER}(?::{_NUMBER})?")
_ALLOWED = "one speed (4000), a list (2000,3500,5000) or first:last:step (2000:6500:250)"


@dataclass(frozen=True, slots=True)
class Speeds:
    """
    Engine speeds that were asked for.

    Attributes
    ----------
    rpm : tuple of float
        Rising, each once. [rpm]
    is_range : bool
        Whether they were given as first:last:step: then the step is only a beginning, and the
        grid may be refined; a list is taken at its word.
    """

    rpm: tuple[float, ...]
    is_range: bool


def parse(text: str, option: str = "--rpm") -> Speeds:
    """
    Engine speeds from what was typed.

    Parameters
    ----------
    text : str
        One speed, a list parted by commas or spaces, or ``first:last:step`` with both ends
        included; the last interval may be shorter than the step, 250 rpm if left out.
    option : str
        Where it was typed, for the message.

    Returns
    -------
    Speeds
        In rising order, each once.

    Raises
    ------
    CaseError
        If it is none of these, or a speed is out of range.

    Examples
    --------
    >>> parse("2000:3000:400").rpm
    (2000.0, 2400.0, 2800.0, 3000.0)
    >>> parse("5000, 2500").rpm
    (2500.0, 5000.0)
    """
    text = text.strip()
    why = doubt(text)
    if why:
        raise _error(option, text, _ALLOWED, why)
    match = _RANGE.fullmatch(text)
    if match:
        first, last = float(match[1]), float(match[2])
        step = float(match[3]) if match[3] else 250.0
        if step <= 0.0:
            raise _error(option, text, _ALLOWED, "the step must be above 0")
        if last < first:
            turned = ":".join([match[2], match[1], *([match[3]] if match[3] else [])])
            hint = f"the last speed must be above the first: did you mean {turned}?"
            raise _error(option, text, _ALLOWED, hint)
        n = ceil((last - first) / step - 1e-9)
        if n >= MOST:
            raise _error(option, text, f"at most {MOST} speeds", "a larger step")
        rpm = [first + i * step for i in range(n)] + [last]
    else:
        words = [word for word in re.split(r"[,\s]+", text) if word]
        if not words or not all(re.fullmatch(_NUMBER, word) for word in words):
            is_negative = any(re.fullmatch(f"-{_NUMBER}", part) for part in re.split(":", text))
            is_negative |= any(re.fullmatch(f"-{_NUMBER}", word) for word in words)
            raise _error(option, text, _ALLOWED, "a speed is above 0" if is_negative else "")
        rpm = [float(word) for word in words]
    outside = [speed for speed in rpm if not SLOWEST <= speed <= FASTEST]
    if outside:
        raise _error(option, f"{outside[0]:g} rpm", f"{SLOWEST:g} to {FASTEST:g} rpm")
    return Speeds(tuple(sorted(set(rpm))), is_range=match is not None)


def _error(option: str, found: str, allowed: str, hint: str = "") -> CaseError:
    shown = found if found.endswith("rpm") else quoted(found)
    return CaseError([Problem(option, "", shown, allowed, hint)])


def refine(
    rpms: Sequence[float],
    torques: Sequence[float],
    *,
    closest: float = CLOSEST,
    bend: float = BEND,
) -> tuple[float, ...]:
    """
    Speeds to add so that no straight line between two speeds hides a bend of the curve.

    Parameters
    ----------
    rpms : sequence of float, shape (n,)
        Speeds worked out so far, rising. [rpm]
    torques : sequence of float, shape (n,)
        Torque at each; one that is not a number is left out of account. [N m]
    closest : float
        Intervals beside a bend are divided evenly until none is wider than this. [rpm]
    bend : float
        How far a speed's torque may lie off the straight line between its two neighbours, over
        the highest torque. [-]

    Returns
    -------
    tuple of float
        New speeds, rising; empty when there is nothing to add. Called again with them, the
        function comes to an end, since no interval is divided below half of `closest`. [rpm]

    Notes
    -----
    For evenly spaced speeds the distance off the line is half the second difference, so the
    error of a straight line within either interval is about a quarter of that.

    Examples
    --------
    A step between 3000 and 3250 rpm:

    >>> refine([2500, 2750, 3000, 3250, 3500], [200, 200, 200, 210, 210])
    (2875.0, 3125.0, 3375.0)
    """
    known = [(r, t) for r, t in zip(rpms, torques, strict=True) if isfinite(t)]
    if len(known) < 3:
        return ()
    allowed = bend * max(abs(t) for _, t in known)
    wanted: set[int] = set()  # intervals, by the index of their lower end
    for i in range(1, len(known) - 1):
        (r0, t0), (r1, t1), (r2, t2) = known[i - 1 : i + 2]
        straight = t0 + (t2 - t0) * (r1 - r0) / (r2 - r0)
        if abs(t1 - straight) > allowed:
            wanted |= {i - 1, i}
    added = []
    for i in sorted(wanted):
        low, high = known[i][0], known[i + 1][0]
        pieces = ceil((high - low) / closest - 1e-9)
        added += [low + (high - low) * k / pieces for k in range(1, pieces)]
    return tuple(added)
