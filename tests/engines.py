"""Invented engines whose networks differ in every way that a case can ask for."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from enginesim.case.reading import load
from enginesim.case.tree import Case
from enginesim.cycle.curves import simulate, tables_of
from enginesim.cycle.record import CycleRecord
from enginesim.performance.results import Performance
from enginesim.performance.summary import summarise

CASES = Path(__file__).parent / "cases"

#: Sparks would hide what is compared: they are found anew in each run, to a tenth of a degree.
FIXED_SPARK = ("spark.mode=schedule", "spark.advance=25")

#: Name: file and what is changed in it. Between them every kind of plenum, throttle, exhaust,
#: muffler and fuel delivery, with blow-by and without, both fidelities.
SHAPES: dict[str, tuple[str, tuple[str, ...]]] = {
    "V8: two plenums, carburettor, 4-into-1": ("minimal", ()),
    "V8: one plenum, 4-into-2-into-1": (
        "minimal",
        ("intake.layout=single plenum", "exhaust.layout=4-into-2-into-1"),
    ),
    "V8: banks joined, one muffler as a volume": (
        "minimal",
        ("exhaust.muffler=volume", "exhaust.crossover=true"),
    ),
    "V8: leaking rings": ("minimal", ("cylinder_walls.blow_by_area=2 mm2",)),
    "four: throttle for each, 4-into-2-into-1, port": ("four", ()),
    "four: log, muffler as back-pressure, direct": (
        "four",
        ("exhaust.layout=log", "fuel.delivery=direct"),
    ),
    "four: one plenum, muffler as a volume, leaking rings": (
        "four",
        (
            "intake.layout=single plenum",
            "exhaust.layout=4-into-1",
            "exhaust.muffler=volume",
            "cylinder_walls.blow_by_area=1 mm2",
        ),
    ),
    "single: open pipe": ("single", ()),
    "V8: filling": ("minimal", ("numerics.fidelity=filling",)),
    "four: filling": ("four", ("numerics.fidelity=filling",)),
}


@cache
def engine(name: str, *changes: str) -> Case:
    """One of the files under `tests/cases`, with changes as a user writes them."""
    return load(CASES / f"{name}.toml", changes)


@cache
def shape(name: str, *changes: str) -> Case:
    """One of `SHAPES`, with further changes."""
    file, own = SHAPES[name]
    return engine(file, *own, *changes)


def run(case: Case, rpm: float) -> tuple[CycleRecord, Performance]:
    """The record of one speed and what follows from it."""
    record = simulate(case, rpm)
    return record, summarise(case, tables_of(case, rpm), record)


def torque(case: Case, rpm: float) -> float:
    """Brake torque of a run that became periodic [N m]."""
    record, result = run(case, rpm)
    assert record.converged, record.status
    return result.torque
