"""A real simulation to the end: record, performance and audit tell one story."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import enginesim
from enginesim import gas
from enginesim.case import Case
from enginesim.cycle.curves import tables_of
from enginesim.cycle.record import CycleRecord
from enginesim.performance import Curve, Performance, summarise
from enginesim.report import save_figures

ROOT = Path(__file__).parents[2]
RPM = 3000.0


@pytest.fixture(scope="module")
def single() -> Case:
    return enginesim.load(ROOT / "cases" / "teaching-single.toml")


@pytest.fixture(scope="module")
def record(single: Case) -> CycleRecord:
    return enginesim.simulate(single, RPM, traces=True)


@pytest.fixture(scope="module")
def tables(single: Case) -> gas.GasTables:
    return tables_of(single, RPM)


@pytest.fixture(scope="module")
def result(single: Case, tables: gas.GasTables, record: CycleRecord) -> Performance:
    return summarise(single, tables, record)


def test_audit(result: Performance) -> None:
    assert result.converged, result.status
    assert abs(result.mass_error) < 1e-12
    assert abs(result.energy_error) < 1e-12
    assert result.imbalance < 1e-4


def test_work_of_samples_is_the_work_of_steps(result: Performance) -> None:
    # One sample a degree: the trapezoid's own error, see tests/unit/performance.
    assert abs(result.work_error) < 5e-4


def test_air_in_is_air_drawn(result: Performance) -> None:
    assert result.ve == pytest.approx(result.delivery_ratio, rel=2e-4)


def test_trapped_mass_is_what_the_channels_say(record: CycleRecord) -> None:
    angle, mass = record.of_cylinder("mass", 0)
    assert float(np.interp(-1.0, angle, mass)) == pytest.approx(record.trapped_mass[0], rel=1e-6)


def test_valve_flows_carry_what_the_sums_say(record: CycleRecord, single: Case) -> None:
    """Flow over time, by the trapezoid on samples a degree apart: within half a per cent."""
    dt = (record.theta[1] - record.theta[0]) / (RPM * np.pi / 30)
    vapour = single.fuel.evaporated_fraction * record.fuel_in[0]  # the rest comes as a liquid
    flowed = np.trapezoid(record.intake_flow[0]) * dt
    assert flowed == pytest.approx(record.air_in[0] + vapour, rel=5e-3)
    left = np.trapezoid(record.exhaust_flow[0]) * dt
    assert left == pytest.approx(record.exhaust_mass, rel=5e-3)


def test_wall_heat_is_that_of_the_channel_less_what_evaporates_fuel(
    single: Case, tables: gas.GasTables, record: CycleRecord
) -> None:
    dt = (record.theta[1] - record.theta[0]) / (RPM * np.pi / 30)
    liquid = (1.0 - single.fuel.evaporated_fraction) * record.fuel_in[0]
    back = single.fuel.wall_heat_share * tables.heat_of_vaporisation * liquid
    assert back > 0.0
    gas_gave = np.trapezoid(record.heat_rate[0]) * dt
    assert gas_gave - back == pytest.approx(record.heat_walls[0], rel=5e-3)


def test_exhaust_of_the_split_is_the_enthalpy_that_left(
    tables: gas.GasTables, record: CycleRecord, result: Performance
) -> None:
    """
    The split makes the exhaust from what the rest leaves; the record counted its enthalpy.

    The two differ by what the air brought (25 degC: nothing) and by what ports and runners gave
    it and by evaporation: a few per cent of the fuel's heat.
    """
    fuel = np.array([0.0, 1.0, 0.0])
    of_fuel = float(gas.energy(tables, 298.15, fuel) + gas.gas_constant(tables, fuel) * 298.15)
    unburned = float(np.sum(record.fuel_in - record.fuel_burned))
    heat = float(np.sum(record.fuel_in)) * tables.lower_heating_value
    counted = (record.exhaust_enthalpy - unburned * of_fuel) / heat
    assert result.heat_exhaust == pytest.approx(counted, abs=0.03)


def test_plausible_engine(result: Performance) -> None:
    """Bands of published engines at full load, not of this one."""
    assert 0.75 < result.ve < 1.15
    assert 8e5 < result.bmep < 13.5e5
    assert 0.6e5 < result.fmep < 2.0e5
    assert 240 < result.bsfc * 3.6e9 < 360
    assert 900 < result.egt < 1350
    assert 0.01 < result.residual < 0.12
    assert result.lambda_overall == pytest.approx(0.9, abs=0.01)


def test_charts_of_a_real_cycle(
    single: Case, record: CycleRecord, result: Performance, tmp_path: Path
) -> None:
    paths = save_figures(single, Curve([result]), tmp_path, records=[record])
    assert {path.name for path in paths} == {
        f"{stem}-3000.{ending}"
        for stem in ("cycle", "wave-intake", "wave-exhaust")
        for ending in ("png", "svg")
    }
    for tract in record.tracts:
        assert np.all(np.diff(tract.distance) > 0)
        assert tract.marks[-1][1] >= tract.distance[-1]
