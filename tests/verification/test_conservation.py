"""Is anything lost, and does gas at rest stay at rest, whatever the shape of the ducts?"""

from __future__ import annotations

import math

import numpy as np
import pytest

from enginesim.network.pieces import Duct, End, Link, Volume
from tests.verification.rig import (
    GAMMA,
    P_REST,
    T_REST,
    R,
    Rig,
    Samples,
    air,
    at,
    straight,
    tapered,
)

SEEDS = (1, 2, 3)
CLOSED = End()


def wild_area(random: np.random.Generator, n: int = 17) -> Samples:
    """Area law between 2 and 20 cm2 that jumps about."""
    return 1e-4 * random.uniform(2.0, 20.0, n)


def stir(rig: Rig, d: int, random: np.random.Generator) -> None:
    """Jumps of pressure by 4, of temperature by 3, subsonic velocities, any composition."""
    n = len(rig.net.meshes[d].volume)
    p, t = P_REST * random.uniform(0.5, 2.0, n), random.uniform(300.0, 900.0, n)
    y_b = random.uniform(0.0, 1.0, n)
    rig.fill(
        p / (R * t),
        random.uniform(-200.0, 200.0, n),
        p,
        d,
        y_b,
        random.uniform(0.0, 0.06, n) * (1.0 - y_b),
    )


def closed_network(seed: int) -> Rig:
    """Two vessels, three wild ducts between them or shut, and an orifice; nothing leaves."""
    random = np.random.default_rng(seed)
    a, b = End("volume", 0, ratio_out=0.8, ratio_in=0.6), End("volume", 1)
    ducts: list[Duct] = [
        tapered(0.7, wild_area(random), 35, a, b),
        tapered(0.4, wild_area(random), 23, b, a),
        tapered(0.3, wild_area(random), 11, a, CLOSED),
    ]
    volumes = [Volume("a", 2e-3, 1.5e5, 500.0, 0.3), Volume("b", 1e-3, 0.8e5, 300.0)]
    rig = Rig(ducts, volumes, [Link("orifice", 0, 1, 2e-5, 1e-5)])
    for d in range(len(ducts)):
        stir(rig, d, random)
    return rig


# Rounding: 1e4 additions of 1e-16 each that do not cancel are 1e-12.
ROUNDING = 1e-12


@pytest.mark.parametrize("seed", SEEDS)
def test_closed_network_loses_nothing(seed: int) -> None:
    rig = closed_network(seed)
    before, held = rig.totals(), rig.vessel(0)[2]
    rig.advance(0.02)
    assert rig.totals() == pytest.approx(before, rel=ROUNDING)
    assert abs(rig.vessel(0)[2] - held) > 0.01 * held  # much has passed through the ends


@pytest.mark.parametrize("seed", SEEDS)
def test_march_loses_nothing_and_friction_keeps_energy(seed: int) -> None:
    """The same by the shipped march: friction turns motion into heat, which stays."""
    rig = closed_network(seed)
    before = rig.totals()
    rig.march(0.02)
    assert rig.totals() == pytest.approx(before, rel=ROUNDING)
    assert rig.row(at.R_FRICTION).min() > 0.0


def test_what_leaves_is_what_the_open_air_gains() -> None:
    random = np.random.default_rng(7)
    rig = Rig([tapered(0.5, wild_area(random), 25, CLOSED, End("ambient", 0))], [air(1e5, 300.0)])
    stir(rig, 0, random)
    before = rig.totals()
    rig.advance(0.01)
    gained = rig.state.res[0]
    names = (at.V_GAIN_MASS, at.V_GAIN_BURNED, at.V_GAIN_FUEL, at.V_GAIN_ENERGY)
    for start, end, k in zip(before, rig.totals(), names, strict=True):
        assert end + gained[k] == pytest.approx(start, rel=ROUNDING)
    assert abs(gained[at.V_GAIN_MASS]) > 0.01 * before.mass


def test_momentum_of_a_closed_pipe_is_what_its_ends_push() -> None:
    rig = Rig([straight(1.0, 0.04, 50)])
    stir(rig, 0, np.random.default_rng(5))
    volume = rig.net.meshes[0].volume
    area = rig.net.meshes[0].face_area[0]
    pushed = [0.0, 0.0]  # impulse and time so far

    def watch(moving: Rig) -> None:
        dt = moving.time - pushed[1]
        pushed[0] += dt * area * (moving.face_pressure(0) - moving.face_pressure(1))
        pushed[1] = moving.time

    start = rig.row(at.R_MOM) @ volume
    rig.advance(0.005, watch=watch)
    change = rig.row(at.R_MOM) @ volume - start
    assert abs(change) > 1e-3 * P_REST * area * 0.005  # one thousandth of an end's whole push
    assert change == pytest.approx(pushed[0], abs=1e-12 * P_REST * area * 0.005)


@pytest.mark.parametrize("seed", SEEDS)
def test_entropy_of_a_closed_network_does_not_fall(seed: int) -> None:
    """Ducts alone (a vessel mixes): mass times log(p / rho^gamma) grows as waves break."""
    random = np.random.default_rng(seed)
    rig = Rig([tapered(0.7, 1e-4 * (5.0 + np.sin(np.arange(9.0))), 70, CLOSED, CLOSED)])
    stir(rig, 0, random)

    def entropy() -> float:
        rho, _, p = rig.flow()
        return float(np.sum(rho * rig.net.meshes[0].volume * np.log(p * rho**-GAMMA)))

    seen = [entropy()]
    for k in range(1, 11):
        rig.advance(k * 5e-4)
        seen.append(entropy())
    assert np.all(np.diff(seen) > 0.0)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("where", ["closed", "vessel", "air"])
def test_gas_at_rest_stays_at_rest(seed: int, where: str) -> None:
    """
    Any taper, any temperatures and compositions, through every kind of end; vessels and orifice
    at the same pressure. Velocity stays below 1e-12 of the sound speed, pressure within 1e-12.
    """
    random = np.random.default_rng(seed)
    finish = {"closed": CLOSED, "vessel": End("volume", 0), "air": End("ambient", 1)}[where]
    ducts = [
        tapered(0.7, wild_area(random), 35, End("volume", 0, ratio_out=0.4), finish),
        tapered(0.4, wild_area(random), 20, End("volume", 0), CLOSED),
    ]
    rig = Rig(
        ducts,
        [Volume("vessel", 1e-3, P_REST, 700.0, 0.5), air(P_REST, 280.0)],
        [Link("orifice", 0, 1, 1e-5, 1e-5)],
    )
    for d in range(len(ducts)):
        n = len(rig.net.meshes[d].volume)
        t = random.uniform(280.0, 1200.0, n)
        rig.fill(P_REST / (R * t), 0.0, P_REST, d, random.uniform(0.0, 1.0, n))
    rig.march(0.01)
    for d in range(len(ducts)):
        rho, u, p = rig.flow(d)
        assert np.max(np.abs(u) / np.sqrt(GAMMA * p / rho)) < 1e-12
        assert p == pytest.approx(P_REST, rel=1e-12)
    assert rig.vessel(0)[0] == pytest.approx(P_REST, rel=1e-12)
    assert abs(rig.flow_in(0)) < 1e-12 * P_REST / (R * T_REST) * 2e-3 * math.sqrt(GAMMA * R * 1200)


def test_bend_and_wall_leave_gas_at_rest_alone() -> None:
    """Friction of gas at rest is none, however large its factor."""
    rig = Rig([straight(0.5, 0.03, 25)])
    rig.set_wall(0, friction=1e3)
    rig.advance(0.01)
    assert np.all(rig.flow().u == 0.0)
