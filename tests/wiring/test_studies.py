"""`enginesim sweep` and `enginesim search`, from the words typed to the files written."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from enginesim.cli.main import main
from enginesim.study.evaluation import Evaluation
from tests.unit.study.studies import SINGLE, FormulaRunner

VARY = ["--vary", "cam.lobe_separation=106:114:4", "--vary", "intake.runner.length=100:300:100 mm"]


@pytest.fixture
def formula(monkeypatch: pytest.MonkeyPatch) -> FormulaRunner:
    """Results by a formula in place of simulations; stored as those are."""
    runner = FormulaRunner()
    begin: Callable[..., None] = Evaluation.__init__

    def evaluation(self: Evaluation, plan: object, store: object, run: object) -> None:
        runner.store = store  # type: ignore[assignment]
        begin(self, plan, store, runner)

    monkeypatch.setattr(Evaluation, "__init__", evaluation)
    return runner


def test_sweep(formula: FormulaRunner, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    words = ["sweep", str(SINGLE), *VARY, "--rpm", "2000,3000", "--limit", "overlap <= 36"]
    assert main([*words, "--units", "si", "--out", str(out)]) == 0
    shown = capsys.readouterr().out
    assert "9 engines: 6 good, 3 ruled out before any run" in shown
    assert "102.5" in shown
    assert "cam.lobe_separation" in shown
    with (out / "engines.csv").open() as file:
        assert len(list(csv.DictReader(file))) == 9
    assert {path.name for path in out.glob("*.png")} == {
        "map.png", "effects.png", "about-best.png", "best-curves.png"
    }  # fmt: skip
    assert len(formula.runs) == 12
    # The study that was written, and the command again: everything is in the store.
    assert main(["sweep", str(out / "study.toml"), "--units", "si"]) == 0
    assert "102.5" in capsys.readouterr().out
    assert main(words) == 0
    assert len(formula.runs) == 12


def test_warnings_of_the_engines(
    formula: FormulaRunner, capsys: pytest.CaptureFixture[str]
) -> None:
    """Five good engines at whose lifts the springs bind: it was said of none of them."""
    words = ["sweep", str(SINGLE), "--vary", "cam.intake.valve_lift=9:10:0.25 mm",
             "--rpm", "2000,3000", "--no-store", "--set", "spark.advance=40 deg",
             "--set", "valve_gear.intake.installed_height=40 mm",
             "--set", "valve_gear.intake.bind_height=31.5 mm"]  # fmt: skip
    formula.margin = lambda _case, rpm: -0.28 if rpm == 2000 else 0.1
    assert main(words) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "5 engines: 5 good" in shown
    assert shown.count("the coils would touch before full lift") == 1
    assert "more engines, with other figures" in shown
    assert shown.count("the fixed spark knocks by 16 deg at 2000 rpm:") == 1
    assert "all engines" in shown


def test_search(formula: FormulaRunner, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["search", str(SINGLE), *VARY, "--rpm", "2000,3000", "--units", "si",
             "--aim", "average torque", "--aim", "least average residual"]  # fmt: skip
    assert main([*words, "--out", str(tmp_path / "out"), "--points", "9"]) == 0
    shown = capsys.readouterr().out
    assert "Front of both aims" in shown
    assert "Search ended" in shown
    assert (tmp_path / "out" / "front.png").exists()
    n = len(formula.runs)
    assert main([*words, "--points", "9"]) == 0
    assert len(formula.runs) == n


def test_one_engine_is_not_many(formula: FormulaRunner, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["sweep", str(SINGLE), *VARY, "--rpm", "2000,3000", "--aim", "highest power"]
    assert main([*words, "--top", "1"]) == 0
    assert "The engine with the highest peak power" in capsys.readouterr().out
    assert main([*words, "--top", "2", "--aim", "least highest residual"]) == 0
    shown = capsys.readouterr().out
    assert "The 2 engines with the highest peak power" in shown
    assert "The 2 engines with the lowest peak residual" in shown


def test_stopped(formula: FormulaRunner, capsys: pytest.CaptureFixture[str]) -> None:
    formula.stop_after = 5
    words = ["sweep", str(SINGLE), *VARY, "--rpm", "2000,3000"]
    assert main(words) == 130
    assert "the same command goes on from here" in capsys.readouterr().err
    formula.stop_after = 10**9
    assert main(words) == 0
    assert len(formula.runs) == len(set(formula.runs)) == 18


def test_no_good_engine(formula: FormulaRunner, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sweep", str(SINGLE), *VARY, "--limit", "overlap <= 1 deg"]) == 3
    assert "9 ruled out before any run" in capsys.readouterr().out
    assert formula.runs == []


@pytest.mark.parametrize(
    "words, said",
    [
        (["sweep", "nothing.toml"], ["no file"]),
        (["sweep", str(SINGLE)], ["nothing to vary"]),
        (
            ["sweep", str(SINGLE), "--vary", "cam.lobe_seperation=106:114:4", "--vary",
             "intake.runner.length=8:20:1", "--aim", "average torqe", "--rpm", "9:1:1"],
            ["did you mean cam.lobe_separation?", "8 without a unit", "did you mean torque?",
             "--rpm"],
        ),
        (
            ["search", str(SINGLE), *VARY, "--aim", "average torqe", "--show", "lowest powr",
             "--limit", "residul <= 5 %"],
            ["--aim: found 'average torqe'", "--show: found 'lowest powr'",
             "--limit: found 'residul"],
        ),
        (["sweep", str(SINGLE), "--vary", "intake.runner.length=8:20 in"], ["first:last:step"]),
        (["search", str(SINGLE), "--vary", "intake.runner.length=8:20 in"], ["one or two aims"]),
        (["sweep", str(SINGLE), *VARY, "--store", "a.sqlite", "--no-store"], ["one of the two"]),
    ],
)  # fmt: skip
def test_malformed(
    words: list[str],
    said: list[str],
    formula: FormulaRunner,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("ENGINESIM_STORE", str(tmp_path / "results.sqlite"))
    assert main([*words, "--out", "out", "--log", "log.txt"]) == 2
    shown = capsys.readouterr().err
    for text in said:
        assert text in shown
    assert formula.runs == []
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
def test_simulated_in_processes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The smallest case without waves, by real processes; a second time from the store."""
    store = ["--store", str(tmp_path / "results.sqlite")]
    vary = ["--vary", "cam.lobe_separation=108,112", "--rpm", "2000,3000", "--fidelity", "filling"]
    log = tmp_path / "log.txt"
    assert main(["sweep", str(SINGLE), *vary, *store, "--log", str(log)]) == 0
    assert "2 engines: 2 good" in capsys.readouterr().out
    n = log.read_text().count("periodic")
    assert n == 4
    assert main(["search", str(SINGLE), *vary, *store, "--aim", "average torque"]) == 0
    assert "2 engines: 2 good" in capsys.readouterr().out
