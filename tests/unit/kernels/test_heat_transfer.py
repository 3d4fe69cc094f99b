"""Wall heat relations against worked numbers, and their use in a cylinder."""

from __future__ import annotations

import math

import numpy as np
import pytest

from enginesim.formulas import heat_transfer
from enginesim.kernels import chamber_walls
from enginesim.kernels import cylinder_layout as at
from tests.cylinders import BORE, STROKE, SWEPT, engine, filled, omega, perfect_gas

SPEED = 8.6  # m/s: 3000 rpm on a stroke of 86 mm


def test_woschni_worked() -> None:
    # Heywood, equations 12.18 and 12.19 (from memory), recomputed: bore 86 mm.
    compression = heat_transfer.woschni_velocity(SPEED, False, 0.0, 0.0)
    assert heat_transfer.woschni(0.086, 1e6, 650.0, compression) == pytest.approx(410.4, rel=1e-3)
    exchange = heat_transfer.woschni_velocity(SPEED, True, 0.0, 0.0)
    assert heat_transfer.woschni(0.086, 95e3, 330.0, exchange) == pytest.approx(201.2, rel=1e-3)


def test_woschni_worked_while_burning() -> None:
    # The same source: swept 0.5 L, reference 100 kPa, 350 K, 555.6 cm3.
    per_rise = heat_transfer.COMBUSTION * 0.5e-3 * 350.0 / (100e3 * 555.6e-6)
    velocity = heat_transfer.woschni_velocity(SPEED, False, (4000 - 1500) * 1e3, per_rise)
    assert velocity == pytest.approx(45.13, rel=1e-3)
    assert heat_transfer.woschni(0.086, 4e6, 2400.0, velocity) == pytest.approx(1181.4, rel=1e-3)


def test_pressure_below_the_motored_one_adds_nothing() -> None:
    assert heat_transfer.woschni_velocity(SPEED, False, -1e5, 1e-5) == pytest.approx(2.28 * SPEED)


def test_hohenberg_worked() -> None:
    # Hohenberg's relation (from memory), recomputed: 60 cm3, 40 bar, 2400 K.
    assert heat_transfer.hohenberg(60e-6, 40e5, 2400.0, SPEED) == pytest.approx(1249.7, rel=1e-3)


def test_annand_worked() -> None:
    # By hand: Re = 10 * 8.6 * 0.086 / 5e-5 = 147920; Re^0.7 = 4159.3.
    expected = 0.575 * 0.08 / 0.086 * 147920.0**0.7
    found = heat_transfer.annand(0.086, 10.0, SPEED, 5e-5, 0.08)
    assert found == pytest.approx(expected, rel=1e-12)
    assert found == pytest.approx(2224.7, abs=0.06)


def rate(par: np.ndarray, cyl: np.ndarray, gas: np.ndarray, **changes: float) -> float:
    state = {"p": cyl[at.C_P], "t": cyl[at.C_T], "volume": cyl[at.C_VOLUME]} | changes
    return chamber_walls.heat_rate(cyl, par, gas, *state.values(), omega(3000.0))[0]


def test_every_wall_at_its_own_temperature() -> None:
    gas, par = perfect_gas(), engine(heat=1.3, area_liner=2e-3)
    cyl = filled(par, gas, t=400.0)
    liner = 2e-3 + math.pi * BORE * (cyl[at.C_VOLUME] - SWEPT / 9.0) / (0.25 * math.pi * BORE**2)
    bore_area = 0.25 * math.pi * BORE**2
    cyl[at.C_PHASE] = at.PHASE_CLOSED
    coefficient = heat_transfer.woschni(BORE, 1e5, 400.0, 2.28 * SPEED)
    by_hand = (
        1.25 * bore_area * (400.0 - 490.0)
        + 1.05 * bore_area * (400.0 - 530.0)
        + liner * (400.0 - 410.0)
    )
    assert rate(par, cyl, gas) == pytest.approx(1.3 * coefficient * by_hand, rel=1e-12)


