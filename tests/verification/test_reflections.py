"""Do waves reflect from ends, steps and branches with the right sign and strength?"""

from __future__ import annotations

import math

import numpy as np
import pytest

from enginesim.network.pieces import Duct, End, Section, Volume
from tests.exact import acoustics, orifice, simple_wave, travelling
from tests.exact.riemann import State
from tests.verification.rig import (
    A_REST,
    GAMMA,
    P_REST,
    RHO_REST,
    T_REST,
    R,
    Rig,
    Samples,
    air,
    straight,
)

CLOSED = End()

# ---------------------------------------------------------------- small waves

SMALL = 0.005  # 0.5 kPa over 1 bar
WIDTH = 0.4  # half length of the pulse, twenty diameters
DIAMETER = 0.04
AREA = 0.25 * math.pi * DIAMETER**2
PULSE = SMALL * 0.75 * WIDTH  # its integral: the mean of cos^4 is 3/8


def pulse(x: Samples, centre: float) -> Samples:
    return 1.0 + SMALL * travelling.bump(x - centre, WIDTH)


def strength(ratio: Samples, dx: float) -> float:
    """Integral of a wave over that of the one sent. [-]."""
    return float(np.sum(ratio - 1.0)) * dx / PULSE


@pytest.mark.parametrize("ratios", [(2.0,), (0.25,), (1.0, 1.0), (1.0,) * 4, (0.5, 3.0)])
@pytest.mark.parametrize("n", [60, 120])
def test_pipes_that_meet(ratios: tuple[float, ...], n: int) -> None:
    """
    Pipes at a merge volume as large as a cell of each, areas over that of the first: reflected
    and transmitted within 1 % of the incident wave.
    """
    length = 1.2
    pipes = [straight(length, DIAMETER, n, CLOSED, End("volume", 0))]
    pipes += [
        straight(length, DIAMETER * math.sqrt(r), n, End("volume", 0), CLOSED) for r in ratios
    ]
    merge = AREA * (1.0 + sum(ratios)) * length / n
    rig = Rig(pipes, [Volume("merge", merge, P_REST, T_REST)])
    rig.send(pulse(rig.centres(), 0.6))
    rig.advance(length / A_REST)
    exact = acoustics.junction([1.0, *ratios])
    assert strength(rig.waves(0)[1], length / n) == pytest.approx(exact.reflected, abs=0.01)
    for d in range(1, len(pipes)):
        found = strength(rig.waves(d)[0], length / n)
        assert found == pytest.approx(exact.transmitted, rel=0.01)


def step(ratio: float, n: int, taper: float) -> tuple[float, float]:
    """Reflected and transmitted share at a change of area in one duct, `taper` long. [m]."""
    length = 2.4
    parts = [Section(0.5 * (length - taper), AREA * np.ones(2), T_REST, 0.0)]
    if taper > 0.0:
        parts.append(Section(taper, AREA * np.array([1.0, ratio]), T_REST, 0.0))
    parts.append(Section(0.5 * (length - taper), AREA * ratio * np.ones(2), T_REST, 0.0))
    rig = Rig([Duct("step", tuple(parts), CLOSED, CLOSED, length / n, P_REST, T_REST)])
    rig.send(pulse(rig.centres(), 0.6))
    rig.advance(0.5 * length / A_REST)
    right, left = rig.waves()
    before = rig.centres() < 0.5 * length
    return strength(left[before], length / n), strength(right[~before], length / n)


RATIOS = (2.0, 4.0, 0.25)  # Kinsler & Frey (from memory): R -1/3, -0.6, +0.6; T 2/3, 0.4, 1.6


@pytest.mark.parametrize("ratio", RATIOS)
def test_taper_much_shorter_than_the_wave(ratio: float) -> None:
    """Over 80 mm, on cells of 40, 20 and 10 mm: within 0.5 % of the incident wave."""
    exact = acoustics.area_change(1.0, ratio)
    for n in (60, 120, 240):
        reflected, transmitted = step(ratio, n, taper=0.08)
        assert reflected == pytest.approx(exact.reflected, abs=0.005)
        assert transmitted == pytest.approx(exact.transmitted, abs=0.005)


@pytest.mark.parametrize("ratio", RATIOS)
def test_sudden_step(ratio: float) -> None:
    """A jump inside a duct, which the mesh draws out over one cell: within 0.5 % too."""
    exact = acoustics.area_change(1.0, ratio)
    reflected, transmitted = step(ratio, 120, taper=0.0)
    assert reflected == pytest.approx(exact.reflected, abs=0.005)
    assert transmitted == pytest.approx(exact.transmitted, abs=0.005)


# ---------------------------------------------------------------- waves of finite amplitude

LENGTH, CENTRE = 4.0, 2.0
# Blair, Design and Simulation of Four-Stroke Engines (1998), chapter 2, uses these two wave
# strengths (from memory); what a closed end makes of them, recomputed.
CLOSED_END = {1.2: 1.43335, 0.8: 0.63531}
OPEN_END = {1.2: 0.82928, 0.8: 1.24141}  # at ambient pressure


def plateau(x: Samples, centre: float, height: float) -> Samples:
    """Trapezium: 0.3 m flat, flanks of 0.6 m, so long that they do not break on the way."""
    return 1.0 + (height - 1.0) * np.clip((0.75 - np.abs(x - centre)) / 0.6, 0.0, 1.0)


