"""The simulated bench against gas tables and an independent integration."""

from __future__ import annotations

from collections.abc import Callable
from math import isfinite, isnan, pi, sqrt

import fluids
import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from enginesim.base.constants import R_DRY_AIR
from enginesim.ports.flow_bench import (
    GAMMA,
    Bench,
    PortDuct,
    blown_area,
    drawn_area,
    friction_factor,
    mach_from_stagnation,
    mach_from_static,
    nozzle_flux,
)
from tests.unit.ports.ports import CFM, INCH, INH2O

T_60F = 288.70556


@pytest.mark.parametrize(
    "gamma, wanted",
    [(1.4, 0.68473), (1.35, 0.67614), (1.30, 0.66726), (1.25, 0.65806)],
)
def test_choked_nozzle(gamma: float, wanted: float) -> None:
    # NACA Report 1135 (1953); recomputed. mdot = A p0 C / sqrt(R T0)
    flux = nozzle_flux(101325.0, 300.0, 0.0, gamma, 287.05)
    assert flux * sqrt(287.05 * 300.0) / 101325.0 == pytest.approx(wanted, abs=5e-6)


def test_subcritical_nozzle() -> None:
    # air of 101.325 kPa and 300 K to 0.9 of it: 145.91 kg/(s m2); recomputed
    flux = nozzle_flux(101325.0, 300.0, 0.9 * 101325.0, 1.4, 287.05)
    assert flux == pytest.approx(145.91, abs=5e-3)


def test_velocity_of_28_inches_of_water() -> None:
    # 60 F, 1 atm air: 106.8 m/s and 146.0 cfm/in2 incompressible (the trade's 146), 140.5 cfm/in2
    # at inlet density isentropic; recomputed, 146 from memory.
    bench = Bench(101325.0, T_60F, 28.0 * INH2O)
    incompressible = sqrt(2.0 * bench.depression / bench.density)
    assert incompressible == pytest.approx(106.8, abs=0.05)
    assert incompressible * INCH**2 / CFM == pytest.approx(146.0, abs=0.1)
    flux = nozzle_flux(bench.pressure, T_60F, bench.pressure - bench.depression)
    assert flux / bench.density * INCH**2 / CFM == pytest.approx(140.5, abs=0.05)


def test_ideal_air_speed_at_28_inches_of_water() -> None:
    # trade: about 354 ft/s, a ceiling of 147 cfm per square inch (at 20 degC)
    speed = sqrt(2.0 * 28.0 * INH2O / Bench(101325.0, 293.15, 1.0).density) / 0.3048
    assert speed == pytest.approx(354.0, abs=1.5)
    assert speed * 60.0 / 144.0 == pytest.approx(147.0, abs=1.0)


def test_other_depressions_do_not_follow_the_square_root() -> None:
    # 10 to 28 inH2O: 1.673 by the square root, 1.632 compressible; 25 to 28: 1.058 by the root.
    flux = [float(nozzle_flux(101325.0, T_60F, 101325.0 - h * INH2O)) for h in (10.0, 25.0, 28.0)]
    assert sqrt(2.8) == pytest.approx(1.673, abs=5e-4)
    assert flux[2] / flux[0] == pytest.approx(1.632, abs=5e-4)
    assert flux[2] / flux[1] < sqrt(28.0 / 25.0) == pytest.approx(1.058, abs=5e-4)


@pytest.mark.parametrize(
    "mach, area_ratio, pressure_ratio",
    [  # NACA Report 1135, table I; recomputed
        (0.2, 2.96352, 0.97250),
        (0.3, 2.03507, 0.93947),
        (0.5, 1.33984, 0.84302),
        (0.8, 1.03823, 0.65602),
    ],
)
def test_mach_numbers(mach: float, area_ratio: float, pressure_ratio: float) -> None:
    p_0, t_0, throat = 2e5, 320.0, 1e-3
    choked = float(nozzle_flux(p_0, t_0, 0.0)) * throat
    area = area_ratio * throat
    found = mach_from_stagnation(choked, area, p_0, t_0)
    # five digits of the table's area; Mach 0.8 is near the throat, where area hardly changes
    assert found == pytest.approx(mach, abs=5e-5)
    found = mach_from_static(choked, area, pressure_ratio * p_0, t_0)
    assert found == pytest.approx(mach, abs=2e-5)


