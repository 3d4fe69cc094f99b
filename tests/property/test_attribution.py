"""Causes of a difference in torque: they add up, and change sign, for any two engines."""

from __future__ import annotations

from dataclasses import replace
from math import nan, pi

from hypothesis import given
from hypothesis import strategies as st

from enginesim.performance import Performance
from enginesim.performance.attribution import CAUSES, GROUPS, attribution
from tests.unit.study.results import result

# The sum of fifteen shares, each of a torque's size: rounding stays far below this.
CLOSE = 1e-9


def positive(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


@st.composite
def performances(draw: st.DrawFn, *, fires: bool = True) -> Performance:
    """Any engine at any state, consistent only in what is defined by other fields."""
    values: dict[str, float] = {
        name: draw(positive(low, high))
        for name, low, high in (
            ("imep_gross", 1e5, 3e6),
            ("fmep", 0.0, 5e5),
            ("displacement", 1e-5, 3e-2),
            ("volume_full", 1e-5, 3e-3),
            ("mass_filled", 1e-6, 1e-2),
            ("air_trapped", 1e-6, 1e-2),
            ("r_filled", 200.0, 400.0),
            ("air_pressure", 5e4, 1.1e5),
            ("air_temperature", 230.0, 330.0),
            ("air_density", 0.5, 1.6),
            ("p_port", 2e4, 3e5),
            ("p_port_closing", 2e4, 3e5),
            ("t_port", 230.0, 500.0),
            ("t_mixed", 230.0, 700.0),
            ("t_warmed", 230.0, 700.0),
            ("residual", 0.0, 0.6),
            ("released_heat", 10.0, 1e5),
        )
    }
    values["pmep"] = draw(st.floats(-1e5, 3e5))
    values["backflow"] = draw(st.floats(-0.01, 0.5))
    values["manifold_pressure"] = draw(st.sampled_from([nan, 3e4, 9e4, 1.2e5]))
    values["wall_heat"] = values["released_heat"] * draw(st.floats(-0.1, 0.7))
    if not fires:
        values["released_heat"] = 0.0
    if draw(st.booleans()):
        values["t_warmed"] = nan  # an engine without ducts
    net = values["imep_gross"] - values["pmep"]
    torque = (net - values["fmep"]) * values["displacement"] / (4 * pi)
    return replace(result(3000.0), n_cylinders=draw(st.integers(1, 16)), torque=torque, **values)


def scale(a: Performance, b: Performance) -> float:
    """Torque against which rounding is measured: the largest that takes part."""
    return max(abs(p.imep_gross * p.displacement) / (4 * pi) for p in (a, b))


@given(performances(), performances())
def test_shares_add_up(a: Performance, b: Performance) -> None:
    found = attribution(a, b)
    assert set(found.parts) == set(CAUSES)
    assert abs(sum(found.parts.values()) - (b.torque - a.torque)) <= CLOSE * scale(a, b)
    assert abs(sum(found.group(name) for name in GROUPS) - found.total) <= CLOSE * scale(a, b)
    assert found.parts["unsplit"] == 0.0


@given(performances(), performances(), positive(0.8, 1.3), positive(0.8, 1.3))
def test_shares_of_corrected_torque_add_up(
    a: Performance, b: Performance, by_a: float, by_b: float
) -> None:
    found = attribution(a, b, (by_a, by_b))
    total = by_b * b.torque - by_a * a.torque
    assert abs(sum(found.parts.values()) - total) <= CLOSE * scale(a, b)


@given(performances(), performances())
def test_shares_change_sign_with_the_order(a: Performance, b: Performance) -> None:
    there, back = attribution(a, b), attribution(b, a)
    for cause, share in there.parts.items():
        assert abs(share + back.parts[cause]) <= CLOSE * scale(a, b), cause


@given(performances())
def test_an_engine_against_itself(a: Performance) -> None:
    assert all(share == 0.0 for share in attribution(a, a).parts.values())


@given(performances(fires=False), performances())
def test_an_engine_that_does_not_fire_is_not_split(a: Performance, b: Performance) -> None:
    for one, other in ((a, b), (b, a)):
        found = attribution(one, other)
        assert abs(sum(found.parts.values()) - found.total) <= CLOSE * scale(a, b)
        assert found.parts["wave"] == 0.0
