"""How does one variable drive another field: ``cam.lobe_separation - 5 deg``?"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from enginesim.base.characters import quoted
from enginesim.base.numerals import doubt
from enginesim.base.readings import read
from enginesim.base.units import UnitError, unit
from enginesim.case.quantities import Unfit
from enginesim.study.values import Amount, rounded, with_at

_NUMBER = r"(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_UNIT = r"[A-Za-z%°][A-Za-z0-9%°/^*-]*"
_LINK = re.compile(
    rf"\s*(?:(?P<factor>[+-]?\s*{_NUMBER})\s*(?P<factor_unit>{_UNIT})?\s*\*\s*)?"
    r"(?P<source>[A-Za-z_][\w.]*)"
    rf"\s*(?:(?P<sign>[+-])\s*(?P<offset>{_NUMBER})\s*(?P<offset_unit>{_UNIT})?\s*)?"
)
ALLOWED: Final = (
    'a variable with a factor before it and an offset behind, such as "1.2 * '
    'exhaust.primary_diameter + 2 mm"; either may be left out'
)

_LONGEST: Final = 400  # characters of a formula [-]
_ONCE: Final = Amount(1.0)
_NOTHING: Final = Amount(0.0)


@dataclass(frozen=True, slots=True)
class Link:
    """
    A field that follows a variable: factor x variable + offset.

    Attributes
    ----------
    target : str
        Dotted field that follows.
    source : str
        Name of the variable.
    factor, offset : Amount
        Either may have a unit.
    at : str
        What stands after ``@`` of the target; empty for that of the variable, or none.
    """

    target: str
    source: str
    factor: Amount = _ONCE
    offset: Amount = _NOTHING
    at: str = ""

    @property
    def text(self) -> str:
        """As it is written in a study file, without the target."""
        text = self.source
        if self.factor != _ONCE:
            text = f"{self.factor.text} * {text}"
        if self.offset.number:
            sign = "-" if self.offset.number < 0.0 else "+"
            text += f" {sign} {self.offset.text.removeprefix('-')}"
        return with_at(text, self.at)

    def value(self, source: float) -> float:
        """
        Value of the target.

        Parameters
        ----------
        source : float
            Value of the variable. [SI]

        Returns
        -------
        float
            Value of the target. [SI]
        """
        return self.factor.difference * source + self.offset.difference


def parse(target: str, text: str) -> Link:
    """
    Link from what was written.

    Parameters
    ----------
    target : str
        Dotted field that follows.
    text : str
        Such as ``cam.lobe_separation - 5 deg``.

    Returns
    -------
    Link
        Not yet compared with the fields.

    Raises
    ------
    Unfit
        If it cannot be understood.

    Examples
    --------
    >>> parse("cam.intake_centreline", "cam.lobe_separation - 5 deg").offset.text
    '-5 deg'
    >>> parse("cam.exhaust.durations", "cam.intake.durations + 8 deg @ 0.050 in").at
    '0.050 in'
    """
    why = doubt(text) or ("it is too long" if len(text) > _LONGEST else "")
    formula, mark, at = (part.strip() for part in text.partition("@"))
    match = None if why else _LINK.fullmatch(formula)
    if mark and not why:
        try:
            unit(read(at).unit_text)
        except UnitError as error:
            raise Unfit(quoted(text), ALLOWED, str(error)) from None
    if match is None:
        raise Unfit(quoted(text), ALLOWED, why)
    for part in ("factor_unit", "offset_unit"):
        try:
            unit(match[part] or "")
        except UnitError as error:
            raise Unfit(quoted(text), ALLOWED, str(error)) from None
    factor = rounded(float((match["factor"] or "1").replace(" ", "")))
    offset = rounded(float((match["sign"] or "+") + (match["offset"] or "0")))
    return Link(
        target,
        match["source"],
        Amount(factor, match["factor_unit"] or ""),
        Amount(offset, (match["offset_unit"] or "") if offset else ""),
        at,
    )
