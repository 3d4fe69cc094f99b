"""Numbers among the options: in the digits 0 to 9, finite, within a range."""

from __future__ import annotations

import math
import re
from typing import Any, Final

import click

from enginesim.base.characters import quoted

_WHOLE: Final = re.compile(r"\s*[+-]?[0-9]{1,15}\s*")
_REAL: Final = re.compile(r"\s*[+-]?(?:[0-9]{1,15}\.?[0-9]{0,15}|\.[0-9]{1,15})\s*")


class Whole(click.IntRange):
    """A whole number within a range."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """As click, in the digits 0 to 9 alone."""
        if isinstance(value, str) and not _WHOLE.fullmatch(value):
            self.fail(f"found {quoted(value)}; allowed a whole number.", param, ctx)
        number: int = super().convert(value, param, ctx)
        return number


class Real(click.FloatRange):
    """A number within a range."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """As click, in the digits 0 to 9 alone, and never nan."""
        if isinstance(value, str) and not _REAL.fullmatch(value):
            self.fail(f"found {quoted(value)}; allowed a number such as 0.8.", param, ctx)
        number: float = super().convert(value, param, ctx)
        if not math.isfinite(number):
            self.fail(f"found {quoted(value)}; allowed a finite number.", param, ctx)
        return number