def test_a_choked_section_is_told() -> None:
    too_much = float(nozzle_flux(1e5, 300.0, 0.0)) * 1e-3 * 1.0001
    assert isnan(mach_from_stagnation(too_much, 1e-3, 1e5, 300.0))


@pytest.mark.parametrize("roughness", [2e-4, 1e-3, 5e-3, 2e-2])
@pytest.mark.parametrize("reynolds", [2e4, 5e4, 1e5, 5e5, 1e6])
def test_friction_is_near_colebrook(reynolds: float, roughness: float) -> None:
    wanted = fluids.friction.Colebrook(reynolds, roughness)
    assert friction_factor(reynolds, roughness) == pytest.approx(wanted, rel=0.03)


def constant(factor: float) -> Callable[[float, float], float]:
    return lambda _re, _rough: factor


@pytest.mark.parametrize(
    "mach_in, mach_out, length, stagnation",
    [  # differences of the Fanno table's fL/D (Darcy), and ratios of its p0/p0*; recomputed
        (0.2, 0.3, 14.53327 - 5.29925, 2.03507 / 2.96352),
        (0.3, 0.5, 5.29925 - 1.06906, 1.33984 / 2.03507),
    ],
)
def test_fanno_pipe(mach_in: float, mach_out: float, length: float, stagnation: float) -> None:
    area, factor, t_0, p_0 = 1e-3, 0.02, 300.0, 101325.0
    diameter = sqrt(4.0 * area / pi)
    duct = PortDuct(
        (area,) * 401, length * diameter / factor, entry_loss=0.0, friction=constant(factor)
    )
    density = p_0 / (R_DRY_AIR * t_0)
    power = -(GAMMA + 1.0) / (2.0 * (GAMMA - 1.0))
    flow = (
        area * p_0 * sqrt(GAMMA / (R_DRY_AIR * t_0)) * mach_in * (1.0 + 0.2 * mach_in**2) ** power
    )
    bench = Bench(p_0, t_0, 0.8 * p_0)  # the valve chokes: its area tells the stagnation pressure
    found = float(drawn_area(duct, bench, flow / density))
    choked = float(nozzle_flux(1.0, t_0, 0.0))
    assert flow / found / choked / p_0 == pytest.approx(stagnation, rel=2e-5)
    assert mach_out > mach_in


def taper() -> PortDuct:
    s = np.linspace(0.0, 1.0, 21)
    return PortDuct(tuple(1.6e-3 - 0.5e-3 * s + 0.3e-3 * s * (1.0 - s)), 0.14)


def independent(mass_flow: float, mach: float, duct: PortDuct, t_0: float, back: bool) -> float:
    """Mach number in the valve's end by the influence coefficients of one-dimensional flow."""
    place = np.linspace(0.0, duct.length, len(duct.area))
    viscosity = 1.854e-5 * (t_0 / 300.0) ** 0.7

    def slope(x: float, y: np.ndarray) -> list[float]:
        m2 = y[0]
        area = np.interp(x, place, duct.area)
        gradient = np.interp(x + 1e-7, place, duct.area) - np.interp(x - 1e-7, place, duct.area)
        diameter = sqrt(4.0 * area / pi)
        f = float(
            friction_factor(mass_flow * diameter / (area * viscosity), duct.roughness / diameter)
        )
        sign = -1.0 if back else 1.0
        head = 1.0 + 0.5 * (GAMMA - 1.0) * m2
        rate = -2.0 * head / (1.0 - m2) * gradient / 2e-7 / area
        rate += sign * GAMMA * m2 * head / (1.0 - m2) * f / diameter
        return [m2 * rate]

    found = solve_ivp(
        slope, (0.0, duct.length), [mach**2], rtol=1e-9, atol=1e-12, max_step=duct.length / 400
    )
    return sqrt(found.y[0, -1])


