"""Spark, mixture and knock from invented results, and the cases that they rest on."""

from __future__ import annotations

import math

import pytest

from enginesim.base.errors import CaseError
from enginesim.base.units import to_si
from enginesim.performance import Curve
from enginesim.workshop import points
from enginesim.workshop.ignition import ignition, knock
from tests.unit.case.engines import changed
from tests.unit.study.results import result


def curve(torques: tuple[float, float], sparks: tuple[float, float], **fields: float) -> Curve:
    return Curve(
        result(rpm, torque=torque, spark=math.radians(spark), **fields)
        for rpm, torque, spark in zip((2000.0, 4000.0), torques, sparks, strict=True)
    )


def test_what_the_spark_gives_away() -> None:
    own = curve((290.0, 330.0), (15.0, 30.0), lambda_overall=0.9)
    best = curve((300.0, 330.0), (25.0, 30.0))
    sheet = ignition(own, best, {0.05: curve((285.0, 333.0), (15.0, 30.0))}, afr_stoich=14.6,
                     mode="knock limited")  # fmt: skip
    assert sheet.lost == pytest.approx([10.0, 0.0])
    assert sheet.best - sheet.spark == pytest.approx([math.radians(10), 0.0])
    assert sheet.afr == pytest.approx([13.14, 13.14])
    assert sheet.other_mixtures[0.05] == pytest.approx([-5.0, 3.0])


def test_octane_needed() -> None:
    own = curve((290.0, 330.0), (15.0, 30.0), octane_margin=2.0)
    best = curve((300.0, 330.0), (25.0, 30.0), octane_margin=-6.0)
    sheet = knock(own, best, 91.0, 8.1)
    assert sheet.octane_needed == pytest.approx([89.0, 89.0])
    assert sheet.octane_best == pytest.approx([97.0, 97.0])


def test_mixtures_to_either_side() -> None:
    case = changed("mixture.rpm=2000 5000", "mixture.lambda=0.88 0.90")
    rich, lean = points.with_mixtures(case).values()
    assert rich.mixture.lambda_ == pytest.approx((0.83, 0.85))
    assert lean.mixture.lambda_ == pytest.approx((0.93, 0.95))


def test_mixtures_of_a_given_air_fuel_ratio() -> None:
    rich, lean = points.with_mixtures(changed("mixture.afr=12.8")).values()
    assert lean.mixture.lambda_[0] - rich.mixture.lambda_[0] == pytest.approx(0.10, abs=1e-5)


def test_best_spark() -> None:
    case = changed("spark.mode=knock limited")
    assert points.with_best_spark(case).spark.mode == "best"
    best = changed("spark.mode=best")
    assert points.with_best_spark(best) is best
    scheduled = changed("spark.rpm=1000 4000", "spark.advance=20 34")
    assert points.with_best_spark(scheduled).spark.mode == "best"


def test_sizes_of_the_throttle() -> None:
    case = changed()
    sizes, cases = points.with_sizes(case, [to_si(500, "cfm")])
    assert [each.throttle.flow for each in cases] == pytest.approx(list(sizes))
    assert cases[1] is case
    with pytest.raises(CaseError):
        points.with_sizes(case, [1e6])


def test_only_speeds_that_converged_everywhere() -> None:
    one = {2000.0: result(2000.0), 3000.0: result(3000.0, converged=False)}
    other = {2000.0: result(2000.0), 3000.0: result(3000.0), 4000.0: result(4000.0)}
    first, second = points.common_speeds([one, other])
    assert first["rpm"].tolist() == second["rpm"].tolist() == [2000.0]
    assert points.common_speeds([{3000.0: result(3000.0, converged=False)}, other]) == []
