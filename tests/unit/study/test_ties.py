"""Engines that cannot be told apart: the error of a difference worked by hand."""

from __future__ import annotations

import math

import pytest

from enginesim.report.study_table import best_table, tie_text
from enginesim.study.evaluation import Evaluation
from enginesim.study.limits import aim as aim_of
from enginesim.study.plan import points
from enginesim.study.ties import difference_error, ranks, tied
from enginesim.study.trials import Outcome
from tests.unit.study.studies import FormulaRunner, plan

FOUND = plan(
    "intake.runner_lengths=190, 195, 200, 205, 280 mm", rpm="2000", aim=("torque at 2000",)
)
AIM = FOUND.study.aims[0]


def outcome() -> Outcome:
    trials = Evaluation(FOUND, None, FormulaRunner()).assess(points(FOUND.study))
    return Outcome(FOUND.study, tuple(trials))


def test_error_is_that_of_a_comparison() -> None:
    """Two tolerances and 0.2 % of the torque, as root of the sum of squares."""
    found = outcome()
    base, torque = FOUND.base, found.number(found.best(AIM)[0], AIM.measure)
    volume = math.pi / 4 * base.block.bore**2 * base.block.stroke * base.block.n_cylinders
    tolerance = base.numerics.bmep_tolerance * volume / (4 * math.pi)
    by_hand = math.sqrt(2 * tolerance**2 + (0.002 * torque) ** 2)
    error = difference_error(found, AIM, base)
    assert error == pytest.approx(by_hand, rel=1e-12)
    assert 0.2 < by_hand < 0.4


def test_what_differs_by_less_has_one_rank() -> None:
    """The hill is 0.04, 0.01, 0, 0.01 and 2.56 N m below its top there."""
    found = outcome()
    error = difference_error(found, AIM, FOUND.base)
    assert error is not None
    best = found.best(AIM, 5)
    assert ranks(found, AIM, best, error) == (1, 1, 1, 1, 5)
    assert tied(found, AIM, error) == 4
    table = best_table(found, best, "", "si", ranks(found, AIM, best, error))
    assert [row[0] for row in table.rows] == ["1", "1", "1", "1", "5"]
    (text,) = tie_text(found, AIM, error, "si")
    assert "4 engines differ by less than the numerical error, 0.2 N m" in text
    # An error of nothing ranks every engine, but for the two that are the same.
    assert ranks(found, AIM, best, 1e-9) == (1, 2, 2, 4, 5)


def test_no_error_is_made_up() -> None:
    found = outcome()
    assert difference_error(found, aim_of("lowest knock_margin"), FOUND.base) is None
    assert difference_error(found, aim_of("overlap"), FOUND.base) == 0.0
    assert tie_text(found, AIM, None, "si") == ()
