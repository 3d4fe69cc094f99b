"""How the cylinders filled, read from an invented record."""

from __future__ import annotations

from math import isnan, pi

import numpy as np
import pytest

from enginesim.performance.filling import KAPPA, LAST, closed_wall_heat, filling
from tests.records import R_AIR, piston_volume, record

NO_LATENT = np.zeros(4)
SUPPLY = 0.97e5


def test_end_of_the_inflow() -> None:
    made = record(4000.0)
    found = filling(made, SUPPLY, R_AIR, NO_LATENT)
    angle, mass = made.of_cylinder("mass", 0)
    end = int(np.argmax(np.where(angle <= 0, mass, 0.0)))
    full = float(piston_volume(np.array([-pi]))[0])
    assert found.volume_full == pytest.approx(full)
    assert found.mass_filled == pytest.approx(mass[end])
    p = made.of_cylinder("pressure", 0)[1][end]
    volume = piston_volume(angle[end : end + 1])[0]
    assert found.p_filled == pytest.approx(p * (volume / full) ** KAPPA)
    assert found.r_filled == pytest.approx(R_AIR)
    assert found.backflow == pytest.approx(1 - float(np.mean(made.trapped_mass)) / mass[end])


def test_no_inflow_has_no_mean() -> None:
    """A shut throttle and a late cam: the intake valves of a record let nothing in."""
    shape = (4, 721)
    port = {name: np.full(shape, 1.0) for name in ("port_pressure", "port_temperature")}
    shut = record(**port, port_velocity=np.zeros(shape), intake_flow=np.full(shape, -1e-3))
    found = filling(shut, SUPPLY, R_AIR, NO_LATENT)
    assert isnan(found.p_port)
    assert isnan(found.p_port_closing)
    assert isnan(found.t_warmed)
    assert found.mass_filled > 0.0


def test_mean_of_what_flows_in() -> None:
    """Still, uniform gas in the port: every mean is its state, whatever the flow."""
    shape = (4, 721)
    still = {
        "port_pressure": np.full(shape, 0.95e5),
        "port_velocity": np.zeros(shape),
        "port_temperature": np.full(shape, 320.0),
    }
    found = filling(record(**still), SUPPLY, R_AIR, NO_LATENT)
    assert found.p_port == pytest.approx(0.95e5)
    assert found.p_port_closing == pytest.approx(0.95e5)
    assert found.t_port == pytest.approx(320.0)
    moving = still | {"port_velocity": np.full(shape, 100.0)}
    found = filling(record(**moving), SUPPLY, R_AIR, NO_LATENT)
    mach = 100.0 / np.sqrt(KAPPA * R_AIR * 320.0)
    assert found.t_port == pytest.approx(320.0 * (1 + 0.2 * mach**2))
    assert found.p_port == pytest.approx(0.95e5 * (1 + 0.2 * mach**2) ** 3.5)


def test_wave_at_closing_sees_only_the_last_of_the_inflow() -> None:
    made = record(4000.0)
    angle, mass = made.cylinder_angle(0), made.mass[0]
    p = np.full((4, 721), 0.95e5)
    most = mass[angle <= 0].max()
    p[0, (angle <= 0) & (mass >= (1 - LAST) * most)] = 1.15e5
    still = np.zeros((4, 721))
    base = filling(
        record(port_pressure=np.full((4, 721), 0.95e5), port_velocity=still), SUPPLY, R_AIR,
        NO_LATENT,
    )  # fmt: skip
    found = filling(record(port_pressure=p, port_velocity=still), SUPPLY, R_AIR, NO_LATENT)
    assert found.p_port_closing - base.p_port_closing == pytest.approx(0.2e5 / 4, rel=1e-6)
    assert 0 < found.p_port - base.p_port < 0.2e5 / 4


def test_mixing_and_warming() -> None:
    made = record(4000.0, heat_rate=np.full((4, 721), -2000.0))
    found = filling(made, SUPPLY, R_AIR, np.full(4, 5.0))
    share = made.mass[0].min() / found.mass_filled
    least = int(np.argmin(made.mass[0]))
    left = made.temperature[0, least] * (SUPPLY / made.pressure[0, least]) ** (1 - 1 / KAPPA)
    assert found.t_mixed == pytest.approx((1 - share) * found.t_port + share * left)
    angle, mass = made.of_cylinder("mass", 0)
    end = angle[int(np.argmax(np.where(angle <= 0, mass, 0.0)))]
    heat = 2000.0 * (end + 2 * pi) / (4000.0 * pi / 30)
    cp = KAPPA / (KAPPA - 1) * R_AIR
    assert found.t_warmed - found.t_mixed == pytest.approx((heat - 5.0) / (cp * found.mass_filled))


def test_without_ducts() -> None:
    found = filling(record(port_pressure=None), SUPPLY, R_AIR, NO_LATENT)
    assert isnan(found.p_port)
    assert isnan(found.t_warmed)
    assert found.mass_filled > 0


def test_wall_heat_of_compression_and_expansion() -> None:
    """A constant rate over two turns: half of it lies within half a turn of firing."""
    made = record(3000.0, heat_rate=np.full((4, 721), 1000.0))
    assert closed_wall_heat(made) == pytest.approx(4 * 1000.0 * 2 * pi / (3000 * pi / 30))
