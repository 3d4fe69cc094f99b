"""Points of a study: ruled out without a run, run once, taken from the store, judged."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from enginesim.base.errors import CaseError
from enginesim.case import amend
from enginesim.study import recollection
from enginesim.study.evaluation import Evaluation
from enginesim.study.plan import changes, points
from enginesim.study.reading import Options, load, loads
from enginesim.study.store import Store
from enginesim.study.writing import write
from tests.unit.study.studies import CASES, INCH, SINGLE, FormulaRunner, plan

SEPARATION = "cam.lobe_separation=106:114:4"
RUNNER = "intake.runner_lengths=100:300:100 mm"


@pytest.fixture(params=[500, 1], ids=["own notes", "one note"])
def notes_of(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Points have a note each; very many of them, here one or more, have one together besides."""
    monkeypatch.setattr("enginesim.study.evaluation._MANY", request.param)


def test_every_combination_last_variable_fastest() -> None:
    study = plan(SEPARATION, RUNNER).study
    assert points(study)[:4] == [(106.0, 100.0), (106.0, 200.0), (106.0, 300.0), (110.0, 100.0)]
    assert len(points(study)) == 9


def test_links_follow_their_variable() -> None:
    found = plan(
        "cam.lobe_separation=106:114:4",
        "scale=0.5,1",
        link=(
            "cam.intake_centreline=cam.lobe_separation - 4",
            "exhaust.primary_lengths=100 mm * scale + 50 mm",
        ),
    )
    changed = changes(found.study, (106.0, 0.5))
    assert changed["cam.intake_centreline"] == pytest.approx(math.radians(102), rel=1e-12)
    assert changed["exhaust.primary_lengths"] == pytest.approx(0.1, rel=1e-12)
    assert "scale" not in changed


def test_results_are_judged() -> None:
    found = plan(SEPARATION, RUNNER, aim=("average torque",), limit=("highest residual <= 30 %",))
    runner = FormulaRunner()
    trials = Evaluation(found, None, runner).assess(points(found.study))
    by_point = {trial.point: trial for trial in trials}
    # 100 + 2.5 (mean of 2000 and 3000 rpm over 1000) at the top of the hill.
    best = by_point[110.0, 200.0]
    assert best.status == "good"
    assert best.numbers[0] == pytest.approx(102.5, rel=1e-12)
    assert best.curve[0][:2] == (2000.0, pytest.approx(102.0))
    beyond = by_point[110.0, 300.0]  # residual 0.05 + 0.3
    assert beyond.status == "beyond limits"
    assert beyond.reason == "highest residual <= 30 %: it is 35 %"
    assert len(runner.runs) == len(set(runner.runs)) == 9 * 2


def test_what_the_case_decides_costs_no_run() -> None:
    found = plan(SEPARATION, limit=("overlap <= 40 deg",))
    runner = FormulaRunner()
    evaluation = Evaluation(found, None, runner)
    # 205 deg at 0.050 in, and so 251 at the seat: overlap = 251 - 2 x separation.
    trials = evaluation.assess(points(found.study))
    assert [trial.status for trial in trials] == ["good", "good", "good"]
    narrow = plan(SEPARATION, limit=("overlap <= 30 deg",))
    runner = FormulaRunner()
    trials = Evaluation(narrow, None, runner).assess(points(narrow.study))
    assert [trial.status for trial in trials] == ["ruled out", "ruled out", "good"]
    assert "it is 39 deg" in trials[0].reason
    assert trials[0].numbers[-1] == pytest.approx(math.radians(39.0), rel=1e-9)
    assert len(runner.runs) == 2


def test_piston_to_valve_is_checked_before_a_run() -> None:
    found = plan(
        "cam.intake_centreline=90:120:10",
        limit=("piston_to_valve_intake >= 0.080 in",),
        overrides=("clearances.intake_drop=0.17 in", "clearances.intake_inclination=0"),
    )
    runner = FormulaRunner()
    trials = Evaluation(found, None, runner).assess(points(found.study))
    statuses = [trial.status for trial in trials]
    # The earlier the intake valve opens, the nearer it comes.
    gaps = [trial.numbers[-1] for trial in trials]
    assert gaps == sorted(gaps)
    assert statuses == ["ruled out" if gap < 0.080 * 0.0254 else "good" for gap in gaps]
    assert {"ruled out", "good"} <= set(statuses)
    assert len(runner.runs) == 2 * statuses.count("good")


def test_engine_that_cannot_be_is_ruled_out_with_its_reason() -> None:
    # Both are in range, but a duration above the one at the seat is none.
    found = plan(
        "cam.intake_centreline=100,110", "cam.advance=2,10", overrides=("cam.lobe_separation=110",)
    )
    runner = FormulaRunner()
    trials = Evaluation(found, None, runner).assess(points(found.study))
    assert [trial.status for trial in trials].count("good") == 1
    assert all("no such engine" in t.reason for t in trials if t.status == "ruled out")


