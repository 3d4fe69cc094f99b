"""
Does the length of an intake pipe move the best filling as the published rule says?

The rule is Engelman's (ASME 73-WA/DGP-2, 1973, from memory): the pipe and the cylinder at half
stroke ring as a volume and a neck, and fill best where the engine turns at that frequency over 2.1.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from enginesim.case import load
from enginesim.cycle import curve
from enginesim.cycle.curves import tables_of
from enginesim.performance import summarise
from tests.exact.ideal_cycle import engelman_speed
from tests.plain_single import PLAIN

CASE = Path(__file__).parents[2] / "cases" / "teaching-single.toml"

PORT = 0.100  # of the case [m]
#: Overtones of the pipe ride on the curve of filling as ripples, spaced by a seventh to a fifth of
#: the speed; a bell of 8 % of the speed takes them off.
BELL = 0.08

pytestmark = pytest.mark.slow


def rule_rpm(length: float) -> float:
    """Speed of best filling: 86 x 86 mm, ratio 10, pipe of 40 mm, sound at 346 m/s."""
    swept = 0.25 * math.pi * 0.086**3
    area = 0.25 * math.pi * 0.040**2
    return engelman_speed(area, length, swept, 10.0, 346.0) * 30.0 / math.pi


def best_rpm(length: float) -> float:
    """Speed of best filling of the engine, ripples taken off."""
    middle = rule_rpm(length)
    # Wide enough for the bell and a best speed 15 % off the rule.
    speeds = np.arange(0.68, 1.36, 0.04) * middle
    case = load(CASE, (*PLAIN, f"intake.runner_lengths={1000 * (length - PORT):.0f} mm"))
    records = curve(case, [float(rpm) for rpm in speeds])
    assert all(record.converged for record in records)
    filling = np.array([summarise(case, tables_of(case, r.rpm), r).ve for r in records])
    fine = np.linspace(speeds[3], speeds[-4], 400)
    weight = np.exp(-0.5 * (np.log(fine[:, None] / speeds) / BELL) ** 2)
    smooth = (weight * filling).sum(axis=1) / weight.sum(axis=1)
    best = int(smooth.argmax())
    assert 0 < best < len(fine) - 1
    return float(fine[best])


def test_rule_gives_the_published_speeds() -> None:
    # Same formula in the trade's units, worked out beforehand: 250 mm 6387, 800 mm 3570 rpm; one
    # part in a thousand is what its rounded factor of 162 is worth.
    assert rule_rpm(0.250) == pytest.approx(6387.0, rel=1e-3)
    assert rule_rpm(0.800) == pytest.approx(3570.0, rel=1e-3)


def test_longer_pipes_fill_best_at_lower_speeds_near_the_rule() -> None:
    lengths = (0.250, 0.450, 0.800)
    found = [best_rpm(length) for length in lengths]
    assert found[0] > found[1] > found[2]
    for length, rpm in zip(lengths, found, strict=True):
        # The factor is quoted as 2.0 to 2.5, usually 2.1: 12 % is its spread.
        assert rpm == pytest.approx(rule_rpm(length), rel=0.12)
