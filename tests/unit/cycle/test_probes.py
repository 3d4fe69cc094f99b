"""Are the cells that a run writes down those beside the valves, and does writing change nothing?"""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from enginesim.cycle import CycleRecord, simulate
from enginesim.cycle.curves import tables_of
from enginesim.cycle.probes import places, port_cells
from enginesim.cycle.simulation import begin
from enginesim.kernels import layout as at
from tests.engines import engine

RPM = 4000.0
FEW = ("numerics.max_cycles=2", "numerics.min_cycles=2")


@pytest.fixture(scope="module")
def both() -> tuple[CycleRecord, CycleRecord]:
    """The same run without traces and with them."""
    case = engine("four", *FEW)
    return simulate(case, RPM), simulate(case, RPM, traces=True)


def test_without_traces_the_port_is_that_of_all_cells(
    both: tuple[CycleRecord, CycleRecord],
) -> None:
    short, long = both
    assert short.duct_pressure is None
    assert short.port_pressure is not None
    assert long.duct_pressure is not None
    tracts = {tract.name: tract for tract in long.tracts}
    for c, pressure in enumerate(short.port_pressure):
        first = tracts[f"intake {c + 1}"].cells[0]
        np.testing.assert_array_equal(pressure, long.duct_pressure[first])


def test_traces_change_nothing_else(both: tuple[CycleRecord, CycleRecord]) -> None:
    short, long = both
    for field in fields(CycleRecord):
        one, other = getattr(short, field.name), getattr(long, field.name)
        if isinstance(one, np.ndarray) and np.issubdtype(one.dtype, np.floating):
            np.testing.assert_array_equal(one, other, err_msg=field.name)


def test_places_are_the_cells_of_the_ducts() -> None:
    case = engine("four", *FEW)
    network = begin(case, tables_of(case, RPM), RPM).engine.network
    found = places(network)
    assert len(found) == network.n_cells
    # A cell of a duct has a volume; ghosts and padding have none.
    inverse = begin(case, tables_of(case, RPM), RPM).engine.state.x[
        found + at.R_INVERSE_VOLUME * at.STRIDE
    ]
    assert (inverse > 0.0).all()
    cells, towards = port_cells(network)
    assert len(set(cells.tolist())) == network.plan.n_cylinders
    assert set(np.abs(towards)) == {1.0}


def test_without_ducts_nothing_is_written_down() -> None:
    case = engine("four", *FEW, "numerics.fidelity=filling")
    record = simulate(case, RPM)
    assert record.port_pressure is None