def test_failures_and_speeds_that_do_not_converge() -> None:
    found = plan("cam.lobe_separation=106,110", rpm="2000,2500,3000", aim=("average torque",))

    def is_narrow(case: object, rpm: float) -> bool:
        return case.cam.lobe_separation < math.radians(108)  # type: ignore[attr-defined]

    runner = FormulaRunner(
        broken=lambda case, rpm: rpm == 3000.0 and is_narrow(case, rpm),
        restless=lambda case, rpm: rpm == 2500.0 and not is_narrow(case, rpm),
    )
    first, second = Evaluation(found, None, runner).assess(points(found.study))
    assert (first.status, first.reason) == ("failed", "3000 rpm: invented breakdown")
    assert second.status == "good"
    assert second.dropped == 1
    # Straight from 2000 to 3000 rpm, as if the speed between had not been asked for.
    assert second.numbers[0] == pytest.approx(102.5 - 0.0, abs=10.0)
    assert [rpm for rpm, _, _ in second.curve] == [2000.0, 3000.0]


@pytest.mark.usefixtures("notes_of")
def test_a_second_time_everything_is_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    found = plan(
        SEPARATION,
        RUNNER,
        aim=("average torque",),
        limit=("overlap <= 35 deg",),
        show=("average bsfc", "highest egt"),
    )
    with Store.open(tmp_path / "results.sqlite") as store:
        first = Evaluation(found, store, FormulaRunner(store=store)).assess(points(found.study))

        def no_run(*arguments: object) -> None:
            raise AssertionError("everything is in the store")

        # Nor is any case built again.
        monkeypatch.setattr("enginesim.study.evaluation.amend", no_run)
        again = Evaluation(found, store, no_run).assess(points(found.study))  # type: ignore[arg-type]
    assert _plain(again) == _plain(first)


def test_stopped_and_begun_again(tmp_path: Path) -> None:
    found = plan(SEPARATION, RUNNER, aim=("average torque",))
    whole = Evaluation(found, None, FormulaRunner()).assess(points(found.study))
    with Store.open(tmp_path / "results.sqlite") as store:
        runner = FormulaRunner(store=store, stop_after=7)
        part = Evaluation(found, store, runner).assess(points(found.study))
        assert [trial.status for trial in part].count("unfinished") == 6
        rest = FormulaRunner(store=store)
        again = Evaluation(found, store, rest).assess(points(found.study))
    assert not set(rest.runs) & set(runner.runs)
    assert _plain(again) == _plain(whole)


@pytest.mark.usefixtures("notes_of")
def test_a_part_file_that_changed_is_another_engine(tmp_path: Path) -> None:
    case = tmp_path / "engine.toml"
    case.write_text(SINGLE.read_text())
    part = tmp_path / "cam.toml"
    text = (CASES.parents[1] / "cases" / "parts" / "cam-204.toml").read_text()
    part.write_text(text)
    found = load(case, Options(vary=("cam=cam.toml",), rpm="2000"))
    with Store.open(tmp_path / "results.sqlite") as store:
        (first,) = Evaluation(found, store, FormulaRunner(store=store)).assess([("cam.toml",)])
        part.write_text(text.replace("lobe_separation = 112", "lobe_separation = 108"))
        (second,) = Evaluation(found, store, FormulaRunner(store=store)).assess([("cam.toml",)])
    assert first.digest != second.digest


@pytest.mark.usefixtures("notes_of")
def test_what_else_decides_the_engines_is_not_mistaken(tmp_path: Path) -> None:
    """Same points, but another unit, link, override or case: each is another engine."""
    vary, link = "intake.runner_lengths=6,8 in", "exhaust.primary_lengths=2 * intake.runner_lengths"
    studies = (
        plan(vary, rpm="2000"),
        plan("intake.runner_lengths=6,8 cm", rpm="2000"),
        plan("exhaust.primary_lengths=6,8 in", rpm="2000"),
        plan(vary, rpm="2000", link=(link,)),
        plan(vary, rpm="2000", link=(link.replace("2", "3"),)),
        plan(vary, rpm="2000", overrides=("cam.lobe_separation=107",)),
        plan(vary, rpm="2000", limit=("overlap <= 60 deg",)),
    )
    with Store.open(tmp_path / "results.sqlite") as store:
        for _ in range(2):  # the second time from notes
            digests = []
            for found in studies:
                runner = FormulaRunner(store=store)
                trials = Evaluation(found, store, runner).assess(points(found.study))
                built = [amend(found.base, changes(found.study, t.point)) for t in trials]
                assert [t.digest for t in trials] == [case.digest for case in built]
                digests += [t.digest for t in trials]
            assert not runner.runs
        assert len(set(digests)) == 2 * (len(studies) - 1)  # the last has the engines of the first


