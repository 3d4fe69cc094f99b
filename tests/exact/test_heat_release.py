"""Finite heat release against the published example, and against its two limits."""

from __future__ import annotations

import math

import pytest

from tests.exact.heat_release import cycle, simple_volume

DEG = math.pi / 180.0


@pytest.mark.parametrize(
    "start,length,peak,angle,efficiency",
    [
        # Ferguson & Kirkpatrick, chapter 2, engines 1 and 2 (parameters from a public copy of the
        # listing; printed 87.77 at 11 degrees from memory); recomputed.
        (-20.0, 40.0, 87.78, 10.8, 0.5920),
        (0.0, 40.0, 53.53, 27.7, 0.5518),
        # Variants, recomputed.
        (-35.0, 60.0, 89.20, 8.9, 0.5839),
        (-10.0, 40.0, 70.08, 18.6, 0.5807),
    ],
)
def test_example(start: float, length: float, peak: float, angle: float, efficiency: float) -> None:
    found = cycle(
        *simple_volume(10.0), gamma=1.4, heat=20.0, start=start * DEG, length=length * DEG
    )
    assert found.peak == pytest.approx(peak, abs=0.006)
    assert found.peak_angle / DEG == pytest.approx(angle, abs=0.06)
    assert found.work / 20.0 == pytest.approx(efficiency, abs=6e-5)


def test_without_heat_nothing_is_done() -> None:
    found = cycle(*simple_volume(9.0), gamma=1.3, heat=0.0, start=0.0, length=0.5)
    assert found.work == pytest.approx(0.0, abs=1e-9)
    assert found.peak == pytest.approx(9.0**1.3, rel=1e-9)


def test_instant_heat_is_the_otto_cycle() -> None:
    """A thousandth of a degree at the dead centre; 0.67 % of the heat is never released."""
    found = cycle(
        *simple_volume(8.0), gamma=1.4, heat=12.0, start=-0.0005 * DEG, length=0.001 * DEG
    )
    released = 12.0 * -math.expm1(-5.0)
    assert found.work / released == pytest.approx(1.0 - 8.0**-0.4, rel=1e-6)
