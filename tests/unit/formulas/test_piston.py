"""Slider crank against worked numbers."""

from __future__ import annotations

from math import cos, pi, radians, sin, sqrt

import numpy as np
import pytest

from enginesim.formulas.crank import full_travel, piston_travel, trapped_ratio

INCH = 0.0254


@pytest.mark.parametrize(
    "theta, wanted",
    [  # stroke 86, rod 143 mm; recomputed from the geometry in the list of checks
        (30, 7.3864),
        (60, 26.4339),
        (90, 49.6182),
        (120, 69.4339),
        (150, 81.8646),
        (180, 86.0000),
    ],
)
def test_drop(theta: float, wanted: float) -> None:
    assert 1e3 * piston_travel(radians(theta), 0.086, 0.143) == pytest.approx(wanted, abs=5e-5)


def test_published_rise_at_70_after_bottom() -> None:
    # Published example: stroke 3.48, rod 5.7, 70 ABDC: 0.9053 in from the bottom.
    bottom = piston_travel(pi, 3.48 * INCH, 5.7 * INCH)
    rise = bottom - piston_travel(pi + radians(70), 3.48 * INCH, 5.7 * INCH)
    assert rise / INCH == pytest.approx(0.9053, abs=5e-5)


@pytest.mark.parametrize(
    "ratio, closes, stroke, rod, wanted",
    [
        # worked out from the geometry
        (10.0, 60, 3.48 * INCH, 5.7 * INCH, 8.2745),
        (9.5, 65, 3.48 * INCH, 5.7 * INCH, 7.5896),
        (10.0, 50, 0.086, 0.143, 8.7950),
        # 80.26 x 88.9 mm, rod and closing from memory: 7.446 and 6.785
        (8.8, 56, 0.0889, 0.1651, 7.446),
        (8.0, 56, 0.0889, 0.1651, 6.785),
        # the published 10.1 engine (4.030 x 3.48 in; 10.102), closing at 50, 60, 66, 70
        (10.102, 50, 3.48 * INCH, 5.7 * INCH, 8.89),
        (10.102, 60, 3.48 * INCH, 5.7 * INCH, 8.36),
        (10.102, 66, 3.48 * INCH, 5.7 * INCH, 7.99),
        (10.102, 70, 3.48 * INCH, 5.7 * INCH, 7.73),
    ],
)
def test_trapped_ratio(
    ratio: float, closes: float, stroke: float, rod: float, wanted: float
) -> None:
    digits = 10.0 ** -len(str(wanted).partition(".")[2])
    found = trapped_ratio(ratio, radians(closes), stroke, rod)
    assert found == pytest.approx(wanted, abs=digits)


def test_with_offset_the_top_is_the_top() -> None:
    drops = [piston_travel(radians(a), 0.086, 0.143, 0.005) for a in np.arange(-30.0, 30.25, 0.25)]
    assert min(drops) == pytest.approx(0.0, abs=1e-15)
    assert int(np.argmin(drops)) == 120  # at angle zero
    # by hand: crank a quarter turn beyond the direction of the axis
    radius, rod, offset = 0.043, 0.143, 0.005
    throw = radians(90)
    theta = throw - np.arcsin(offset / (rod + radius))
    top = sqrt((rod + radius) ** 2 - offset**2)
    pin = radius * cos(throw) + sqrt(rod**2 - (radius * sin(throw) - offset) ** 2)
    assert piston_travel(theta, 0.086, rod, offset) == pytest.approx(top - pin, rel=1e-12)


def test_travel_between_the_dead_centers() -> None:
    assert full_travel(0.086, 0.143) == pytest.approx(0.086, rel=1e-14)
    offset, rod = 0.005, 0.143
    lowest = max(
        piston_travel(radians(a), 0.086, rod, offset) for a in np.arange(170.0, 190.0, 0.001)
    )
    assert full_travel(0.086, rod, offset) == pytest.approx(lowest, rel=1e-9)
    assert full_travel(0.086, rod, offset) > 0.086
