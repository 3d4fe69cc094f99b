"""Effects of variables on an invented hill, where each is known."""

from __future__ import annotations

import pytest

from enginesim.report.study_figures import study_charts
from enginesim.report.study_table import effects_table
from enginesim.study.effects import at_the_end, effects
from enginesim.study.evaluation import Evaluation
from enginesim.study.plan import points
from enginesim.study.trials import Outcome
from tests.unit.study.studies import FormulaRunner, plan

SEPARATION = "cam.lobe_separation=106:114:4"
RUNNER = "intake.runner_lengths=100:200:50 mm"


def outcome(*vary: str, samples: int = 0, **options: tuple[str, ...]) -> Outcome:
    found = plan(*vary, rpm="2000", samples=samples, aim=("torque at 2000",), **options)
    trials = Evaluation(found, None, FormulaRunner()).assess(points(found.study))
    return Outcome(found.study, tuple(trials))


def test_effects_of_a_grid() -> None:
    found = outcome(SEPARATION, RUNNER)
    separation, runner = effects(found, found.study.aims[0])
    # The hill loses 16 / 10 N m at 106 and 114 deg, and 4, 1, 0 N m at 100, 150 and 200 mm.
    assert separation.levels == (106.0, 110.0, 114.0)
    assert separation.span == pytest.approx(1.6, rel=1e-9)
    assert separation.about_best == pytest.approx((100.4, 102.0, 100.4), rel=1e-9)
    assert runner.about_best == pytest.approx((98.0, 101.0, 102.0), rel=1e-9)
    mean_loss = 2 * 1.6 / 3
    assert runner.means == pytest.approx([x - mean_loss for x in (98, 101, 102)], rel=1e-9)
    assert not separation.is_estimated


def test_effects_of_samples_are_estimated() -> None:
    found = outcome(SEPARATION, "intake.runner_lengths=100:300 mm", samples=30)
    separation, runner = effects(found, found.study.aims[0])
    assert runner.is_estimated
    assert len(runner.levels) == 6
    # Two thirds of a span lie between the middles of six parts, 117 and 283 mm: 2.8 N m.
    assert runner.span_about_best == pytest.approx(2.7, abs=0.4)
    assert separation.span_about_best == pytest.approx(1.6, abs=0.3)


def test_best_at_the_end_of_a_range() -> None:
    found = outcome(SEPARATION, RUNNER)
    assert at_the_end(found, found.study.aims[0]) == ("intake.runner_lengths 200 mm",)


def test_order_and_those_as_good() -> None:
    found = outcome(SEPARATION, RUNNER)
    aim = found.study.aims[0]
    assert [t.point for t in found.best(aim, 2)] == [(110.0, 200.0), (110.0, 150.0)]
    # 1 % of 102 is 1.02: 150 mm is 1 N m lower, 106 and 114 deg 1.6.
    assert {t.point for t in found.as_good(aim)} == {(110.0, 200.0), (110.0, 150.0)}


def test_a_value_that_was_never_estimated_has_no_effect() -> None:
    """Of two separations one was ruled out: nothing is known of what it would have done."""
    found = outcome("cam.lobe_separation=106, 114", RUNNER, limit=("cam.lobe_separation >= 110",))
    separation, runner = effects(found, found.study.aims[0])
    assert separation.about_best[0] != separation.about_best[0]  # not a number
    assert not separation.is_known
    assert runner.is_known
    rows = {
        row[0]: row for row in effects_table((separation, runner), found.study.aims[0], "si").rows
    }
    assert rows["cam.lobe_separation"][2:] == ("not estimated", "-")
    # The bars leave it out: it would be one with the same cam at both ends.
    charts = list(
        study_charts(plan("cam.lobe_separation=106, 114", RUNNER), found, found.study.aims)
    )
    (drawn, *_) = charts[1]["about-best"][1]
    assert [effect.variable.name for effect in drawn] == ["intake.runner_lengths"]


def always(case: object, rpm: float) -> bool:
    return True


def test_no_engine_at_all() -> None:
    found = plan(SEPARATION, rpm="2000", aim=("torque at 2000",))
    runner = FormulaRunner(broken=always)
    trials = Evaluation(found, None, runner).assess(points(found.study))
    nothing = Outcome(found.study, tuple(trials))
    aim = found.study.aims[0]
    assert (effects(nothing, aim), nothing.best(aim), nothing.as_good(aim)) == ((), [], [])
