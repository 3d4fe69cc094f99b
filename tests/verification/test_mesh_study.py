"""Is the torque of a whole engine that of the equations, not of cells, steps and tolerances?"""

from __future__ import annotations

import numpy as np
import pytest

from tests.engines import FIXED_SPARK, engine, torque

#: Run to rest: what is compared here is smaller than the tolerances in everyday use.
AT_REST = (
    *FIXED_SPARK,
    "numerics.bmep_tolerance=10 Pa",
    "numerics.imbalance_tolerance=1e-5",
    "numerics.max_cycles=100",
)
#: Asked for: a tenth of what one tells from another on a dynamometer.
ALLOWED = 0.003

ENGINES = {
    "V8 at 2000": ("minimal", 2000.0, ()),
    "V8 at 5000": ("minimal", 5000.0, ()),
    "V8 with logs at 3500": ("minimal", 3500.0, ("exhaust.layout=log",)),
    "four at its tuned 5000": ("four", 5000.0, ()),
    "four with a log at 3500": ("four", 3500.0, ("exhaust.layout=log",)),
    "single at 3500": ("single", 3500.0, ()),
}


def found(name: str, *changes: str) -> float:
    file, rpm, own = ENGINES[name]
    return torque(engine(file, *own, *AT_REST, *changes), rpm)


@pytest.mark.slow
@pytest.mark.parametrize("name", ENGINES)
@pytest.mark.parametrize("change", ["cell_size=10 mm", "cell_size=30 mm", "cfl=0.4"])
def test_mesh_and_step_do_not_matter(name: str, change: str) -> None:
    assert found(name, f"numerics.{change}") == pytest.approx(found(name), rel=ALLOWED)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["V8 at 2000", "four with a log at 3500"])
def test_crank_step_does_not_matter(name: str) -> None:
    steps = [found(name, f"numerics.crank_step={step} deg") for step in (1.0, 0.25)]
    assert steps[0] == pytest.approx(steps[1], rel=ALLOWED)


@pytest.mark.slow
def test_torque_settles_with_the_cells(record_property: pytest.RecordProperty) -> None:
    """
    Root mean square over all engines of the change on halving the cells: 0.09, then 0.05 per cent.

    That is order 1, reported and not held to two: ducts have whole numbers of cells, so that no
    mesh is half of another, and with the cells the step shrinks, whose boundaries are of first
    order. Cells of 40 mm are too long to begin from: two or three of them are a port. Pulses and
    pipes, where the order can be seen, keep two: `test_smooth_waves`.
    """
    sizes = (20.0, 10.0, 5.0)
    table = np.array([[found(n, f"numerics.cell_size={s} mm") for s in sizes] for n in ENGINES])
    changes = np.sqrt(np.mean((np.diff(table, axis=1) / table[:, 1:]) ** 2, axis=0))
    order = float(np.log2(changes[0] / changes[1]))
    record_property("changes", changes.tolist())
    record_property("order", order)
    assert changes[0] < 0.0015, changes
    assert changes[1] < 0.001, changes
    assert order > 0.5, order


@pytest.mark.slow
@pytest.mark.parametrize("name", ["V8 at 5000", "four at its tuned 5000", "single at 3500"])
def test_everyday_tolerances_are_tight_enough(name: str) -> None:
    file, rpm, own = ENGINES[name]
    everyday = torque(engine(file, *own, *FIXED_SPARK), rpm)
    # A change below 0.01 bar a cycle leaves a few of them to come, of some 11 bar.
    assert everyday == pytest.approx(found(name), rel=2e-3)