@pytest.mark.usefixtures("notes_of")
def test_condition_runs_another_case(tmp_path: Path) -> None:
    file = tmp_path / "study.toml"
    file.write_text(f"""
case = "{SINGLE}"
rpm = [2000, 3000]
limits = ["torque at idle <= 1 N*m"]
[vary]
"cam.lobe_separation" = "106, 110"
[conditions.idle]
rpm = 900
set = ["throttle.opening=0.05"]
""")
    found = load(file)
    runner = FormulaRunner(torque=lambda case, _rpm: 0.5 if case.throttle.opening < 0.5 else 100.0)
    trials = Evaluation(found, None, runner).assess(points(found.study))
    assert [trial.status for trial in trials] == ["good", "good"]
    assert sorted({rpm for _, rpm in runner.runs}) == [900.0, 2000.0, 3000.0]
    assert len({digest for digest, _ in runner.runs}) == 4


def test_vehicle(tmp_path: Path) -> None:
    estate = CASES.parents[1] / "cases" / "vehicles" / "estate.toml"
    found = load(
        SINGLE,
        Options(
            vary=("cam.lobe_separation=106,110",),
            rpm="1500:6000:1500",
            aim=("least to_60_mph",),
            vehicle=str(estate),
        ),
    )
    with Store.open(tmp_path / "results.sqlite") as store:
        strong = FormulaRunner(torque=lambda c, _rpm: 300 + math.degrees(c.cam.lobe_separation))
        weak, better = Evaluation(found, store, strong).assess(points(found.study))
    assert 3.0 < better.numbers[0] < weak.numbers[0] < 20.0


def test_notes_follow_the_source(monkeypatch: pytest.MonkeyPatch) -> None:
    before = recollection.key_of("point", {"a": 1.0})
    assert recollection.key_of("point", {"a": 1.0}) == before
    assert recollection.key_of("point", {"a": 2.0}) != before
    monkeypatch.setattr(recollection, "source_stamp", lambda: "another program")
    assert recollection.key_of("point", {"a": 1.0}) != before


def _plain(trials: list[object]) -> list[str]:
    return [repr(trial) for trial in trials]


def test_advance_rules_no_engine_out() -> None:
    """The commonest cam test: five advances on a card that prints its centerline."""
    found = plan("cam.advance=0:8:2", overrides=("cam.intake_centreline=106",))
    trials = Evaluation(found, None, FormulaRunner()).assess(points(found.study))
    assert [trial.status for trial in trials] == ["good"] * 5
    assert len({trial.digest for trial in trials}) == 5
    for trial in trials:
        is_told = "the lobe separation held at 110 deg" in " ".join(trial.warnings)
        assert is_told is (trial.point != (4.0,))  # 4 deg are where it was


def test_durations_are_numbers_and_can_be_linked() -> None:
    vary, link = "cam.intake.durations=220:260:10 @ 0.050 in", (
        "cam.exhaust.durations=cam.intake.durations + 8 deg",
    )  # fmt: skip
    found = plan(vary, link=link)
    assert len(points(found.study)) == 5
    trials = Evaluation(found, None, FormulaRunner()).assess(points(found.study))
    assert [trial.status for trial in trials] == ["good"] * 5
    case = amend(found.base, changes(found.study, (240.0,)))
    for lobe, wanted in ((case.cam.intake, 240.0), (case.cam.exhaust, 248.0)):
        (height, duration) = lobe.durations[-1]
        assert height == pytest.approx(0.050 * INCH)
        assert math.degrees(duration) == pytest.approx(wanted)
    assert loads(write(found.study), CASES).study == found.study


def test_a_link_of_durations_needs_a_height() -> None:
    with pytest.raises(CaseError, match=r"@ 0\.050 in"):
        plan("longer=0:20:5 deg", link=("cam.exhaust.durations=longer + 220 deg",))
    given = plan("longer=0:20:5 deg", link=("cam.exhaust.durations=longer + 220 deg @ 0.050 in",))
    case = amend(given.base, changes(given.study, (10.0,)))
    assert math.degrees(case.cam.exhaust.durations[-1][1]) == pytest.approx(230.0)


def test_a_fixed_spark_that_knocks_is_told_of_each_engine() -> None:
    found = plan("cam.lobe_separation=106:110:4", overrides=("spark.advance=40 deg",))
    knocking = FormulaRunner(margin=lambda _, rpm: math.radians(-16.0 if rpm == 2000 else 1.0))
    trials = Evaluation(found, None, knocking).assess(points(found.study))
    for trial in trials:
        (text,) = [text for text in trial.warnings if "knocks" in text]
        assert "16 deg at 2000 rpm:" in text
    searched = plan("cam.lobe_separation=106:110:4", overrides=("spark.mode=knock limited",))
    quiet = Evaluation(searched, None, knocking).assess(points(searched.study))
    assert not any("knocks" in " ".join(trial.warnings) for trial in quiet)
