"""Three friction laws, against their formulas and against motored engines."""

from __future__ import annotations

import pytest

from enginesim.performance import friction, rubbing
from tests.records import case


def test_auxiliaries_of_the_first_printing() -> None:
    # 6.23 + 5.22e-3 N - 1.79e-7 N^2 kPa: 20.28 at 3000 rpm (SAE 890836, from memory).
    assert rubbing.auxiliaries(3000, rubbing.ORIGINAL) == pytest.approx(20.28e3, rel=3e-4)


def test_skirts_and_rings() -> None:
    """Gas, rods off: 294 Sp/B and 4.06e4 (1 + 1000/N)/B^2 kPa, millimetres (from memory)."""
    bare = rubbing.pistons(0.1, 0.09, 4, 2000, (0.0, 0.0), 9.0, 0.0, rubbing.ORIGINAL)
    assert bare == pytest.approx(1e3 * (294 * 6.0 / 100 + 4.06e4 * 1.5 / 1e4))


def test_gas_loading_follows_the_manifold() -> None:
    def mep(ratio: float) -> float:
        return rubbing.pistons(0.1, 0.09, 4, 2000, (0.05, 0.02), 9.0, ratio)

    # 6.89 (0.088 r + 0.182 r^(1.33 - 0.0238 Sp)) kPa at r 9 and 6 m/s.
    expected = 6.89e3 * (0.088 * 9 + 0.182 * 9 ** (1.33 - 0.0238 * 6))
    assert mep(1.0) - mep(0.0) == pytest.approx(expected)
    assert mep(0.5) - mep(0.0) == pytest.approx(0.5 * expected)


def test_bearings_shear_with_diameter_cubed() -> None:
    def shear(diameter: float) -> float:
        with_oil = rubbing.crankshaft(0.1, 0.09, 4, 3000, (diameter, 0.02, 5))
        return with_oil - rubbing.crankshaft(0.1, 0.09, 4, 3000, (diameter, 0.0, 5))

    assert shear(0.06) == pytest.approx(3.03e-1 * 3000 * 60**3 * 20 * 5 / (1e4 * 90 * 4))
    assert shear(0.06) == pytest.approx(8 * shear(0.03))


def test_rollers_cost_less_than_flat_followers() -> None:
    for kind in ("ohv", "sohc", "dohc"):
        flat, roller = (
            rubbing.valvetrain(0.1, 0.09, 4, 2500, kind, follower, 2, 0.011, 5)
            for follower in ("flat", "roller")
        )
        assert roller > 0
        if kind == "ohv":
            assert roller < flat


def test_the_two_printings_agree() -> None:
    """Within the 12 % band (one sigma) that is given to friction as a whole."""
    for rpm in (1500, 3000, 4500, 6000):
        new = sum(friction.components(case(8), rpm, 0.97).values())
        old = sum(friction.components(case(8), rpm, 0.97, rubbing.ORIGINAL).values())
        assert new == pytest.approx(old, rel=0.12)


def test_speed_and_pressure_law() -> None:
    # 60 bar and 8.6 m/s: 1.54 bar (worked from the formula).
    assert friction.speed_pressure_mep(60e5, 8.6) == pytest.approx(1.54e5, abs=500)


def test_quadratic_law() -> None:
    # 0.97 + 0.15 n + 0.05 n^2 bar (Barnes-Moss; from memory).
    expected = [1.17, 1.47, 1.87, 2.37, 2.97, 3.67]
    assert [friction.total_mep(1e3 * n) / 1e5 for n in range(1, 7)] == pytest.approx(expected)


def test_quadratic_law_gives_up_the_pumping_that_the_cycle_has() -> None:
    engine = case(friction__model="quadratic")
    found = friction.friction_mep(engine, 3000, 50e5, 0.97, 0.3e5)
    assert found == pytest.approx(1.87e5 - 0.3e5)
    # A tuned engine that gains from pumping keeps its gain.
    assert friction.friction_mep(engine, 3000, 50e5, 0.97, -0.1e5) == pytest.approx(1.87e5)


@pytest.mark.parametrize("model", ["component", "speed-pressure", "quadratic"])
def test_multiplier_scales_every_law(model: str) -> None:
    one = case(friction__model=model)
    more = case(friction__model=model, friction__multiplier="1.1")
    arguments = (4000, 55e5, 0.97, 0.2e5)
    assert friction.friction_mep(more, *arguments) == pytest.approx(
        1.1 * friction.friction_mep(one, *arguments)
    )
    assert friction.DESCRIPTIONS[model]


# Friction of production V8s as an old correction routine had it: torque per cubic inch against
# piston speed, turned into mean pressure (a mailing list of 1995). [m/s], [bar]
OLD_ROUTINE = [(5.08, 1.25), (7.62, 1.51), (10.2, 1.77), (12.7, 2.11)]


@pytest.mark.parametrize("speed, bar", OLD_ROUTINE)
def test_component_law_lies_under_an_old_routine(speed: float, bar: float) -> None:
    """
    The routine holds pumping and the worn accessories of its day.

    The component law must lie below it, but not below half of it.
    """
    engine = case(8)
    rpm = speed * 30 / engine.block.stroke
    mep = friction.friction_mep(engine, rpm, 55e5, 0.97, 0.2e5) / 1e5
    assert 0.5 * bar < mep < bar
