"""What comes of one engine of a population at one speed: never an exception, always an outcome."""

from __future__ import annotations

import math
import time
import traceback
from dataclasses import dataclass
from typing import Literal, get_args

from enginesim.base.errors import CaseError, GasError, NetworkError
from enginesim.case import Case
from enginesim.cycle.curves import simulate, tables_of
from enginesim.cycle.record import CycleRecord
from enginesim.cycle.simulation import CancelledError
from enginesim.performance.summary import summarise
from tests.population.engines import Drawn

Outcome = Literal[
    "periodic", "alternating", "unsteady", "not periodic", "refused", "crashed", "unfinished"
]
OUTCOMES: tuple[Outcome, ...] = get_args(Outcome)
BOOKS = 1e-9  # what the books of mass and energy may miss
GUARD = 300.0  # a point is given up after this time of the processor [s]


@dataclass(frozen=True)
class Point:
    """
    One engine at one speed.

    Attributes
    ----------
    seed, index : int
        Engine.
    rpm : float
        Speed. [rpm]
    fidelity : str
        Of its ducts.
    opening : float
        Of its throttle; 1 without one. [-]
    outcome : str
        One of `OUTCOMES`; refused: by the run, though not by the check.
    reason : str
        Sentence of the record, or last line of what was raised.
    cycles, steps : int
        Run until the end.
    torque, ve, residual : float
        Results, not numbers where there are none. [N m], [-], [-]
    mass_error, energy_error : float
        What the books miss. [-]
    seconds : float
        Time of the processor. [s]
    """

    seed: int
    index: int
    rpm: float
    fidelity: str
    opening: float
    outcome: Outcome
    reason: str = ""
    cycles: int = 0
    steps: int = 0
    torque: float = math.nan
    ve: float = math.nan
    residual: float = math.nan
    mass_error: float = 0.0
    energy_error: float = 0.0
    seconds: float = 0.0

    @property
    def stratum(self) -> tuple[str, str]:
        """Fidelity, and how far the throttle is open."""
        wide, part = self.opening >= 1.0, self.opening >= 0.10
        return self.fidelity, "wide open" if wide else "10 to 60 %" if part else "below 10 %"

    @property
    def has_open_books(self) -> bool:
        """Whether mass or energy is missing."""
        return not (abs(self.mass_error) <= BOOKS and abs(self.energy_error) <= BOOKS)


class _Guard:
    """Stops a run that has used up its time of the processor."""

    def __init__(self) -> None:
        self._end = time.process_time() + GUARD

    def is_set(self) -> bool:
        return time.process_time() > self._end


def run_point(engine: Drawn, case: Case, rpm: float) -> Point:
    """Run an engine at a speed, whatever happens."""
    begun = time.process_time()
    found: dict[str, object] = {}
    outcome: Outcome
    try:
        tables = tables_of(case, rpm)
        begun = time.process_time()  # making a gas that is not on disk yet is no part of a point
        record = simulate(case, rpm, tables=tables, cancel=_Guard())
        found = {"cycles": record.cycles, "steps": record.steps}
        found |= {"mass_error": record.mass_error, "energy_error": record.energy_error}
        result = summarise(case, tables, record)
        found |= {"torque": result.torque, "ve": result.ve, "residual": result.residual}
        outcome, reason = outcome_of(record), record.status
    except CancelledError as error:
        outcome, reason = "unfinished", str(error)
    except (CaseError, NetworkError, GasError) as error:
        outcome, reason = "refused", str(error).splitlines()[0]
    except Exception as error:  # noqa: BLE001 - whatever it is, it is what came of this point
        place = traceback.extract_tb(error.__traceback__)[-1]
        last = traceback.format_exception_only(error)[-1].strip()
        file = place.filename.rpartition("enginesim/")[2]
        outcome, reason = "crashed", f"{last} [{file}:{place.lineno}, {place.name}]"
    return Point(
        engine.seed, engine.index, rpm, case.numerics.fidelity, opening_of(case), outcome, reason,
        seconds=round(time.process_time() - begun, 2), **found,  # type: ignore[arg-type]
    )  # fmt: skip


def opening_of(case: Case) -> float:
    """How far the throttle is open; an engine without one is wide open [-]."""
    return 1.0 if case.throttle.kind == "none" else case.throttle.opening


def outcome_of(record: CycleRecord) -> Outcome:
    """How the cycles of a record ended."""
    for outcome in OUTCOMES:
        if outcome == record.ending:
            return outcome
    msg = f"found no outcome for an ending called {record.ending!r}"
    raise ValueError(msg)