def test_drawn_against_an_independent_integration() -> None:
    duct, bench = taper(), Bench(101325.0, 293.15, 28.0 * INH2O)
    volume_flow = 0.11
    flow = volume_flow * bench.density

    def mach_at_flange() -> float:
        # static and stagnation pressure after the entry loss: p0 = p_b - K gamma/2 p M^2
        def excess(m: float) -> float:
            p_0 = bench.pressure
            p = p_0 * (1.0 + 0.2 * m * m) ** -3.5
            return (
                p
                * m
                * sqrt(GAMMA / (R_DRY_AIR * bench.temperature))
                * sqrt(1.0 + 0.2 * m * m)
                * float(duct.area[0])
                - flow
            )

        before = brentq(excess, 1e-6, 0.9)
        p = bench.pressure * (1.0 + 0.2 * before**2) ** -3.5
        p_0 = bench.pressure - duct.entry_loss * 0.5 * GAMMA * p * before**2
        return mach_from_stagnation(flow, duct.area[0], p_0, 293.15)

    mach = independent(flow, mach_at_flange(), duct, bench.temperature, back=False)
    root = sqrt(R_DRY_AIR * bench.temperature / GAMMA)
    p_0 = flow * root / (duct.area[-1] * mach) * (1.0 + 0.2 * mach**2) ** 3.0
    wanted = flow / nozzle_flux(p_0, bench.temperature, bench.pressure - bench.depression)
    # march of second order with 20 cells: 1e-5
    assert drawn_area(duct, bench, volume_flow) == pytest.approx(float(wanted), rel=1e-5)


def test_blown_against_an_independent_integration() -> None:
    duct, bench = taper(), Bench(101325.0, 293.15, 28.0 * INH2O)
    volume_flow = 0.09
    flow = volume_flow * bench.density
    start = mach_from_static(flow, duct.area[0], bench.pressure, bench.temperature)
    mach = independent(flow, start, duct, bench.temperature, back=True)
    root = sqrt(R_DRY_AIR * bench.temperature / GAMMA)
    face = flow * root / (duct.area[-1] * mach * sqrt(1.0 + 0.2 * mach**2))
    wanted = flow / nozzle_flux(bench.pressure + bench.depression, bench.temperature, face)
    assert blown_area(duct, bench, volume_flow) == pytest.approx(float(wanted), rel=1e-5)


def test_without_friction_and_entry_loss_drawing_is_a_plain_nozzle() -> None:
    duct = PortDuct(taper().area, 0.14, entry_loss=0.0, friction=constant(0.0))
    bench = Bench(101325.0, 293.15, 28.0 * INH2O)
    plain = nozzle_flux(bench.pressure, bench.temperature, bench.pressure - bench.depression)
    for flow in (0.0, 0.02, 0.08, 0.11):
        wanted = flow * bench.density / plain
        assert drawn_area(duct, bench, flow) == pytest.approx(wanted, rel=1e-12)


def test_a_flow_that_the_port_cannot_pass_has_no_area() -> None:
    bench = Bench(101325.0, 293.15, 28.0 * INH2O)
    assert isnan(drawn_area(taper(), bench, 1.0))
    assert not isfinite(blown_area(taper(), bench, 1.0)) or blown_area(taper(), bench, 1.0) > 1


def test_a_loss_that_eats_the_whole_pressure_has_no_area() -> None:
    """A root of the stagnation pressure must not come out as a negative area, which would pass."""
    bench = Bench(101325.0, 293.15, 28.0 * INH2O)
    narrow = PortDuct((2.2e-4,) * 2, 8.0, roughness=1e-3)  # two cells: the march leaps past zero
    assert not drawn_area(narrow, bench, 0.04) <= 2.2e-4
