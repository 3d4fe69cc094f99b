"""Is what an engine holds put back as it was, and mixed into what a gas can be?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from enginesim.cycle import simulation
from enginesim.cycle.curves import tables_of
from enginesim.kernels import cylinder_layout as cl
from enginesim.kernels import layout as at
from enginesim.network.snapshot import Snapshot, mixed, put, taken
from tests.engines import FIXED_SPARK, engine

RPM = 4000.0


def cycled(cycles: int) -> simulation.Run:
    case = engine("minimal", *FIXED_SPARK)
    run = simulation.begin(case, tables_of(case, RPM), RPM)
    for _ in range(cycles):
        simulation.run_cycle(run)
    return run


@pytest.fixture(scope="module")
def three() -> tuple[simulation.Run, list[Snapshot]]:
    """A run, and what it held after each of its three cycles."""
    run = cycled(0)
    seen = []
    for _ in range(3):
        simulation.run_cycle(run)
        seen.append(taken(run.engine.network, run.engine.state))
    return run, seen


def test_a_run_goes_on_from_a_snapshot_as_it_would_have() -> None:
    """But for rounding, and for the Newton step that finds a cell's temperature again."""
    run, other = cycled(2), cycled(0)
    put(other.engine.network, other.engine.state, taken(run.engine.network, run.engine.state))
    simulation.run_cycle(run)
    simulation.run_cycle(other)
    assert other.history[-1][0] == pytest.approx(run.history[-1][0], rel=1e-6)
    assert other.books is not None
    assert abs(other.books.mass_gap / other.books.air) < 1e-12


def test_what_is_put_is_taken(three: tuple[simulation.Run, list[Snapshot]]) -> None:
    run, seen = three
    put(run.engine.network, run.engine.state, seen[1])
    again = taken(run.engine.network, run.engine.state)
    assert again.cells == pytest.approx(seen[1].cells, rel=1e-9, abs=1e-9)
    assert again.volumes == pytest.approx(seen[1].volumes, rel=1e-12)
    assert np.array_equal(again.cylinders, seen[1].cylinders, equal_nan=True)
    assert np.array_equal(again.back, seen[1].back)


def test_a_factor_of_one_goes_from_the_first_to_the_second(
    three: tuple[simulation.Run, list[Snapshot]],
) -> None:
    """Back from the third to the second: what lies within the limit arrives."""
    _, (_, second, third) = three
    found = mixed(third, [(-1.0, second, third)], 10.0)
    assert found.cells == pytest.approx(second.cells, rel=1e-9, abs=1e-9)
    assert found.volumes == pytest.approx(second.volumes, rel=1e-9, abs=1e-3)


def test_a_long_step_is_cut_as_a_whole_and_fractions_stay_fractions(
    three: tuple[simulation.Run, list[Snapshot]],
) -> None:
    _, (first, second, third) = three
    found = mixed(third, [(1e4, first, second)], 0.25)
    for new, old in ((found.cells, third.cells), (found.volumes, third.volumes)):
        assert np.max(np.abs(new[:2] / old[:2] - 1.0)) <= 0.25 + 1e-12
        assert np.all((new[3] >= 0.0) & (new[4] >= 0.0) & (new[3] + new[4] <= 1.0))
    part = (found.cells[0] - third.cells[0]) / (second.cells[0] - first.cells[0])
    assert part == pytest.approx(np.full(len(part), part[0]), rel=1e-6)


def test_a_burning_cylinder_stays_and_its_memory_moves(
    three: tuple[simulation.Run, list[Snapshot]],
) -> None:
    _, (first, second, third) = three
    is_burning = third.cylinders[:, cl.C_PHASE] == cl.PHASE_BURNING
    assert is_burning.any()
    longer = third.cylinders.copy()
    longer[:, cl.C_LAST_LENGTH] *= 1.1
    found = mixed(
        third, [(0.5, first, second), (1.0, third, replace(third, cylinders=longer))], 0.5
    )
    old = third.cylinders[is_burning, : cl.C_LAST_LENGTH]
    assert np.array_equal(found.cylinders[is_burning, : cl.C_LAST_LENGTH], old, equal_nan=True)
    assert np.all(found.cylinders[:, cl.C_LAST_LENGTH] > third.cylinders[:, cl.C_LAST_LENGTH])


def test_what_waits_before_a_mouth_stays_a_gas(
    three: tuple[simulation.Run, list[Snapshot]],
) -> None:
    _, (_, _, third) = three
    back = np.array([[1e-6, 1e-7, 1e-8, 0.3]])
    less = replace(third, back=back - [[2e-6, 0.0, 0.0, 0.0]])
    here = replace(third, back=back)
    assert np.array_equal(mixed(here, [(1.0, here, less)], 1.0).back, back)


def test_pressure_ahead_of_a_volume_moves_with_its_pressure(
    three: tuple[simulation.Run, list[Snapshot]],
) -> None:
    run, (_, second, third) = three
    put(run.engine.network, run.engine.state, mixed(third, [(0.5, second, third)], 1.0))
    res = run.engine.state.res
    is_volume = res[:, at.V_VOLUME] > 0.0
    ratio = res[is_volume, at.V_AHEAD] / res[is_volume, at.V_P]
    assert ratio == pytest.approx(np.ones(is_volume.sum()), abs=0.05)
