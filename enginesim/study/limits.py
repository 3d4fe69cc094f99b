"""What must hold of an engine, and what is it to be good at?"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from enginesim.base.characters import quoted
from enginesim.base.readings import read
from enginesim.base.units import DIMENSIONS, UnitError, dimension_name, unit
from enginesim.case.quantities import Unfit
from enginesim.study import measures
from enginesim.study.values import Amount, rounded

if TYPE_CHECKING:
    from enginesim.study.measures import Measure

_LIMIT = re.compile(r"(?P<measure>[^<>=]+?)\s*(?P<sign><=|>=|≤|≥|<|>)\s*(?P<limit>[^<>=]+)")
ALLOWED: Final = 'a number, >= or <=, and a limit with its unit: "lowest knock_margin >= 2 deg"'
MOST, LEAST = "most", "least"


@dataclass(frozen=True, slots=True)
class Constraint:
    """
    A limit on a measure.

    Attributes
    ----------
    measure : Measure
        What is limited.
    is_least : bool
        Whether the limit is the least that is allowed, else the most.
    limit : Amount
        With its unit.
    """

    measure: Measure
    is_least: bool
    limit: Amount

    @property
    def text(self) -> str:
        """As it is written in a study file."""
        sign = ">=" if self.is_least else "<="
        return f"{self.measure.text} {sign} {self.limit.text}"

    def excess(self, value: float) -> float:
        """
        How far a value lies beyond the limit.

        Parameters
        ----------
        value : float
            Of the measure. [SI]

        Returns
        -------
        float
            Above zero where the limit is broken; infinite for what is no number. [SI]
        """
        if math.isnan(value):
            return math.inf
        limit = self.limit.si
        # Half a unit in the twelfth digit: a limit met exactly is met.
        slack = 1e-12 * max(abs(limit), abs(value))
        beyond = limit - value if self.is_least else value - limit
        return 0.0 if abs(beyond) <= slack else beyond


@dataclass(frozen=True, slots=True)
class Aim:
    """
    What is wanted most or least of.

    Attributes
    ----------
    measure : Measure
        What it is judged by.
    is_most : bool
        Whether more is better.
    """

    measure: Measure
    is_most: bool = True

    @property
    def text(self) -> str:
        """As it is written in a study file."""
        return self.measure.text if self.is_most else f"{LEAST} {self.measure.text}"

    def cost(self, value: float) -> float:
        """
        Value with its sign turned where more is better, so that less cost is better.

        Parameters
        ----------
        value : float
            Of the measure. [SI]

        Returns
        -------
        float
            The lower, the better. [SI]
        """
        return -value if self.is_most else value


def constraint(text: Any) -> Constraint:
    """
    Constraint from what was written.

    Parameters
    ----------
    text : object
        Such as ``knock_margin >= 2 deg``; a result without a word must hold at every speed.

    Returns
    -------
    Constraint
        With the unit of its limit checked.

    Raises
    ------
    Unfit
        If it cannot be understood.

    Examples
    --------
    >>> constraint("knock_margin >= 2 deg").text
    'lowest knock_margin >= 2 deg'
    """
    if isinstance(text, str):
        measures.require_short(text)
    match = _LIMIT.fullmatch(text.strip()) if isinstance(text, str) else None
    if match is None:
        raise Unfit(quoted(text), ALLOWED)
    is_least = match["sign"] in (">=", "≥", ">")
    word = measures.LOWEST if is_least else measures.HIGHEST
    measure = measures.parse(match["measure"], default_word=word)
    return Constraint(measure, is_least, _limit(match["limit"], measure, text))


def _limit(written: str, measure: Measure, text: str) -> Amount:
    si = measure.meaning.unit
    wanted = unit("" if si == "-" else si).exponents
    noun = dimension_name(wanted)
    usual = _bare(wanted) or si
    noun = f"a limit in a unit of {noun}, such as {usual}" if noun != "unnamed" else (
        f"a limit in a unit of {si}"
    )  # fmt: skip
    try:
        reading = read(written)
        name = reading.unit_text or _bare(wanted)
        found = unit(name)
    except UnitError as error:
        raise Unfit(quoted(text), noun, str(error)) from None
    if len(reading.numbers) != 1 or reading.at is not None or reading.band is not None:
        raise Unfit(quoted(text), f"{noun}, one number")
    if found.exponents != wanted:
        hint = "" if name else "the limit has no unit"
        raise Unfit(quoted(text), noun, hint)
    return Amount(rounded(reading.numbers[0]), name)


def _bare(exponents: tuple[int, ...]) -> str:
    if exponents == DIMENSIONS["angle"]:
        return "deg"
    return "rpm" if exponents == DIMENSIONS["engine speed"] else ""


def aim(text: Any) -> Aim:
    """
    Aim from what was written.

    Parameters
    ----------
    text : object
        A measure, with ``most`` or ``least`` before it; ``most`` where neither stands.

    Returns
    -------
    Aim
        What is to be as large, or as small, as can be.

    Raises
    ------
    Unfit
        If it cannot be understood.

    Examples
    --------
    >>> aim("least average bsfc 1800-2600").is_most
    False
    """
    if not isinstance(text, str):
        raise Unfit(quoted(text), f"a text, {measures.ALLOWED}")
    first, _, rest = text.strip().partition(" ")
    if first in (MOST, LEAST) and rest:
        return Aim(measures.parse(rest), is_most=first == MOST)
    found = Aim(measures.parse(text))
    if found.measure.meaning.unit == "s":
        raise Unfit(
            quoted(text), f'"{LEAST} {found.measure.text}"', "the shorter time is the better"
        )
    return found