def test_gas_exchange_is_livelier_than_compression() -> None:
    gas, par = perfect_gas(), engine(heat=1.0)
    cyl = filled(par, gas, t=700.0)
    cyl[at.C_PHASE] = at.PHASE_OPEN
    open_rate = rate(par, cyl, gas)
    cyl[at.C_PHASE] = at.PHASE_CLOSED
    assert open_rate / rate(par, cyl, gas) == pytest.approx((6.18 / 2.28) ** 0.8, rel=1e-12)


def test_annand_radiates_only_after_the_spark() -> None:
    gas, par = perfect_gas(), engine(heat=1.0, heat_model=at.HEAT_ANNAND)
    cyl = filled(par, gas, t=2000.0)
    cyl[at.C_PHASE] = at.PHASE_CLOSED
    before = rate(par, cyl, gas)
    cyl[at.C_PHASE] = at.PHASE_BURNT
    area = 2.3 * 0.25 * math.pi * BORE**2 + 4.0 / BORE * (cyl[at.C_VOLUME] - SWEPT / 9.0)
    black = 4.3e-9 * area * 2000.0**4
    # The walls radiate back less than 1 % of that.
    assert rate(par, cyl, gas) - before == pytest.approx(black, rel=0.01)


def test_hohenberg_is_taken_when_asked_for() -> None:
    gas, par = perfect_gas(), engine(heat=1.0, heat_model=at.HEAT_HOHENBERG)
    cyl = filled(par, gas, t=900.0)
    total, conductance, t_wall, _ = chamber_walls.heat_rate(
        cyl, par, gas, 1e5, 900.0, cyl[at.C_VOLUME], omega(3000.0)
    )
    area = 2.3 * 0.25 * math.pi * BORE**2 + 4.0 / BORE * (cyl[at.C_VOLUME] - SWEPT / 9.0)
    speed = omega(3000.0) * STROKE / math.pi
    coefficient = heat_transfer.hohenberg(cyl[at.C_VOLUME], 1e5, 900.0, speed)
    assert conductance == pytest.approx(coefficient * area, rel=1e-12)
    assert total == pytest.approx(conductance * (900.0 - t_wall), rel=1e-12)


def test_zones_share_the_heat_of_the_whole() -> None:
    # By hand: the unburned zone fills 0.6 * 800 / 1500 of the volume.
    part, t_u, t_b, t_wall = 0.4, 800.0, 2550.0, 450.0
    t = 0.6 * t_u + 0.4 * t_b
    unburned = 7.0 * 0.6 * 800.0 / 1500.0 * (800.0 - 450.0)
    found = chamber_walls.burned_heat(part, t_u, t_b, t, t_wall, 7.0, 30.0)
    radiation = 30.0 * (1.0 - 0.6 * 800.0 / 1500.0)
    assert found == pytest.approx(7.0 * (t - t_wall) - unburned + radiation, rel=1e-12)


@pytest.mark.parametrize("t_u", [340.0, 700.0])
def test_a_flame_kernel_loses_heat_in_proportion_to_itself(t_u: float) -> None:
    """Also where the gas ahead of it is colder than the walls and takes heat from them."""
    loss = [
        chamber_walls.burned_heat(part, t_u, 2300.0, t_u + part * (2300.0 - t_u), 480.0, 7.0, 0.0)
        for part in (1e-6, 1e-4)
    ]
    assert loss[0] > 0.0
    assert loss[1] / loss[0] == pytest.approx(100.0, rel=1e-2)


def test_motored_pressure_is_an_isentrope() -> None:
    cyl = np.zeros(at.N_CYLINDER)
    cyl[at.C_MOTORED_P], cyl[at.C_MOTORED_V], cyl[at.C_MOTORED_GAMMA] = 9e5, 1e-4, 1.31
    assert chamber_walls.motored_pressure(cyl, 0.5e-4) == pytest.approx(9e5 * 2.0**1.31)
