"""The pinned numbers of an engine, and by how much each may differ before it has moved."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from enginesim.case import Case, load
from enginesim.cycle.curves import simulate, tables_of
from enginesim.cycle.ignition import SPARK_TOLERANCE
from enginesim.performance.results import Performance
from enginesim.performance.summary import summarise
from tests.population.points import outcome_of
from tests.regression.engines import CASES, Pinned

NUMBERS = ("torque", "ve", "residual", "spark")
#: Relative. Instruction sets of other machines move waves by 7e-14; what is more than a ten
#: thousand times that is no rounding.
FULL_LOAD = 1e-9
BOOKS = 1e-12  # mass and energy that may be missing: rounding of some ten thousand steps

Row = dict[str, Any]


@dataclass(frozen=True)
class Measured:
    """
    What an engine gave at one speed.

    Attributes
    ----------
    row : dict
        As in the file of pins.
    allowed : dict of str to float
        By how much each number may differ from its pin. [its unit]
    """

    row: Row
    allowed: dict[str, float] = field(default_factory=dict)


def measure(engine: Pinned) -> dict[str, Measured]:
    """What an engine gives, by speed."""
    fidelity = f"numerics.fidelity={engine.fidelity}"
    case = load(CASES / f"{engine.case}.toml", (*engine.changes, fidelity))
    return {f"{rpm:g}": _measure(engine, case, rpm) for rpm in engine.speeds}


def _measure(engine: Pinned, case: Case, rpm: float) -> Measured:
    tables = tables_of(case, rpm)
    record = simulate(case, rpm, tables=tables)
    is_closed = abs(record.mass_error) <= BOOKS and abs(record.energy_error) <= BOOKS
    ends = {"ends": outcome_of(record), "books": is_closed}
    if not record.converged:
        return Measured(ends)  # where it stopped is no result
    result = summarise(case, tables, record)
    numbers = {name: float(result[name]) for name in NUMBERS}
    return Measured(ends | numbers, _allowed(engine, case, result))


def _allowed(engine: Pinned, case: Case, result: Performance) -> dict[str, float]:
    if not engine.is_light:
        return {name: FULL_LOAD * abs(float(result[name])) for name in NUMBERS}
    # At light load the last cycle is as near to the periodic one as the case asks, no nearer: its
    # mean pressure, and air and residual in the same proportion; the spark as near as it is sought.
    tolerance = case.numerics.bmep_tolerance
    part = tolerance / abs(result.imep_net)
    return {
        "torque": tolerance * result.displacement / (4.0 * math.pi),
        "ve": part * result.ve,
        "residual": part * result.residual,
        "spark": SPARK_TOLERANCE,
    }


def moves(old: Row, new: Measured) -> list[str]:
    """What differs from the pin by more than it may, in words."""
    found = [
        f"{name} was {old.get(name)!r}, is {new.row.get(name)!r}"
        for name in ("ends", "books")
        if old.get(name) != new.row.get(name)
    ]
    for name, allowed in new.allowed.items():
        value = new.row[name]
        if name in old and not abs(value - old[name]) <= allowed:
            off = (value - old[name]) / abs(old[name]) if old[name] else math.inf
            found.append(f"{name} was {old[name]:.10g}, is {value:.10g} ({off:+.1e})")
    return found
