"""
What Cantera makes of a charge in a cylinder: a reactor with a moving wall, and two zones.

Three answers, none by any formula of ours: the charge compressed without chemistry, a burn by
Wiebe's law in which the burned zone is in equilibrium throughout, and burned gas that expands with
the rates of its own reactions.
"""

from __future__ import annotations

from typing import NamedTuple

import cantera as ct
import numpy as np

from enginesim.formulas import wiebe
from enginesim.formulas.crank import volume, volume_slope
from enginesim.kernels import cylinder_layout as at
from tests.cylinders import DEG, Array
from tests.unit.gas import oracle


class Charge(NamedTuple):
    """Gas at intake closing: fuel, mixture, residual [-], pressure [Pa] and temperature [K]."""

    fuel: str = "iso-octane"
    lambda_: float = 1.0
    residual: float = 0.06
    p: float = 1e5
    t: float = 360.0

    def solution(self) -> ct.Solution:
        """The charge with its residual, as Cantera has it."""
        gas = oracle.charge(self.fuel, self.lambda_)
        burned = oracle.burned(self.fuel, self.lambda_)
        y = (1.0 - self.residual) * gas.Y
        for name, fraction in burned.mass_fraction_dict().items():
            y[gas.species_index(name)] += self.residual * fraction
        gas.TPY = self.t, self.p, y
        return gas


def volume_at(par: Array, theta: float) -> float:
    return volume(theta, *(float(par[k]) for k in range(5)))


def in_reactor(
    gas: ct.Solution,
    par: Array,
    first: float,
    angles: list[float],
    speed: float,
    *,
    reacts: bool,
    tolerance: float = 1e-10,
) -> Array:
    """
    Pressure, temperature, volume and work since `first` at the angles; a row each.

    A reactor whose wall moves as the piston does, from the state that `gas` has.
    """
    reactor = ct.IdealGasReactor(gas, clone=False)
    reactor.chemistry_enabled = reacts
    reactor.volume = volume_at(par, first)
    outside = ct.Reservoir(ct.Solution("air.yaml"), clone=False)

    def velocity(time: float) -> float:
        return speed * volume_slope(first + speed * time, *(float(par[k]) for k in range(4)))

    ct.Wall(reactor, outside, A=1.0, velocity=velocity)
    network = ct.ReactorNet([reactor])
    network.rtol, network.atol = tolerance, 1e-14
    network.max_time_step = 0.5 * DEG / speed
    energy = reactor.mass * gas.u
    rows = []
    for angle in angles:
        network.advance((angle - first) / speed)
        rows.append((gas.P, gas.T, reactor.volume, energy - reactor.mass * gas.u))
    return np.array(rows)


class TwoZones:
    """
    Unburned gas on its isentrope, the rest in equilibrium, one pressure: Cantera's own solver.

    Pressure and burned temperature are those at which volume and energy both fit.
    """

    def __init__(self, par: Array, charge: Charge) -> None:
        self.par = par
        self.unburned = charge.solution()
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


def burned_in_two_zones(
    par: Array, charge: Charge, start: float, length: float, h: float = DEG
) -> Array:
    """Angle, pressure, unburned and burned temperature, work since closing; a row each `h`."""
    zones = TwoZones(par, charge)
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
    theta = start
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
