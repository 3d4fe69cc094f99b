"""A search on functions whose best is known: found, with few engines, the same way each time."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from enginesim.study.evaluation import Evaluation
from enginesim.study.front import front, hypervolume, non_dominated
from enginesim.study.search import Found, first_engines, search
from enginesim.study.store import Store
from enginesim.study.surrogate import chance_below, fitted, unlikelihood
from tests.unit.study.studies import FormulaRunner, plan

SEPARATION = "cam.lobe_separation=100:118:1"
RUNNER = "intake.runner_lengths=100:300 mm"


def found_by(
    *vary: str, torque: Callable[..., float] | None = None, points: int = 40, **options: object
) -> tuple[Found, FormulaRunner]:
    begun = plan(*vary, rpm="2000", points=points, **options)  # type: ignore[arg-type]
    runner = FormulaRunner() if torque is None else FormulaRunner(torque=torque)
    return search(Evaluation(begun, None, runner)), runner


def test_top_of_a_hill() -> None:
    found, runner = found_by(SEPARATION, RUNNER, aim=("torque at 2000",))
    (best,) = found.outcome.best(found.outcome.study.aims[0])
    # 100 + 2 at 110 deg and 200 mm; within 0.02 %, where a search ends, the runner within 7 mm.
    assert best.numbers[0] == pytest.approx(102.0, rel=2e-4)
    assert best.point[0] == 110.0
    assert float(best.point[1]) == pytest.approx(200.0, abs=8.0)
    assert "no engine is expected to be better" in found.ended
    assert len(runner.runs) < 40
    assert len({trial.point for trial in found.outcome.trials}) == len(found.outcome.trials)


def test_words_and_numbers() -> None:
    def torque(case: object, rpm: float) -> float:
        loss = {"sharp": 6.0, "radiused": 0.0, "bell-mouth": 2.0, "re-entrant": 9.0}
        runner = case.intake.runner_lengths[0]  # type: ignore[attr-defined]
        return 100 - loss[case.intake.entry] - 1e3 * (runner - 0.15) ** 2  # type: ignore[attr-defined]

    found, _ = found_by(
        "intake.entry=sharp,radiused,bell-mouth,re-entrant",
        RUNNER,
        torque=torque,
        aim=("torque at 2000",),
    )
    (best,) = found.outcome.best(found.outcome.study.aims[0])
    assert best.point[0] == "radiused"
    assert best.numbers[0] == pytest.approx(100.0, abs=0.05)


def test_under_a_limit_that_only_runs_can_tell() -> None:
    # Residual is 0.05 + runner [m]: at most 0.20 means a runner of at most 150 mm, where the hill
    # is 1 N m lower than at its top.
    found, _ = found_by(
        SEPARATION, RUNNER, aim=("torque at 2000",), limit=("highest residual <= 20 %",)
    )
    (best,) = found.outcome.best(found.outcome.study.aims[0])
    assert best.numbers[0] == pytest.approx(101.0, abs=0.1)
    assert float(best.point[1]) <= 150.0
    assert best.status == "good"


def test_what_the_case_rules_out_costs_no_run() -> None:
    # Overlap is 251 - 2 x separation: 21 deg at most means 115 deg of separation at least.
    found, runner = found_by(
        SEPARATION, RUNNER, aim=("torque at 2000",), limit=("overlap <= 21 deg",)
    )
    (best,) = found.outcome.best(found.outcome.study.aims[0])
    assert best.point[0] == 115.0
    ruled_out = [t for t in found.outcome.trials if t.status == "ruled out"]
    assert ruled_out
    assert len(runner.runs) == len(found.outcome.trials) - len(ruled_out) == found.n_run


def test_least_of_something() -> None:
    found, _ = found_by(SEPARATION, aim=("least torque at 2000",), points=20)
    (best,) = found.outcome.best(found.outcome.study.aims[0])
    assert best.point == (100.0,)  # 10 deg off the top, against 8 at the other end


def test_a_small_study_is_tried_to_the_end() -> None:
    found, runner = found_by(
        "cam.lobe_separation=108,112", "intake.entry=sharp,radiused", aim=("torque at 2000",)
    )
    assert len(runner.runs) == 4
    assert "every engine" in found.ended


def test_stopped_anywhere_it_goes_the_same_way(tmp_path: Path) -> None:
    begun = plan(SEPARATION, RUNNER, rpm="2000,3000", aim=("average torque",), points=14)
    whole = search(Evaluation(begun, None, FormulaRunner()))
    for stop in (0, 5, 21):
        with Store.open(tmp_path / f"{stop}.sqlite") as store:
            first = FormulaRunner(store=store, stop_after=stop)
            part = search(Evaluation(begun, store, first))
            assert "goes on from here" in part.ended
            rest = FormulaRunner(store=store)
            again = search(Evaluation(begun, store, rest))
        assert again.outcome.trials == whole.outcome.trials
        assert not set(first.runs) & set(rest.runs)
        assert len(first.runs) + len(rest.runs) == 2 * whole.n_run


def test_another_seed_goes_another_way() -> None:
    begun = plan(SEPARATION, RUNNER, rpm="2000", aim=("torque at 2000",), points=10)
    other = replace(begun, study=replace(begun.study, seed=2))
    ways = [search(Evaluation(p, None, FormulaRunner())).outcome.trials for p in (begun, other)]
    assert ways[0] != ways[1]


def test_failures_are_stayed_away_from() -> None:
    begun = plan(SEPARATION, RUNNER, rpm="2000", aim=("torque at 2000",), points=30)

    def is_wide(case: object, rpm: float) -> bool:
        return case.cam.lobe_separation > math.radians(108.5)  # type: ignore[attr-defined]

    found = search(Evaluation(begun, None, FormulaRunner(broken=is_wide)))
    (best,) = found.outcome.best(found.outcome.study.aims[0])
    assert best.point[0] == 108.0
    assert any(trial.status == "failed" for trial in found.outcome.trials)


@pytest.mark.slow
def test_front_of_two_aims_against_all_engines() -> None:
    """Torque against residual, 19 x 21 engines: the search sees most of the front's area."""
    begun = plan(
        SEPARATION,
        "intake.runner_lengths=100:300:10 mm",
        rpm="2000",
        points=36,
        aim=("torque at 2000", "least residual at 2000"),
    )
    found = search(Evaluation(begun, None, FormulaRunner()))
    aims = begun.study.aims
    separation, runner = np.meshgrid(np.arange(100, 119), np.arange(0.1, 0.301, 0.01))
    torque = 102 - (separation - 110) ** 2 / 10 - ((runner - 0.2) / 0.05) ** 2
    every = np.column_stack([-torque.ravel(), 0.05 + runner.ravel()])
    kept = front(found.outcome, aims)
    seen = np.array([[a.cost(found.outcome.number(t, a.measure)) for a in aims] for t in kept])
    corner = (-90.0, 0.36)
    assert hypervolume(seen, corner) > 0.97 * hypervolume(every, corner)
    assert non_dominated(seen) == list(range(len(kept)))


