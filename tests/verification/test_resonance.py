"""Do pipes and volumes ring at the right pitch?"""

from __future__ import annotations

import math

import numpy as np
import pytest

from enginesim.network.pieces import End, Volume
from tests.exact import acoustics
from tests.verification.rig import GAMMA, P_REST, R, Rig, air, straight

SOUND = 343.23  # m/s; air at 20 degC
T_SOUND = SOUND**2 / (GAMMA * R)
SMALL = 0.002
MOUTH = End("ambient", 0)


def frequency(time: list[float], signal: list[float]) -> float:
    """From the first to the last upward crossing of zero, interpolated. [Hz]."""
    t, s = np.array(time), np.array(signal)
    k = np.flatnonzero((s[:-1] < 0.0) & (s[1:] >= 0.0))
    crossing = t[k] - s[k] * (t[k + 1] - t[k]) / (s[k + 1] - s[k])
    return float((len(crossing) - 1) / (crossing[-1] - crossing[0]))


def isentropic(rig: Rig, rise: np.ndarray) -> None:
    """Fill the pipe with still gas whose pressure is disturbed by `rise`. [-]."""
    ratio = 1.0 + rise
    rig.fill(P_REST / (R * T_SOUND) * ratio ** (1.0 / GAMMA), 0.0, P_REST * ratio)


@pytest.mark.parametrize(
    "correction,expected",
    [
        # Recomputed, 350 mm, radius 20 mm: without end correction, with that of an unflanged end
        # (0.6133 radii, Levine & Schwinger 1948) and of a flanged one (0.8217, Rayleigh).
        (0.0, 245.17),
        (acoustics.UNFLANGED, 236.86),
        (acoustics.FLANGED, 234.17),
    ],
)
def test_quarter_wave(correction: float, expected: float) -> None:
    """Cells of 20 mm, as in an engine; the correction is length, as the network gives it."""
    length = 0.35 + correction * 0.02
    rig = Rig([straight(length, 0.04, round(length / 0.02), End(), MOUTH)], [air(P_REST, T_SOUND)])
    isentropic(rig, SMALL * np.cos(0.5 * np.pi * rig.centres() / length))
    time: list[float] = []
    signal: list[float] = []

    def watch(moving: Rig) -> None:
        time.append(moving.time)
        signal.append(moving.face_pressure(0) - P_REST)

    rig.advance(8.5 / expected, watch=watch)
    assert frequency(time, signal) == pytest.approx(expected, rel=0.01)
    assert frequency(time, signal) == pytest.approx(
        acoustics.quarter_wave(0.35, SOUND, correction * 0.02), rel=1e-3
    )
    last_period = np.array(signal)[np.array(time) > 7.5 / expected]
    assert last_period.max() > 0.95 * SMALL * P_REST  # nothing in the pipe damps it


VESSELS = [
    # Volume, neck length and diameter; the exact one-dimensional pitch; recomputed.
    (5e-3, 0.1, 0.03, 64.80),
    (0.5e-3, 0.35, 0.04, 128.03),  # as in an engine: the lumped formula says 146.38 Hz
]


def ring(volume: float, length: float, diameter: float, n: int, periods: float):
    """Time and pressure disturbance in the vessel, started in the exact mode."""
    area = 0.25 * math.pi * diameter**2
    exact = acoustics.volume_and_neck(volume, area, length, SOUND)
    vessel = Volume(
        "vessel", volume, P_REST * (1.0 + SMALL), T_SOUND * (1.0 + SMALL) ** (1.0 - 1.0 / GAMMA)
    )
    neck = straight(length, diameter, n, End("volume", 1), MOUTH)
    rig = Rig([neck], [air(P_REST, T_SOUND), vessel])
    k = 2.0 * math.pi * exact / SOUND
    isentropic(rig, SMALL * np.sin(k * (length - rig.centres())) / math.sin(k * length))
    time: list[float] = []
    signal: list[float] = []

    def watch(moving: Rig) -> None:
        time.append(moving.time)
        signal.append(moving.vessel(1)[0] - P_REST)

    rig.advance(periods / exact, watch=watch)
    return time, signal


@pytest.mark.parametrize("volume,length,diameter,expected", VESSELS)
def test_vessel_and_neck(volume: float, length: float, diameter: float, expected: float) -> None:
    time, signal = ring(volume, length, diameter, round(length / 0.02), 6.5)
    found = frequency(time, signal)
    assert found == pytest.approx(expected, rel=0.01)
    lumped = acoustics.lumped_resonator(volume, 0.25 * math.pi * diameter**2, length, SOUND)
    if lumped > 1.05 * expected:
        assert found < 0.9 * lumped  # the neck's own elasticity is there


def test_vessel_does_not_feed_the_oscillation() -> None:
    """Nothing drives it: the amplitude must not grow, on cells as coarse as 35 mm."""
    periods = 6.0
    time, signal = ring(*VESSELS[1][:3], 10, periods)
    first, last = (
        np.max(np.abs(np.array(signal)[np.abs(np.array(time) * VESSELS[1][3] - middle) < 0.5]))
        for middle in (0.5, periods - 0.5)
    )
    assert last < 1.01 * first
