"""Volumes that creep towards their temperature by a constant ratio."""

from __future__ import annotations

import numpy as np
import pytest

from enginesim.cycle.forecast import Forecast
from enginesim.gas import tables
from enginesim.kernels import layout as at
from enginesim.kernels.reservoir import fill_reservoir
from enginesim.network.assemble import Network, assemble
from enginesim.network.gas_array import gas_array
from enginesim.network.pieces import Plan, Volume
from enginesim.network.state import State, first_state

END = 880.0
P = 1.2e5


@pytest.fixture
def vessels() -> tuple[Network, State]:
    """The open air, a muffler and a plenum."""
    plan = Plan()
    plan.add_volume(Volume("air", 0.0))
    plan.add_volume(Volume("muffler", 6e-3, P, END, 1.0))
    plan.add_volume(Volume("plenum", 3e-3))
    network = assemble(plan, gas_array(tables("gasoline 91", 0.9, 0.008)))
    return network, first_state(network)


def warm(network: Network, state: State, t: float) -> None:
    fill_reservoir(state.res, 1, network.gas, P, t, 1.0, 0.0)


def moves(forecast: Forecast, vessels: tuple[Network, State], series: np.ndarray) -> list[int]:
    network, state = vessels
    counts = []
    for t in series:
        warm(network, state, t)
        counts.append(forecast.move(network, state))
    return counts


@pytest.mark.parametrize("ratio", [0.35, 0.6, 0.8, 0.95])
def test_a_geometric_series_ends_where_it_is_bound_for(
    vessels: tuple[Network, State], ratio: float
) -> None:
    assert moves(Forecast(), vessels, END + 40.0 * ratio ** np.arange(3.0)) == [0, 0, 1]
    row = vessels[1].res[1]
    assert row[at.V_T] == pytest.approx(END, rel=1e-9)
    assert row[at.V_P] == pytest.approx(P, rel=1e-12)
    # Mass and energy belong to the new temperature: an ideal gas at the old pressure.
    assert row[at.V_MASS] * row[at.V_R] * END == pytest.approx(P * 6e-3, rel=1e-9)


@pytest.mark.parametrize(
    "series",
    [
        END + 40.0 * 0.1 ** np.arange(3.0),  # there by itself
        END + 40.0 * 0.97 ** np.arange(3.0),  # the sum would be too uncertain
        END + 40.0 * (-0.5) ** np.arange(3.0),  # alternates
        END + np.array([1.0, 2.0, 4.0]),  # runs away
        END + 1e-3 * 0.5 ** np.arange(3.0),  # not worth it
        np.full(3, END),
    ],
)
def test_any_other_series_is_left_alone(vessels: tuple[Network, State], series: np.ndarray) -> None:
    assert moves(Forecast(), vessels, series) == [0, 0, 0]
    assert vessels[1].res[1, at.V_T] == series[-1]


def test_after_a_move_three_plain_cycles_are_awaited(vessels: tuple[Network, State]) -> None:
    forecast = Forecast()
    series = END + 40.0 * 0.5 ** np.arange(6.0)
    assert moves(forecast, vessels, series) == [0, 0, 1, 0, 0, 1]


def test_a_distant_end_is_approached_by_a_quarter_at_most(vessels: tuple[Network, State]) -> None:
    series = 3000.0 - 2000.0 * 0.84 ** np.arange(3.0)
    assert moves(Forecast(), vessels, series) == [0, 0, 1]
    assert vessels[1].res[1, at.V_T] == pytest.approx(1.25 * series[-1], rel=1e-9)
