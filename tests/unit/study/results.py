"""Results that nobody simulated, for tests of what is done with many of them."""

from __future__ import annotations

from dataclasses import fields, replace
from functools import cache
from typing import Any

import numpy as np

from enginesim import summarise
from enginesim.performance import Performance
from tests.records import record


@cache
def _made() -> Performance:
    return summarise(record(3000.0))


def result(rpm: float, **values: Any) -> Performance:
    """A plausible result at a speed, with some fields given."""
    return replace(_made(), rpm=rpm, **values)


def same(one: Performance, other: Performance) -> bool:
    """Whether two results agree in every bit, what is not a number included."""
    pairs = [(getattr(one, f.name), getattr(other, f.name)) for f in fields(Performance)]
    return all(
        type(a) is type(b) and (a == b or (isinstance(a, float) and np.isnan(a) and np.isnan(b)))
        for a, b in pairs
    )
