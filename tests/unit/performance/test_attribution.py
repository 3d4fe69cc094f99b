"""One cause at a time: does its share alone answer?"""

from __future__ import annotations

from dataclasses import replace
from math import log, pi

import pytest

from enginesim.performance import Performance
from enginesim.performance.attribution import CAUSES, GROUPS, attribution, logarithmic_mean
from tests.unit.study.results import result


def more_work(point: Performance, ratio: float, **changes: float) -> Performance:
    """The same engine with a gross work that is `ratio` times as great, and other fields."""
    gross = point.imep_gross * ratio
    net = gross - point.pmep
    torque = (net - point.fmep) * point.displacement / (4 * pi)
    return replace(point, imep_gross=gross, imep_net=net, torque=torque, **changes)


A = more_work(result(3000.0), 1.0)
K = 1 / 1.4


# Each change leaves all factors but one: charge, heat and work follow it, the others stay.
@pytest.mark.parametrize(
    "cause, ratio, changes",
    [
        ("wave", 1.1**K, {"p_port_closing": 1.1, "mass_filled": 1.1**K}),
        ("way_heat", 1 / 1.05, {"t_port": 1.05, "t_mixed": 1.05, "t_warmed": 1.05}),
        ("cylinder_heat", 1 / 1.02, {"t_warmed": 1.02}),
        ("valve", 0.97, {"mass_filled": 0.97}),
        ("open_air", 0.9, {"air_density": 0.9, "air_pressure": 0.9, "p_port": 0.9,
                           "p_port_closing": 0.9, "manifold_pressure": 0.9}),
        ("mixture", 1.03, {}),
        ("burn", 1.04, {}),
    ],
)  # fmt: skip
def test_one_cause_alone(cause: str, ratio: float, changes: dict[str, float]) -> None:
    values = {name: A[name] * factor for name, factor in changes.items()}
    if cause != "burn":
        values |= {"released_heat": A.released_heat * ratio, "wall_heat": A.wall_heat * ratio}
    if cause not in ("burn", "mixture"):
        values["mass_filled"] = A.mass_filled * ratio
    b = more_work(A, ratio, **values)
    found = attribution(A, b)
    assert found.parts[cause] == pytest.approx(found.total, rel=1e-9)
    for other in set(CAUSES) - {cause}:
        assert found.parts[other] == pytest.approx(0.0, abs=1e-9 * A.torque), other


def test_pumping_and_friction_are_differences() -> None:
    b = replace(A, pmep=A.pmep + 2e4, fmep=A.fmep - 1e4, torque=A.torque - 1e4 * A.displacement
                / (4 * pi))  # fmt: skip
    found = attribution(A, b)
    assert found.parts["pumping"] == pytest.approx(-2e4 * A.displacement / (4 * pi))
    assert found.parts["friction"] == pytest.approx(1e4 * A.displacement / (4 * pi))
    assert found.group("filling") == 0.0


def test_walls_and_backflow_by_hand() -> None:
    """Half the wall heat, a backflow of 5 %: the shares are L ln of one ratio each."""
    b = more_work(A, 1.02, wall_heat=0.5 * A.wall_heat, backflow=0.05)
    gross = A.imep_gross * A.displacement / (4 * pi)
    mean = logarithmic_mean(gross, 1.02 * gross)
    found = attribution(A, b)
    kept = [1 - p.wall_heat / p.released_heat for p in (A, b)]
    assert found.parts["walls"] == pytest.approx(mean * log(kept[1] / kept[0]))
    assert found.parts["backflow"] == pytest.approx(mean * log(0.95 / (1 - A.backflow)))
    # As much heat from less charge: the mixture takes back what the backflow took.
    assert found.parts["mixture"] == pytest.approx(-found.parts["backflow"])


def test_engine_without_ducts_has_no_wave() -> None:
    b = more_work(A, 1.1, t_warmed=float("nan"), mass_filled=1.1 * A.mass_filled)
    found = attribution(A, b)
    assert found.parts["wave"] == found.parts["way_heat"] == found.parts["entry"] == 0.0
    assert found.parts["valve"] != 0.0
    assert sum(found.parts.values()) == pytest.approx(found.total, abs=1e-9 * A.torque)


def test_every_cause_is_in_one_group() -> None:
    listed = [cause for group in GROUPS.values() for cause in group]
    assert sorted(listed) == sorted(CAUSES)


def test_logarithmic_mean() -> None:
    assert logarithmic_mean(3.0, 3.0) == 3.0
    assert logarithmic_mean(1.0, 4.0) == pytest.approx(3 / log(4))
    assert logarithmic_mean(4.0, 1.0) == pytest.approx(3 / log(4))
    # Close together: the quotient of differences would lose its digits.
    assert logarithmic_mean(1.0, 1.0 + 1e-12) == pytest.approx(1.0 + 0.5e-12, rel=1e-15)