def test_first_engines() -> None:
    study = plan(SEPARATION, RUNNER, "intake.entry=sharp,radiused", rpm="2000").study
    assert first_engines(study) == 3 + 3 + 2
    assert first_engines(replace(study, points=4)) == 2


def test_surrogate_keeps_to_its_points_and_knows_where_it_is_unsure() -> None:
    places = np.linspace(0.0, 1.0, 7)[:, None]
    values = np.sin(4.0 * places[:, 0])
    model = fitted(places, values, (0,))
    mean, sigma = model.at(places)
    assert mean == pytest.approx(values, abs=0.02)
    between, unsure = model.at(np.array([[0.25], [3.0]]))
    assert between[0] == pytest.approx(math.sin(1.0), abs=0.03)
    assert sigma.max() < unsure[1]
    believing = model.with_belief(np.array([3.0]))
    assert believing.at(np.array([[3.0]]))[1][0] < 0.2 * unsure[1]
    assert believing.at(places)[0] == pytest.approx(mean, abs=1e-3)


def test_slopes_of_the_likelihood_are_those_of_its_values() -> None:
    """Central differences of step h are wrong by about h^2 and, by rounding, by 1e-15 / h."""
    rng = np.random.default_rng(4)
    places, columns = rng.random((12, 3)), np.array([0, 1, 1])
    target = rng.normal(size=12)
    at, step = np.log(np.array([0.4, 0.9, 0.05])), 1e-5
    _, slope = unlikelihood(at, places, target, columns)
    for i, unit in enumerate(np.eye(3)):
        up, down = (
            unlikelihood(at + sign * step * unit, places, target, columns)[0] for sign in (1, -1)
        )
        assert slope[i] == pytest.approx((up - down) / (2.0 * step), rel=1e-6, abs=1e-6)


def test_surrogate_of_results_that_are_all_the_same() -> None:
    model = fitted(np.array([[0.0], [0.5], [1.0]]), np.array([5.0, 5.0, 5.0]), (0,))
    assert model.at(np.array([[0.25]]))[0][0] == pytest.approx(5.0, rel=1e-5)


def test_chance() -> None:
    # Standard normal distribution: 97.725 % lie below two standard deviations.
    assert chance_below(np.array([-2.0]), np.array([1.0]))[0] == pytest.approx(0.97725, abs=1e-5)
