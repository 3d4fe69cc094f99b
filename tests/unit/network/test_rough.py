"""A state is carried from a rough mesh to the proper one."""

from __future__ import annotations

import numpy as np
import pytest

from enginesim.gas import tables
from enginesim.kernels import layout as at
from enginesim.network.assemble import assemble
from enginesim.network.gas_array import gas_array
from enginesim.network.pieces import Duct, End, Plan, Volume, pipe
from enginesim.network.rough import carry, roughened
from enginesim.network.state import fill_cells, first_state, settle

N = 30


@pytest.fixture
def both():
    """The network and its rough twin, a state of each."""
    plan = Plan()
    plan.add_volume(Volume("air", 0.0))
    plan.add_volume(Volume("box", 1e-3, 1.1e5, 400.0))
    for name in ("long", "short"):
        length = 0.6 if name == "long" else 0.06
        sections = (pipe(length, [0.04, 0.05], 400.0),)
        plan.ducts.append(Duct(name, sections, End("ambient", 0), End("volume", 1), 0.02))
    network = assemble(plan, gas_array(tables("gasoline 91", 0.9, 0.008)))
    rough = roughened(network)
    return network, first_state(network), rough, first_state(rough)


def cells(network, state, d: int):
    group, first, n = (int(v) for v in network.ducts[d])
    return state.x.reshape(-1, at.N_ROWS, at.STRIDE)[group, :, first : first + n]


def test_half_the_cells_and_all_else_alike(both) -> None:
    network, _, rough, _ = both
    assert [len(m.volume) for m in network.meshes] == [30, 3]
    assert [len(m.volume) for m in rough.meshes] == [15, 2]
    assert np.array_equal(rough.end, network.end)
    assert np.array_equal(rough.res, network.res)


def test_a_linear_field_arrives_as_it_was(both) -> None:
    network, state, rough, source = both
    middles = rough.meshes[0].dx * (np.arange(15) + 0.5)
    fields = {
        "p": 1e5 + 2e4 * middles,
        "t": 300.0 + 500.0 * middles,
        "u": 50.0 - 30.0 * middles,
        "y_b": 0.5 * middles,
        "y_f": 0.05 * middles,
    }
    fill_cells(rough, source, 0, **fields)
    settle(rough, source)
    carry(rough, source, network, state)
    got = cells(network, state, 0)
    places = network.meshes[0].dx * (np.arange(30) + 0.5)
    inside = slice(1, -1)  # beyond the last rough centre a value is kept as it is
    for row, name in (
        (at.R_P, "p"),
        (at.R_T, "t"),
        (at.R_U, "u"),
        (at.R_YB, "y_b"),
        (at.R_YF, "y_f"),
    ):
        wanted = np.interp(places, middles, fields[name])
        assert got[row, inside] == pytest.approx(wanted[inside], rel=1e-9)


def test_tables_and_clock_come_along(both) -> None:
    network, state, rough, source = both
    source.res[1, at.V_GAIN_MASS] = 3.0
    source.clock[at.T_STEPS] = 17.0
    carry(rough, source, network, state)
    assert state.res[1, at.V_GAIN_MASS] == 3.0
    assert state.clock[at.T_STEPS] == 17.0
    # The step is that of the proper mesh, whose cells are all as long.
    assert state.clock[at.T_SPEED] == pytest.approx(np.max(cells(network, state, 0)[at.R_SPEED]))
    assert state.clock[at.T_SPEED] > 1.2 * source.clock[at.T_SPEED]
