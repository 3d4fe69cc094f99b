"""Where the heat goes, and how hot the exhaust is."""

from __future__ import annotations

from math import isnan

import numpy as np
import pytest

from enginesim import gas
from enginesim.performance.energy import exhaust_temperature, heat_split


@pytest.fixture(scope="module")
def stoichiometric() -> gas.GasTables:
    return gas.tables("iso-octane", 1.0, 0.0)


def test_split_of_a_hand_worked_cycle(stoichiometric: gas.GasTables) -> None:
    heat = stoichiometric.lower_heating_value * 1e-4
    split = heat_split(stoichiometric, 1e-4, 1e-4, 0.36 * heat, 0.04 * heat, 0.25 * heat)
    assert split.brake == pytest.approx(0.32)
    assert split.friction == pytest.approx(0.04)
    assert split.walls == pytest.approx(0.25)
    # All fuel burned: what is not released is what stays as carbon monoxide at 1700 K, little.
    assert 0.0 <= split.incomplete < 0.01
    whole = split.brake + split.friction + split.walls + split.incomplete + split.exhaust
    assert whole == pytest.approx(1.0, abs=1e-15)


def test_fuel_left_over_is_not_released(stoichiometric: gas.GasTables) -> None:
    all_burned = heat_split(stoichiometric, 1e-4, 1e-4, 1e3, 1e2, 1e3).incomplete
    some_left = heat_split(stoichiometric, 1e-4, 0.95e-4, 1e3, 1e2, 1e3).incomplete
    assert some_left - all_burned == pytest.approx(0.05, rel=0.01)


def test_rich_mixture_leaves_heat_in_the_exhaust() -> None:
    rich = gas.tables("iso-octane", 0.85, 0.0)
    # 15 % of the air is wanting: near 15-20 % of the heat stays as carbon monoxide and hydrogen.
    assert heat_split(rich, 1e-4, 1e-4, 1e3, 1e2, 1e3).incomplete == pytest.approx(0.18, abs=0.05)


def test_no_fuel_no_split(stoichiometric: gas.GasTables) -> None:
    assert isnan(heat_split(stoichiometric, 0.0, 0.0, 1.0, 1.0, 1.0).brake)


@pytest.mark.parametrize("t", [700.0, 999.0, 1001.0, 1250.0])
def test_temperature_of_a_known_stream(stoichiometric: gas.GasTables, t: float) -> None:
    """Enthalpy of a mixture at a temperature, and back: exact but for the iteration."""
    y = np.array([0.02, 0.001, 0.979])
    h = float(gas.energy(stoichiometric, t, y) + gas.gas_constant(stoichiometric, y) * t)
    found = exhaust_temperature(stoichiometric, 2e-3, 2e-3 * h, 0.02 * 2e-3, 0.001 * 2e-3)
    assert found == pytest.approx(t, abs=1e-6)


def test_average_is_by_enthalpy(stoichiometric: gas.GasTables) -> None:
    """Equal masses at 800 and 1200 K mix above 1000 K, since hot gas holds more."""
    y = np.array([0.0, 0.0, 1.0])
    h = [float(gas.energy(stoichiometric, t, y)) for t in (800.0, 1200.0)]
    r = float(gas.gas_constant(stoichiometric, y))
    total = h[0] + h[1] + r * 2000.0
    found = exhaust_temperature(stoichiometric, 2.0, total, 0.0, 0.0)
    assert 1000.0 < found < 1010.0


def test_no_flow_no_temperature(stoichiometric: gas.GasTables) -> None:
    assert isnan(exhaust_temperature(stoichiometric, 0.0, 0.0, 0.0, 0.0))


def test_split_where_the_flywheel_gets_next_to_nothing(stoichiometric: gas.GasTables) -> None:
    """An idling engine and one that is driven: parts are finite, and their sum is one."""
    heat = stoichiometric.lower_heating_value * 1e-6
    for net in (0.05 * heat, 0.05 * heat * (1.0 + 1e-15), -0.3 * heat):
        split = heat_split(stoichiometric, 1e-6, 1e-6, net, 0.05 * heat, 0.5 * heat)
        parts = (split.brake, split.friction, split.walls, split.incomplete, split.exhaust)
        assert np.isfinite(parts).all()
        assert sum(parts) == pytest.approx(1.0, abs=1e-14)
    assert split.brake == pytest.approx(-0.35)


@pytest.mark.parametrize("enthalpy", [-1e9, 1e9])
def test_no_temperature_for_what_hardly_flows(
    stoichiometric: gas.GasTables, enthalpy: float
) -> None:
    """Two streams that nearly cancel leave an enthalpy that belongs to no temperature."""
    assert isnan(exhaust_temperature(stoichiometric, 1e-9, 1e-9 * enthalpy, 0.0, 0.0))
