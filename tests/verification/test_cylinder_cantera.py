"""Does a cylinder do what Cantera makes of the same gas in the same volume?"""

from __future__ import annotations

import math

import cantera as ct
import numpy as np
import pytest

from enginesim.kernels import cylinder_layout as at
from enginesim.kernels import wiebe
from enginesim.kernels.closed import TRACE_ANGLE, TRACE_P, TRACE_T_UNBURNED, TRACE_VOLUME
from enginesim.kernels.crank import volume, volume_slope
from enginesim.kernels.cylinder import advance
from tests.cylinders import DEG, NEVER, Array, charge, engine, filled, iso_octane, marched, omega
from tests.unit.gas import oracle

RESIDUAL = 0.06
P_0, T_0 = 1e5, 360.0


def fresh(lambda_: float) -> ct.Solution:
    """Charge with its residual at intake closing, as Cantera has it."""
    gas, residual = oracle.charge("iso-octane", lambda_), oracle.burned("iso-octane", lambda_)
    y = (1.0 - RESIDUAL) * gas.Y
    for name, fraction in residual.mass_fraction_dict().items():
        y[gas.species_index(name)] += RESIDUAL * fraction
    gas.TPY = T_0, P_0, y
    return gas


def volume_at(par: Array, theta: float) -> float:
    return volume(theta, *(float(par[k]) for k in range(5)))


def test_motored_against_a_reactor_with_a_moving_wall() -> None:
    gas, par = iso_octane(), engine(spark=NEVER)
    _, trace = marched(
        filled(par, gas, p=P_0, t=T_0, **charge(gas, RESIDUAL)), par, gas, n_step=1000
    )

    speed = omega(3000.0)
    start, end = float(par[at.P_IVC]), 0.0
    mixture = fresh(1.0)
    reactor = ct.IdealGasReactor(mixture, clone=False)
    reactor.chemistry_enabled = False
    reactor.volume = volume_at(par, start)
    outside = ct.Reservoir(ct.Solution("air.yaml"), clone=False)

    def velocity(time: float) -> float:
        slope = volume_slope(start + speed * time, *(float(par[k]) for k in range(4)))
        return slope * speed

    ct.Wall(reactor, outside, A=1.0, velocity=velocity)
    network = ct.ReactorNet([reactor])
    network.rtol, network.atol = 1e-10, 1e-14
    network.max_time_step = 0.5 * DEG / speed
    for angle in (-90.0, -45.0, end):
        network.advance((angle * DEG - start) / speed)
        row = trace[np.abs(trace[:, TRACE_ANGLE] - angle * DEG).argmin()]
        assert row[TRACE_ANGLE] == pytest.approx(angle * DEG, abs=1e-9)
        assert row[TRACE_VOLUME] == pytest.approx(reactor.volume, rel=1e-7)
        # Tables to 1e-5 in heat capacity, steps of a quarter of a degree.
        assert row[TRACE_P] == pytest.approx(mixture.P, rel=5e-5)
        assert row[TRACE_T_UNBURNED] == pytest.approx(mixture.T, rel=5e-5)


class TwoZones:
    """
    Unburned gas on its isentrope, the rest in equilibrium, one pressure: Cantera's own solver.

    Pressure and burned temperature are those at which volume and energy both fit.
    """

    def __init__(self, par: Array, lambda_: float) -> None:
        self.par = par
        self.unburned = fresh(lambda_)
        self.entropy = self.unburned.s
        self.burned = oracle.products()
        self.elements = self._products()
        self.mass = volume_at(par, float(par[at.P_IVC])) * self.unburned.density
        self.energy = self.mass * self.unburned.u
        self.t_burned = 2400.0

    def _products(self) -> np.ndarray:
        """Mass fractions of the same elements as products, whatever their balance."""
        whole = oracle.everything()
        whole.TPY = 2000.0, 1e6, self.unburned.Y
        whole.equilibrate("TP", rtol=1e-12)
        self.burned.TPX = 2000.0, 1e6, {n: whole[n].X[0] for n in self.burned.species_names}
        return self.burned.Y

    def squeezed(self, room: float) -> float:
        """Pressure of the whole charge unburned in a volume."""
        self.unburned.SV = self.entropy, room / self.mass
        return float(self.unburned.P)

    def gap(self, p: float, t_b: float, x: float, room: float, energy: float) -> Array:
        """Volume and energy that two zones of this pressure have too much."""
        self.unburned.SP = self.entropy, p
        self.burned.TPY = t_b, p, self.elements
        self.burned.equilibrate("TP", rtol=1e-10)
        mass_u, mass_b = (1.0 - x) * self.mass, x * self.mass
        return np.array(
            [
                mass_u / self.unburned.density + mass_b / self.burned.density - room,
                mass_u * self.unburned.u + mass_b * self.burned.u - energy,
            ]
        )

    def pressure(self, x: float, room: float, energy: float, p: float) -> float:
        """Newton's method, slopes by differences."""
        rest = (x, room, energy)
        t_b = self.t_burned
        for _ in range(30):
            here = self.gap(p, t_b, *rest)
            slopes = np.column_stack(
                [
                    (self.gap(p * 1.0001, t_b, *rest) - here) / (p * 0.0001),
                    (self.gap(p, t_b * 1.0001, *rest) - here) / (t_b * 0.0001),
                ]
            )
            change = np.linalg.solve(slopes, -here)
            p, t_b = p + change[0], t_b + change[1]
            if abs(change[0]) < 1e-9 * p and abs(change[1]) < 1e-7 * t_b:
                break
        self.gap(p, t_b, *rest)
        self.t_burned = float(t_b)
        return float(p)


