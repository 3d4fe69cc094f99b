"""Is it foreseen where a front, a stirred volume and the gas behind a throttle come to rest?"""

from __future__ import annotations

import math

import numpy as np
import pytest

from enginesim.cycle import simulation
from enginesim.cycle.acceleration import _forward_flows
from enginesim.cycle.curves import tables_of
from enginesim.kernels import layout as at
from enginesim.network import streams
from enginesim.network.snapshot import taken, vessels
from tests.engines import SHAPES, shape


def along(mass: float, held: np.ndarray, y_b: np.ndarray, cooling: float = 0.0) -> np.ndarray:
    """Shifts of a duct whose burned fraction and temperature have changed alike."""
    change = np.zeros((5, len(held)))
    change[1] = change[3] = y_b
    return streams._along(np.zeros(3), mass, held, change, cooling)


def test_behind_a_front_nothing_is_to_come_and_ahead_of_it_all() -> None:
    """
    Plug flow of eight cells a cycle into a duct that held another gas.

    The front has stood at cell 12 and has come to cell 20.
    """
    held = np.full(50, 2e-6)
    arrived = np.where((np.arange(50) >= 12) & (np.arange(50) < 20), 0.4, 0.0)
    _, burned, fuel = along(8 * 2e-6, held, arrived)
    assert burned[:20] == pytest.approx(np.zeros(20), abs=1e-12)
    assert burned[28:] == pytest.approx(np.full(22, 0.4), rel=1e-12)
    assert np.all(np.diff(burned) >= 0.0)
    assert np.all(fuel == 0.0)


def test_a_duct_that_a_cycle_fills_anew_has_nothing_to_come() -> None:
    held = np.full(20, 1e-6)
    assert along(3e-5, held, np.full(20, 0.3)) == pytest.approx(np.zeros((3, 20)))


def test_heat_is_lost_on_the_way_and_burned_gas_is_not() -> None:
    held = np.full(40, 1e-6)
    arrived = np.where(np.arange(40) < 4, 0.4, 0.0)
    warmth, burned, _ = along(4e-6, held, arrived, cooling=8e-6)
    assert burned[-1] == pytest.approx(0.4, rel=1e-12)
    assert 0.0 < warmth[-1] < 0.4 * math.exp(-1.5)


@pytest.mark.parametrize("ratio", [0.2, 0.6, 0.9])
@pytest.mark.parametrize("renewal", [0.05, 0.5, 3.0])
def test_mass_and_pressure_behind_a_throttle_end_where_their_equations_do(
    renewal: float, ratio: float
) -> None:
    """Solved exactly over a cycle by the matrix exponential; what is left of a shift is its end."""
    gamma = 1.4
    s = 0.5 * ratio / (1.0 - ratio) if ratio > 0.5 else 0.0
    matrix = np.array([[-renewal, -renewal * s], [0.0, -gamma * renewal * (1.0 + s)]])
    values, vectors = np.linalg.eig(matrix)
    passed = (vectors * np.exp(values)) @ np.linalg.inv(vectors)
    before = np.array([0.02, -0.01])  # from the end, mass and pressure
    after = passed @ before
    change = after - before
    rise, gain = streams._behind_throttle(
        renewal, gamma, ratio, float(change[1]), float(change[1] - change[0])
    )
    assert rise == pytest.approx(-after[1], rel=1e-9, abs=1e-15)
    assert gain == pytest.approx(-after[0], rel=1e-9, abs=1e-15)


def test_far_ends_are_approached_by_a_quarter() -> None:
    assert streams._behind_throttle(1e-3, 1.4, 0.3, 0.2, 0.0) == (0.25, 0.25)


@pytest.mark.parametrize("name", SHAPES)
def test_every_way_of_an_engine_has_its_flow(name: str) -> None:
    """What goes through all intake valves goes through the intake's ways side by side."""
    case = shape(name, "spark.mode=schedule", "spark.advance=25")
    run = simulation.begin(case, tables_of(case, 3000.0), 3000.0)
    for _ in range(2):
        simulation.run_cycle(run)
    found = streams.Streams(run.engine.network)
    flows = _forward_flows(run)
    masses = dict(zip(found._ways, found._masses(flows), strict=True))
    into = sum(mass for way, mass in masses.items() if way.target == -1)
    assert into == pytest.approx(flows[0].sum(), rel=1e-12)
    is_open = run.engine.network.res[:, at.V_VOLUME] == 0.0
    away = sum(m for way, m in masses.items() if way.source >= 0 and way.target >= 0
               and is_open[way.target])  # fmt: skip
    alone = sum(m for way, m in masses.items() if way.source == -1 and is_open[way.target])
    assert away + alone == pytest.approx(flows[1].sum(), rel=1e-9)
    order = [way.target for way in found._ways]
    for k, way in enumerate(found._ways):
        if way.source >= 0 and not is_open[way.source]:
            assert way.source not in order[k:], "fed by a way behind it"


def test_a_muffler_that_creeps_is_put_where_it_is_bound_for() -> None:
    """Stirred: after a change f what is left is f/(exp(k) - 1), k the flow over what it holds."""
    case = shape("four: one plenum, muffler as a volume, leaking rings", "throttle.opening=0.05",
                 "spark.mode=schedule", "spark.advance=30")  # fmt: skip
    run = simulation.begin(case, tables_of(case, 3000.0), 3000.0)
    network, state = run.engine.network, run.engine.state
    for _ in range(3):
        simulation.run_cycle(run)
    before = taken(network, state)
    simulation.run_cycle(run)
    after = taken(network, state)
    flows = _forward_flows(run)
    found = streams.Streams(network).foreseen(state, before, after, flows)
    name = next(v.name for v in network.plan.volumes if v.name.startswith("muffler"))
    i = [v.name for v in network.plan.volumes].index(name)
    k = vessels(network).tolist().index(i)
    renewal = flows[1].sum() / state.res[i, at.V_MASS]
    change = after.volumes[1, k] - before.volumes[1, k]
    own = change / math.expm1(renewal)
    ahead = found.volumes[1, k] - after.volumes[1, k]
    assert np.sign(ahead) == np.sign(change)
    assert abs(ahead) >= 0.9 * min(abs(own), 0.25 * after.volumes[1, k])
    # Nothing else than what flows carry is touched.
    assert np.array_equal(found.cells[[0, 2]], after.cells[[0, 2]])
