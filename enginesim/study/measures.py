"""What is an engine judged by? ``average torque 2000-3500``, ``highest power``, ``overlap``."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Literal

from enginesim.base.characters import quoted
from enginesim.base.names import nearest
from enginesim.base.numerals import doubt
from enginesim.base.quantity import Quantity, quantities
from enginesim.case.quantities import Unfit
from enginesim.performance.results import Performance
from enginesim.study.case_numbers import case_quantities
from enginesim.study.values import DIGITS
from enginesim.vehicle.acceleration import Acceleration

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

AVERAGE, HIGHEST, LOWEST, AT = "average", "highest", "lowest", "at"
#: Other words for the same.
_WORDS: Final = {
    "average": AVERAGE,
    "mean": AVERAGE,
    "highest": HIGHEST,
    "peak": HIGHEST,
    "lowest": LOWEST,
}
_NUMBER = r"\d+(?:\.\d*)?"
_MEASURE = re.compile(
    rf"(?:(?P<word>{'|'.join(_WORDS)})\s+)?(?P<number>[A-Za-z_][\w.]*)"
    rf"(?:\s+(?:(?P<low>{_NUMBER})\s*-\s*(?P<high>{_NUMBER})(?:\s*rpm)?"
    rf"|(?P<shares>{_NUMBER}\s*(?:rpm\s*)?\*.*)"
    rf"|at\s+(?:(?P<speed>{_NUMBER})(?:\s*rpm)?|(?P<condition>[A-Za-z_]\w*))))?"
)
_LONGEST: Final = 2000  # characters: a hundred speeds with their shares [-]
_SHARE = re.compile(rf"({_NUMBER})\s*(?:rpm\s*)?\*\s*({_NUMBER})\s*%?")
ALLOWED: Final = (
    'such as "average torque 2000-3500", "highest power", "lowest knock_margin", '
    '"power at 4500", "average torque 1800*20 2400*50 3000*30", "overlap" or, with a vehicle, '
    '"to_60_mph"'
)


@dataclass(frozen=True, slots=True)
class Measure:
    """
    One number that a whole engine is judged by.

    Attributes
    ----------
    number : str
        Field of the performance, or a number that the case decides.
    word : str
        ``average``, ``highest``, ``lowest``, ``at``; empty for a number of case or vehicle.
    low, high : float or None
        Window of speeds; None for all speeds of the study. [rpm]
    shares : tuple of tuple of float
        Speeds [rpm] and the share of time spent at each; empty unless an average is weighted.
    speed : float or None
        Speed after ``at``. [rpm]
    condition : str
        Condition of running after ``at``.
    """

    number: str
    word: str = ""
    low: float | None = None
    high: float | None = None
    shares: tuple[tuple[float, float], ...] = ()
    speed: float | None = None
    condition: str = ""

    @property
    def text(self) -> str:
        """As it is written in a study file."""
        if self.word == AT:
            return f"{self.number} at {self.condition or _plain(self.speed or 0.0)}"
        text = f"{self.word} {self.number}".lstrip()
        if self.low is not None and self.high is not None:
            text += f" {_plain(self.low)}-{_plain(self.high)}"
        if self.shares:
            text += "".join(f" {_plain(rpm)}*{_plain(share)}" for rpm, share in self.shares)
        return text

    @property
    def origin(self) -> Origin:
        """Whether the case alone decides it, simulations do, or a drive with their torque."""
        return origin(self.number)

    @property
    def meaning(self) -> Quantity:
        """Unit and label of the number."""
        return known_numbers()[self.number]

    @property
    def speeds(self) -> tuple[float, ...]:
        """Speeds that must be worked out for it, besides those of the study. [rpm]."""
        if self.speed is not None:
            return (self.speed,)
        if self.shares:
            return tuple(rpm for rpm, _ in self.shares)
        return () if self.low is None or self.high is None else (self.low, self.high)

    def of_points(
        self, points: Mapping[float, float], ends: tuple[float, float] | None = None
    ) -> float:
        """
        The measure, from the number at each speed.

        Parameters
        ----------
        points : mapping of float to float
            Speed [rpm] and the number there [SI]; speeds that did not converge are left out, one
            that converged and has no such number, as BSFC without power, is not.
        ends : tuple of float, optional
            First and last speed of the study: what an average without a window is over. [rpm]

        Returns
        -------
        float
            In SI; not a number where a speed that it needs is missing, or has no such number. [SI]
        """
        if self.word == AT:
            return points.get(self.speed or 0.0, float("nan"))
        if self.shares:
            if any(rpm not in points for rpm, _ in self.shares):
                return float("nan")
            total = sum(share for _, share in self.shares)
            return sum(points[rpm] * share for rpm, share in self.shares) / total
        if self.low is not None and self.high is not None:
            low, high = self.low, self.high
        elif self.word == AVERAGE and ends is not None:
            low, high = ends
        else:
            low, high = min(points, default=0.0), max(points, default=0.0)
        inside = sorted(rpm for rpm in points if low <= rpm <= high)
        if not inside or inside[0] > low or inside[-1] < high:
            return float("nan")
        values = [points[rpm] for rpm in inside]
        if any(value != value for value in values):
            return float("nan")
        if self.word == AVERAGE:
            return _mean(inside, values)
        return max(values) if self.word == HIGHEST else min(values)


def _mean(rpm: Sequence[float], values: Sequence[float]) -> float:
    """Area under straight lines between the speeds, over their width."""
    if len(rpm) == 1:
        return values[0]
    area = sum(
        0.5 * (values[i] + values[i + 1]) * (rpm[i + 1] - rpm[i]) for i in range(len(rpm) - 1)
    )
    return area / (rpm[-1] - rpm[0])


def _plain(number: float) -> str:
    return f"{number:.{DIGITS}g}"


_KNOWN: dict[str, Quantity] = {}
Origin = Literal["case", "result", "vehicle"]


def known_numbers() -> Mapping[str, Quantity]:
    """
    Every number that can be asked for, with its unit and label.

    Returns
    -------
    mapping of str to Quantity
        Fields of the performance, times of a vehicle, numbers that the case decides.
    """
    if not _KNOWN:
        results = quantities(Performance) | quantities(Acceleration)
        _KNOWN.update({n: q for n, q in results.items() if q.unit and not q.shape})
        _KNOWN.update({n: q for n, q in case_quantities().items() if n not in _KNOWN})
    return _KNOWN


def origin(number: str) -> Origin:
    """
    Where a number comes from.

    Parameters
    ----------
    number : str
        Its name.

    Returns
    -------
    {"case", "result", "vehicle"}
        From the case alone, from simulations, or from a drive with the torque that these gave.
    """
    if number in quantities(Performance):
        return "result"
    return "vehicle" if number in quantities(Acceleration) else "case"


def parse(text: Any, *, default_word: str = "") -> Measure:
    """
    Measure from what was written.

    Parameters
    ----------
    text : object
        Such as ``average torque 2000-3500``.
    default_word : str
        Taken for a result that is asked for without a word.

    Returns
    -------
    Measure
        Its window is not yet compared with the speeds of the study.

    Raises
    ------
    Unfit
        If it cannot be understood, or there is no such number.

    Examples
    --------
    >>> parse("peak power").text
    'highest power'
    """
    if not isinstance(text, str):
        raise Unfit(quoted(text), f"a text, {ALLOWED}")
    require_short(text)
    match = _MEASURE.fullmatch(" ".join(text.split()))
    if match is None:
        raise Unfit(quoted(text), ALLOWED)
    number = match["number"]
    known = known_numbers()
    if number not in known:
        near = nearest(number, known)
        hint = f"did you mean {near}?" if near else "see docs/studies.md for the names"
        raise Unfit(quoted(text), "a number that there is", hint)
    word = _WORDS.get(match["word"] or "", "")
    has_window = any(match[part] for part in ("low", "shares", "speed", "condition"))
    if origin(number) != "result":
        if word or has_window:
            raise Unfit(
                quoted(text), f"{quoted(number)} alone", "it is one number for the whole engine"
            )
        return Measure(number)
    if match["speed"] or match["condition"]:
        if word:
            raise Unfit(
                quoted(text), f'"{number} at ..." alone', f"{quoted(word)} needs several speeds"
            )
        speed = float(match["speed"]) if match["speed"] else None
        return Measure(number, AT, speed=speed, condition=match["condition"] or "")
    word = word or default_word
    if not word:
        raise Unfit(quoted(text), ALLOWED, f"say which: average {number}, highest, lowest or at")
    if match["shares"]:
        if word != AVERAGE:
            raise Unfit(quoted(text), "shares of time with an average only")
        return Measure(number, word, shares=_shares(match["shares"], text))
    if not match["low"]:
        return Measure(number, word)
    low, high = float(match["low"]), float(match["high"])
    if low >= high:
        raise Unfit(quoted(text), "a window whose end is above its beginning")
    return Measure(number, word, low, high)


def require_short(text: str) -> None:
    """
    Refuse what is longer than any measure or limit, or has numbers that nobody means.

    Parameters
    ----------
    text : str
        As typed.

    Raises
    ------
    Unfit
        Before it is read.
    """
    why = doubt(text) or ("it is too long" if len(text) > _LONGEST else "")
    if why:
        raise Unfit(quoted(text), ALLOWED, why)


def _shares(listed: str, text: str) -> tuple[tuple[float, float], ...]:
    if not re.fullmatch(rf"(?:{_SHARE.pattern}[\s,]*)+", listed):
        raise Unfit(quoted(text), 'speeds and shares of time, such as "1800*20 2400*50 3000*30"')
    shares = tuple((float(rpm), float(share)) for rpm, share in _SHARE.findall(listed))
    if len({rpm for rpm, _ in shares}) < len(shares):
        raise Unfit(quoted(text), "each speed once")
    if sum(share for _, share in shares) <= 0.0:
        raise Unfit(quoted(text), "shares above zero")
    return shares