def burned_by_cantera(par: Array, lambda_: float, start: float, length: float) -> Array:
    """Angle, pressure, unburned and burned temperature, work since closing; a row a degree."""
    zones = TwoZones(par, lambda_)
    a, m = float(par[at.P_WIEBE_A]), float(par[at.P_WIEBE_M])
    shape = [float(par[k]) for k in range(4)]
    p = zones.squeezed(volume_at(par, start))
    energy = zones.mass * zones.unburned.u
    guess = p

    def push(theta: float, energy: float) -> float:
        nonlocal guess
        x = wiebe.burned_fraction((theta - start) / length, a, m)
        room = volume_at(par, theta)
        if x < 1e-5:
            zones.unburned.UV = energy / zones.mass, room / zones.mass
            guess = float(zones.unburned.P)
        else:
            guess = zones.pressure(x, room, energy, guess)
        return guess

    rows = []
    theta, h = start, DEG
    while theta < float(par[at.P_EVO]) - 0.5 * h:
        # Runge-Kutta of fourth order for dU = -p dV.
        k_1 = -push(theta, energy) * volume_slope(theta, *shape)
        middle = volume_slope(theta + 0.5 * h, *shape)
        k_2 = -push(theta + 0.5 * h, energy + 0.5 * h * k_1) * middle
        k_3 = -push(theta + 0.5 * h, energy + 0.5 * h * k_2) * middle
        k_4 = -push(theta + h, energy + h * k_3) * volume_slope(theta + h, *shape)
        energy += h / 6.0 * (k_1 + 2.0 * k_2 + 2.0 * k_3 + k_4)
        theta += h
        p = push(theta, energy)
        work = zones.energy - energy
        rows.append((theta, p, zones.unburned.T, zones.burned.T, work))
    return np.array(rows)


@pytest.mark.parametrize("lambda_", [1.0, 0.88, 1.2])
def test_burn_against_two_zones_in_equilibrium(lambda_: float) -> None:
    gas, par = iso_octane(lambda_), engine()
    start = filled(par, gas, p=P_0, t=T_0, **charge(gas, RESIDUAL))
    cyl = start.copy()
    n, h = 1000, 0.25 * DEG
    found = []
    for k in range(n):
        theta = float(par[at.P_IVC]) + k * h
        assert advance(cyl, par, gas, theta, h, omega(3000.0), 0.0, 0.0, 0.0, 0.0) == 0
        columns = [at.C_P, at.C_T_UNBURNED, at.C_T_BURNED, at.C_WORK, at.C_X]
        found.append((theta + h, *cyl[columns]))
    ours = np.array(found)

    expected = burned_by_cantera(
        par, lambda_, float(cyl[at.C_BURN_START]), float(cyl[at.C_BURN_LENGTH])
    )
    match = [np.interp(expected[:, 0], ours[:, 0], ours[:, k]) for k in range(1, 6)]
    p, t_u, t_b, work, x = match
    burning = (x > 1e-3) & (x < 0.99)
    # Tables read between their points, steps of a quarter of a degree against fourth order.
    assert p[burning] == pytest.approx(expected[burning, 1], rel=2e-4)
    assert t_u[burning] == pytest.approx(expected[burning, 2], rel=1e-4)
    assert t_b[burning] == pytest.approx(expected[burning, 3], rel=2e-4)
    # After the burn our zones are one, and below 1700 K their composition is held.
    assert p == pytest.approx(expected[:, 1], rel=2e-3)
    assert work[-1] == pytest.approx(expected[-1, 4], rel=1e-3)
    assert math.degrees(cyl[at.C_CA50]) == pytest.approx(0.0, abs=15.0)