def strong(n: int, height: float, end: End) -> tuple[Rig, list[float]]:
    """Send a plateau against the right end, wait until it is back; pressures at the end."""
    rig = Rig([straight(LENGTH, 0.04, n, CLOSED, end)], [air(P_REST, T_REST)])
    rig.send(plateau(rig.centres(), CENTRE, height))
    seen: list[float] = []
    rig.advance(LENGTH / A_REST, watch=lambda moving: seen.append(moving.face_pressure(1)))
    return rig, seen


def extreme(ratio: Samples) -> float:
    """The value farthest from one."""
    return float(ratio[np.argmax(np.abs(ratio - 1.0))])


@pytest.mark.parametrize("height", CLOSED_END)
def test_closed_end(height: float) -> None:
    rig, seen = strong(160, height, CLOSED)
    at_end = extreme(np.array(seen) / P_REST)
    assert at_end == pytest.approx(CLOSED_END[height], rel=0.01)
    assert at_end == pytest.approx(simple_wave.closed_end(height, GAMMA), rel=0.01)
    assert extreme(rig.waves()[1]) == pytest.approx(height, rel=0.01)  # comes back as it went
    assert extreme(rig.waves()[0]) == pytest.approx(1.0, abs=0.01)


def test_open_end_sends_pressure_back_as_suction() -> None:
    rig, seen = strong(160, 1.2, End("ambient", 0))
    assert np.array(seen) == pytest.approx(P_REST, rel=1e-3)
    assert extreme(rig.waves()[1]) == pytest.approx(OPEN_END[1.2], rel=0.01)


def test_open_end_sends_suction_back_as_pressure() -> None:
    """
    A bell-mouth: the air drawn in has to be accelerated, so that the pressure in the mouth falls
    below that outside and less comes back than from an end at ambient pressure.
    """
    rig, seen = strong(160, 0.8, End("ambient", 0))
    wave = State(
        RHO_REST * 0.8 ** (1.0 / GAMMA),
        -simple_wave.velocity(0.8, A_REST, GAMMA),
        0.8 * P_REST,
    )
    mouth = orifice.pipe_end(AREA, AREA, P_REST, T_REST, wave, GAMMA, R)
    assert min(seen) == pytest.approx(mouth.p, rel=0.005)
    _, back = simple_wave.parted(np.array(mouth.p / P_REST), np.array(-mouth.u), A_REST, GAMMA)
    assert extreme(rig.waves()[1]) == pytest.approx(float(back), rel=0.005)
    assert float(back) < OPEN_END[0.8] - 0.05


def test_small_suction_meets_an_end_at_ambient_pressure() -> None:
    """The head of the air drawn in is of second order: R is -1 for small waves both ways."""
    for height in (1.0 + SMALL, 1.0 - SMALL):
        rig, _ = strong(160, height, End("ambient", 0))
        assert (extreme(rig.waves()[1]) - 1.0) / SMALL == pytest.approx(
            -(height - 1.0) / SMALL, rel=0.02
        )


def test_plateau_travels_at_its_own_speed() -> None:
    """Blair's wave of 1.2: gas at 45.3 m/s, wave at 397 m/s in air at 293 K (here 300 K)."""
    rig = Rig([straight(LENGTH, 0.04, 160)])
    rig.send(plateau(rig.centres(), 1.0, 1.2))
    time = 1.5 / A_REST
    rig.advance(time)
    crest = rig.waves()[0] > 1.198
    middle = rig.centres()[crest].mean()
    speed = simple_wave.propagation(1.2, A_REST, GAMMA)
    assert (middle - 1.0) / time == pytest.approx(speed, rel=0.01)
    assert rig.flow().u.max() == pytest.approx(simple_wave.velocity(1.2, A_REST, GAMMA), rel=0.01)


@pytest.mark.parametrize("first,second", [(1.2, 1.2), (1.2, 0.8)])
def test_waves_pass_through_each_other(first: float, second: float) -> None:
    """Where two opposed waves meet pressure is X1 + X2 - 1's; then each goes on as it was."""
    rig = Rig([straight(LENGTH, 0.04, 160)])
    x = rig.centres()
    right, left = plateau(x, 1.0, first), plateau(x, 3.0, second)
    rig.send(np.where(x < 2.0, right, left))
    _, u, p = (array.copy() for array in rig.flow())  # all to the right as yet
    rho = RHO_REST * (p / P_REST) ** (1.0 / GAMMA)
    rig.fill(rho, np.where(x < 2.0, u, -u), p)
    rig.advance(1.0 / A_REST)
    meeting = simple_wave.superposition(first, second, A_REST, GAMMA)
    # The plateaus overlap off the middle by the difference of their speeds.
    seen = rig.flow()
    k = np.argmin(np.abs(seen.p / P_REST - meeting.ratio) + np.abs(seen.u - meeting.velocity))
    assert seen.p[k] / P_REST == pytest.approx(meeting.ratio, rel=0.01)
    assert seen.u[k] == pytest.approx(meeting.velocity, abs=0.01 * A_REST)
    rig.advance(2.2 / A_REST)
    after_right, after_left = rig.waves()
    assert extreme(after_right) == pytest.approx(first, rel=0.01)
    assert extreme(after_left) == pytest.approx(second, rel=0.01)
