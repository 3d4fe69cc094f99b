"""One cylinder, step by step: conservation, events, limits that can be worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from enginesim.kernels import cylinder_layout as at
from enginesim.kernels import gas as mixture
from enginesim.kernels import status
from enginesim.kernels.contents import fill, reset_cycle, return_to_closing
from enginesim.kernels.cylinder import advance
from enginesim.kernels.phases import own_angle
from enginesim.kernels.zones import hot
from tests.cylinders import (
    DEG,
    NEVER,
    SWEPT,
    Array,
    charge,
    engine,
    filled,
    iso_octane,
    marched,
    omega,
    perfect_gas,
    set_burn,
)

SPEED = omega(3000.0)


def step(
    cyl: Array,
    par: Array,
    gas: Array,
    theta: float,
    dtheta: float = DEG,
    gain: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0),
) -> int:
    """One step; `gain` of air, fuel, burned gas and enthalpy."""
    return advance(cyl, par, gas, theta, dtheta, SPEED, *gain)


def contents(cyl: Array) -> Array:
    return cyl[[at.C_AIR, at.C_FUEL, at.C_BURNED]]


@pytest.mark.parametrize(
    "theta,own",
    [(0.0, 0.0), (-3.0, -3.0), (7.0, 7.0 - 4 * math.pi), (-7.0, 4 * math.pi - 7.0), (26.0, 0.867)],
)
def test_own_angle(theta: float, own: float) -> None:
    assert own_angle(theta) == pytest.approx(own, abs=3e-4)


@pytest.mark.parametrize("t,y_b", [(330.0, 0.1), (2400.0, 0.95)])
def test_filling_gives_the_state_asked_for(t: float, y_b: float) -> None:
    gas, par = iso_octane(), engine()
    cyl = filled(par, gas, p=3e5, t=t, y_b=y_b, y_f=0.02, theta=2.0)
    assert cyl[at.C_P] == pytest.approx(3e5, rel=1e-9)
    assert cyl[at.C_T] == pytest.approx(t, rel=1e-9)
    assert cyl[[at.C_YB, at.C_YF]] == pytest.approx([y_b, 0.02])
    assert contents(cyl).sum() == pytest.approx(cyl[at.C_MASS], rel=1e-15)
    # Enthalpy on the table's datum, burned part in equilibrium.
    u, r, _, _, _ = hot(gas, t, math.log(3e5), y_b, 0.02)
    assert cyl[at.C_H] == pytest.approx(u + r * t, rel=1e-9)
    assert cyl[at.C_R] == pytest.approx(r, rel=1e-9)
    assert cyl[at.C_GAMMA] == pytest.approx(
        1.0 + r / mixture.heat_capacity(gas, t, y_b, 0.02), rel=1e-9
    )


@pytest.mark.parametrize(
    "angle,phase",
    [
        (-200.0, at.PHASE_OPEN),
        (-100.0, at.PHASE_CLOSED),
        (-10.0, at.PHASE_BURNT),
        (60.0, at.PHASE_BURNT),
        (150.0, at.PHASE_OPEN),
        (360.0, at.PHASE_OPEN),
    ],
)
def test_a_cylinder_may_begin_anywhere(angle: float, phase: float) -> None:
    assert filled(engine(), iso_octane(), theta=angle * DEG)[at.C_PHASE] == phase


def test_compression_is_an_isentrope() -> None:
    gas, par = perfect_gas(gamma=1.37), engine(spark=NEVER, ivc=-math.pi)
    cyl = filled(par, gas)
    row, trace = marched(cyl, par, gas, n_step=2400)
    p_v = trace[:, 1] * trace[:, 2] ** 1.37
    # Second order in an eighth of a degree.
    assert np.ptp(p_v) / p_v[0] < 2e-6
    assert row[at.C_PEAK] / 1e5 == pytest.approx(10.0**1.37, rel=1e-5)
    assert row[at.C_PEAK_ANGLE] == pytest.approx(0.0, abs=0.2 * DEG)


def test_energy_and_mass_are_conserved_to_rounding() -> None:
    """Burn, wall heat and blow-by: what is missing inside has gone out."""
    gas = iso_octane(0.9)
    par = engine(heat=1.0, efficiency=0.97, blow_by_area=2e-7)
    start = filled(par, gas, **charge(gas, 0.08))
    row, _ = marched(start, par, gas)
    lost = row[at.C_WORK] + row[at.C_HEAT] + row[at.C_LEAK_ENERGY]
    released = row[at.C_FUEL_BURNED] * 44e6
    assert abs(row[at.C_ENERGY] + lost - start[at.C_ENERGY]) < 1e-12 * released
    leaked = row[at.C_LEAK_AIR] + row[at.C_LEAK_FUEL] + row[at.C_LEAK_BURNED]
    assert leaked > 1e-3 * start[at.C_MASS]
    assert contents(row).sum() + leaked == pytest.approx(contents(start).sum(), rel=1e-14)
    burned = row[at.C_FUEL_BURNED]
    assert start[at.C_FUEL] - burned - row[at.C_LEAK_FUEL] == pytest.approx(
        row[at.C_FUEL], abs=1e-12 * start[at.C_MASS]
    )
    fuel_air = gas[33]
    assert start[at.C_AIR] - burned / fuel_air - row[at.C_LEAK_AIR] == pytest.approx(
        row[at.C_AIR], abs=1e-12 * start[at.C_MASS]
    )


@pytest.mark.parametrize("efficiency", [1.0, 0.95])
def test_what_burns_is_the_wiebe_end_times_the_efficiency(efficiency: float) -> None:
    gas, par = iso_octane(), engine(efficiency=efficiency)
    start = filled(par, gas, **charge(gas))
    row, _ = marched(start, par, gas)
    expected = efficiency * -math.expm1(-5.0)
    assert row[at.C_FUEL_BURNED] / start[at.C_FUEL] == pytest.approx(expected, rel=1e-9)


def test_lean_charge_leaves_air_and_rich_charge_leaves_fuel() -> None:
    gas, par = iso_octane(), engine()
    for factor in (0.8, 1.2):
        kind = charge(gas)
        start = filled(par, gas, y_b=kind["y_b"], y_f=factor * kind["y_f"])
        row, _ = marched(start, par, gas)
        end = -math.expm1(-5.0)
        possible = min(start[at.C_FUEL], gas[33] * start[at.C_AIR])
        assert row[at.C_FUEL_BURNED] == pytest.approx(end * possible, rel=1e-9)
        assert contents(row).min() > 0.0


def test_zones_merge_without_loss() -> None:
    gas, par = iso_octane(), engine()
    cyl = filled(par, gas, **charge(gas))
    angle, seen = -125, []
    while angle < 125:
        before = cyl.copy()
        assert step(cyl, par, gas, angle * DEG) == status.OK
        angle += 1
        if before[at.C_PHASE] == at.PHASE_BURNING != cyl[at.C_PHASE]:
            seen.append((before, cyl.copy(), angle))
    ((before, after, angle),) = seen
    assert angle * DEG >= after[at.C_BURN_START] + after[at.C_BURN_LENGTH] > (angle - 1) * DEG
    assert after[at.C_T_UNBURNED] == after[at.C_T] == after[at.C_T_BURNED]
    assert before[at.C_T_BURNED] > before[at.C_T_UNBURNED] + 1000.0
    assert contents(after).sum() == pytest.approx(contents(before).sum(), rel=1e-15)
    work = after[at.C_WORK] - before[at.C_WORK]
    assert after[at.C_ENERGY] + work == pytest.approx(before[at.C_ENERGY], abs=1e-12)


def test_exhaust_opening_ends_a_late_burn() -> None:
    gas, par = iso_octane(), engine(evo=100.0 * DEG)
    set_burn(par, 0.0, 150.0 * DEG)
    cyl = filled(par, gas, **charge(gas))
    for k in range(-125, 110):
        assert step(cyl, par, gas, k * DEG) == status.OK
    assert cyl[at.C_PHASE] == at.PHASE_OPEN
    assert 0.5 < cyl[at.C_X] < 0.95
    assert cyl[at.C_FUEL] > 0.02 * cyl[at.C_IVC_FUEL]
    assert cyl[at.C_LAST_PEAK] == cyl[at.C_PEAK]
    assert cyl[at.C_LAST_SPARK] == 0.0
    assert cyl[at.C_EVO_P] > cyl[at.C_P], "it still expands, no valve has let anything out"


def test_a_flow_ends_two_zones() -> None:
    gas, par = iso_octane(), engine()
    cyl = filled(par, gas, **charge(gas))
    for k in range(-125, 0):
        step(cyl, par, gas, k * DEG)
    assert cyl[at.C_PHASE] == at.PHASE_BURNING
    mass, h = contents(cyl), cyl[at.C_H]
    gain = -1e-3 * mass
    assert step(cyl, par, gas, 0.0, DEG, (*gain, h * gain.sum())) == status.OK
    assert cyl[at.C_PHASE] == at.PHASE_BURNT
    assert contents(cyl) == pytest.approx(mass + gain, rel=1e-14)


def test_gross_work_is_that_of_compression_and_expansion() -> None:
    gas, par = perfect_gas(), engine(spark=NEVER)
    cyl = filled(par, gas, theta=-2.0 * math.pi)
    gross = 0.0
    for k in range(-360, 360):
        before = cyl[at.C_WORK]
        assert step(cyl, par, gas, k * DEG) == status.OK
        if -180 <= k < 180:
            gross += cyl[at.C_WORK] - before
    assert cyl[at.C_WORK_GROSS] == pytest.approx(gross, rel=1e-12, abs=1e-12)
    reset_cycle(cyl)
    sums = cyl[[at.C_WORK, at.C_WORK_GROSS, at.C_HEAT, at.C_FUEL_BURNED]]
    assert not sums.any()


def test_contents_at_closing_are_remembered_and_restored() -> None:
    gas, par = iso_octane(), engine(heat=1.0)
    cyl = filled(par, gas, theta=-130.0 * DEG, **charge(gas))
    sums = {}
    for k in range(-130, 130):
        sums[k] = cyl[[at.C_WORK, at.C_HEAT]]
        step(cyl, par, gas, k * DEG)
    assert cyl[at.C_IVC_ANGLE] == pytest.approx(-125.0 * DEG)
    again = cyl.copy()
    assert return_to_closing(again, par, gas, SPEED) == status.OK
    assert contents(again) == pytest.approx(cyl[[at.C_IVC_AIR, at.C_IVC_FUEL, at.C_IVC_BURNED]])
    assert again[at.C_PHASE] == at.PHASE_CLOSED
    row, _ = marched(again, par, gas)
    closed = sums[125] - sums[-125]
    assert row[[at.C_WORK, at.C_HEAT]] == pytest.approx(closed, rel=1e-9)
    assert row[at.C_KNOCK] == pytest.approx(cyl[at.C_LAST_KNOCK], rel=1e-9)
    assert row[at.C_PEAK] == pytest.approx(cyl[at.C_LAST_PEAK], rel=1e-9)


def test_spark_after_exhaust_opening_never_comes() -> None:
    gas, par = iso_octane(), engine(spark=NEVER)
    cyl = filled(par, gas, theta=-2.0 * math.pi, **charge(gas))
    for k in range(-360, 1080):
        assert step(cyl, par, gas, k * DEG) == status.OK
    assert cyl[at.C_FUEL_BURNED] == 0.0
    assert math.isnan(cyl[at.C_LAST_CA50])


@pytest.mark.parametrize("offset", [0.0, 5e-4])
def test_evacuated_vessel_fills_to_gamma_times_the_supply(offset: float) -> None:
    # Closed form: gas let in at 300 K ends at 420 K, gamma 1.4.
    gas, par = perfect_gas(), engine(spark=NEVER, pin_offset=offset)
    cyl = filled(par, gas, p=1.0, t=300.0, theta=-math.pi)
    h = 287.0 * 3.5 * 300.0
    mass = 1e5 * cyl[at.C_VOLUME] / (287.0 * 420.0)
    small = 1e-9
    for k in range(50):
        gain = (mass / 50, 0.0, 0.0, h * mass / 50)
        assert step(cyl, par, gas, -math.pi + k * small, small, gain) == status.OK
    assert cyl[at.C_T] == pytest.approx(420.0, rel=2e-5)


class Port:
    """A port at a steady pressure; what the cylinder pushes into it comes back first."""

    def __init__(self, p: float, t: float) -> None:
        self.p, self.h = p, 287.0 * 3.5 * t
        self.mass, self.energy, self.fresh = 0.0, 0.0, 0.0

    def enthalpy(self, taken: float, cyl: Array) -> float:
        if taken < 0.0:
            return float(taken * cyl[at.C_H])
        old = min(taken, self.mass)
        share = old / self.mass if self.mass > 0.0 else 0.0
        return share * self.energy + (taken - old) * self.h

    def level(
        self, cyl: Array, par: Array, gas: Array, theta: float, turn: float, p: float
    ) -> None:
        """One step with the inflow that leaves pressure `p` behind, by bisection."""
        low, high = -cyl[at.C_MASS], cyl[at.C_MASS] + p * SWEPT / (287.0 * 300.0)
        for _ in range(60):
            taken = 0.5 * (low + high)
            trial = cyl.copy()
            step(trial, par, gas, theta, turn, (taken, 0.0, 0.0, self.enthalpy(taken, cyl)))
            low, high = (taken, high) if trial[at.C_P] < p else (low, taken)
        energy = self.enthalpy(taken, cyl)
        step(cyl, par, gas, theta, turn, (taken, 0.0, 0.0, energy))
        old = min(taken, self.mass)
        self.fresh += taken - old
        self.energy -= energy - (taken - old) * self.h
        self.mass -= old


@pytest.mark.parametrize("back,ratio", [(1.0, 1.0), (1.1, 0.99206), (2.0, 0.92063), (0.5, 1.03968)])
def test_ideal_filling(back: float, ratio: float) -> None:
    # Heywood, equation 6.2 (from memory), recomputed: compression 10, gamma 1.4; valves that let
    # the cylinder have the port's pressure at once.
    gas, par, port = perfect_gas(), engine(spark=NEVER), Port(1e5, 300.0)
    top = -2.0 * math.pi
    cyl = filled(par, gas, p=back * 1e5, t=900.0, theta=top)
    # At the dead centre the pressures level: in small steps, so that what leaves expands first.
    for p in np.linspace(back * 1e5, 1e5, 41)[1:]:
        port.level(cyl, par, gas, top, 1e-9, p)
    for k in range(180):
        port.level(cyl, par, gas, top + k * DEG, DEG, 1e5)
    assert port.mass == pytest.approx(0.0, abs=1e-12)
    # 0.1 %: inflow at the rate of a step's beginning, one degree long.
    assert port.fresh * 287.0 * 300.0 / (1e5 * SWEPT) == pytest.approx(ratio, rel=1e-3)


def test_blow_by_is_choked_flow() -> None:
    # Published coefficient 0.68473 at gamma 1.4 (NACA 1135): m = A p C / sqrt(R T).
    gas, par = perfect_gas(), engine(spark=NEVER, blow_by_area=1e-7)
    cyl = filled(par, gas, p=10e5, t=600.0, theta=0.0)
    assert step(cyl, par, gas, 0.0, 1e-4) == status.OK
    expected = 1e-7 * 10e5 * 0.68473 / math.sqrt(287.0 * 600.0) * 1e-4 / SPEED
    assert cyl[at.C_LEAK_AIR] == pytest.approx(expected, rel=1e-5)
    low = filled(par, gas, p=0.5e5, t=600.0, theta=0.0)
    step(low, par, gas, 0.0)
    assert low[at.C_LEAK_AIR] == 0.0, "the crankcase gives nothing back"


def test_bad_steps_say_so() -> None:
    gas, par = iso_octane(), engine(spark=NEVER)
    start = filled(par, gas, theta=3.0)
    for gain, code in [
        ((-2.0 * start[at.C_AIR], 0.0, 0.0, 0.0), status.NEGATIVE_MASS),
        ((0.0, -1e-6, 0.0, 0.0), status.NEGATIVE_MASS),
        ((0.0, 0.0, 0.0, -1e3), status.NEGATIVE_ENERGY),
        ((math.nan, 0.0, 0.0, 0.0), status.NEGATIVE_MASS),
        ((0.0, 0.0, 0.0, math.nan), status.NEGATIVE_ENERGY),
    ]:
        assert step(start.copy(), par, gas, 3.0, DEG, gain) == code
    assert step(start.copy(), par, gas, 3.0) == status.OK


def test_two_zones_of_one_perfect_gas_have_the_pressure_of_one() -> None:
    """With one constant gamma the pressure follows from the energy, however it is shared."""
    gas, par = perfect_gas(release=40e6), engine()
    set_burn(par, -20.0 * DEG, 40.0 * DEG)
    cyl = filled(par, gas, **charge(gas))
    for k in range(-125, 60):
        assert step(cyl, par, gas, k * DEG) == status.OK
        sensible = cyl[at.C_ENERGY] - cyl[at.C_FUEL] * 40e6
        assert cyl[at.C_P] * cyl[at.C_VOLUME] == pytest.approx(0.4 * sensible, rel=1e-7)


def test_fill_reports_nonsense() -> None:
    cyl = np.zeros(at.N_CYLINDER)
    assert fill(cyl, engine(), iso_octane(), -1e5, 300.0, 0.0, 0.0, 0.0) == status.NEGATIVE_MASS
