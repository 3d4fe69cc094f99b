"""Correction factors against worked and published figures."""

from __future__ import annotations

from math import sqrt

import pytest

from enginesim.base.errors import ResultError
from enginesim.case import Case
from enginesim.dyno.correction import STANDARDS, Air, air_of, doubts, factor, standard
from tests.records import case

INHG = 3386.389
WARM = Air(98.0e3, 2547.0, 303.15)  # 30 degC, 60 % humidity by Buck's formula


def fahrenheit(t: float) -> float:
    return (t + 459.67) / 1.8


def buck(t: float) -> float:
    """Saturation pressure by Buck, without enhancement, as the worked figures used it [Pa]."""
    c = t - 273.15
    return 611.21 * 2.718281828459045 ** ((18.678 - c / 234.5) * c / (257.14 + c))


# Worked from the standards' formulas by hand and with a pocket calculator's digits: 1e-4.
@pytest.mark.parametrize(
    "name, expected",
    [("J1349", 1.05407), ("J607", 1.08770), ("ISO1585", 1.05523), ("DIN70020", 1.05116)],
)
def test_a_warm_damp_day(name: str, expected: float) -> None:
    assert factor(name, WARM) == pytest.approx(expected, abs=1e-4)


def test_term_common_to_two_standards() -> None:
    term = 99e3 / WARM.p_dry * sqrt(WARM.t / 298.15)
    assert term == pytest.approx(1.04582, abs=1e-5)
    assert factor("J1349", WARM) == pytest.approx(1.18 * term - 0.18, abs=1e-12)


# Published: an article on dyno standards (85 F, 85 %, 28.85 inHg: 1.1005; 55 F, 35 %, 30.10 inHg:
# 0.994), which does not say how it took the vapour: 1e-3. The second column is recomputed: 1e-4.
@pytest.mark.parametrize(
    "t, humidity, barometer, published, j607, j1349",
    [(85.0, 0.85, 28.85, 1.1005, 1.1011, 1.0693), (55.0, 0.35, 30.10, 0.994, 0.9943, 0.9481)],
)
def test_published_days(
    t: float, humidity: float, barometer: float, published: float, j607: float, j1349: float
) -> None:
    kelvin = fahrenheit(t)
    air = Air(barometer * INHG, humidity * buck(kelvin), kelvin)
    assert factor("J607", air) == pytest.approx(published, abs=1e-3)
    assert factor("J607", air) == pytest.approx(j607, abs=1e-4)
    assert factor("J1349", air) == pytest.approx(j1349, abs=1e-4)


def test_one_standard_in_the_air_of_another() -> None:
    j607 = Air(29.92 * INHG, 0.0, fahrenheit(60.0))
    j1349 = Air(99e3, 0.0, 298.15)
    assert factor("J1349", j607) == pytest.approx(0.95452, abs=1e-4)
    assert factor("J607", j1349) == pytest.approx(1.04009, abs=1e-4)


@pytest.mark.parametrize(
    "name, air",
    [
        ("J1349", Air(99e3, 0.0, 298.15)),
        ("ISO1585", Air(101e3, 2e3, 298.15)),
        ("DIN70020", Air(101.3e3, 1.5e3, 293.15)),
        ("J607", Air(29.92 * INHG, 0.0, fahrenheit(60.0))),
        ("none", WARM),
    ],
)
def test_one_in_its_own_air(name: str, air: Air) -> None:
    assert factor(name, air) == pytest.approx(1.0, abs=1e-12)
    assert doubts(name, air) == ()


def test_din_does_not_ask_for_the_vapour() -> None:
    assert factor("DIN70020", WARM) == factor("DIN70020", Air(WARM.p, 0.0, WARM.t))
    assert factor("J1349", WARM) > factor("J1349", Air(WARM.p, 0.0, WARM.t))


def test_air_of_a_case() -> None:
    def of(**changes: str) -> Air:
        made: Case = case(air__pressure="98.0 kPa", air__temperature="30 degC", **changes)
        return air_of(made)

    # The vapour of the case is by another of Buck's formulas: 0.5 % of it, 1.5e-4 of the factor.
    air = of(air__humidity="0.6")
    assert air.p_vapour == pytest.approx(2547.0, rel=6e-3)
    assert factor("J1349", air) == pytest.approx(1.05407, abs=3e-4)
    assert of(air__humidity="0").p_dry == 98.0e3


def test_outside_the_limits() -> None:
    mountain = Air(75e3, 500.0, 273.15)
    sentences = doubts("J1349", mountain)
    assert len(sentences) == 3
    assert "factor 1.3" in sentences[0]
    assert "0.93 to 1.07" in sentences[0]
    assert "0.0 °C is outside the 15 to 35 °C" in sentences[1]
    assert "74.5 kPa is outside the 90 to 105 kPa" in sentences[2]
    assert doubts("DIN70020", mountain) == ()  # no limits known


def test_names() -> None:
    assert standard("j1349").title == "SAE J1349"
    with pytest.raises(ResultError, match="did you mean 'J1349'"):
        standard("J1394")
    assert list(STANDARDS) == ["none", "J1349", "ISO1585", "DIN70020", "J607"]
