"""Points that sleep instead of being simulated: what is left is the cost of handing them out."""

from __future__ import annotations

import time
from functools import cache

from enginesim.base.provenance import PHYSICS_VERSION
from enginesim.case import Case
from enginesim.performance import Performance
from tests.unit.study.results import result


@cache
def _made() -> Performance:
    return result(3000.0)


def work(
    case: Case,
    rpm: float,
    time_limit: float | None,
    physics: int,
) -> tuple[int, Performance, float]:
    """A point of `time_limit` seconds that uses no processor."""
    from dataclasses import replace

    seconds = time_limit or 0.0
    time.sleep(seconds)
    return PHYSICS_VERSION, replace(_made(), rpm=rpm), seconds
