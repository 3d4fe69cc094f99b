"""`enginesim run` on invented records: what is asked for, shown, written, and how it ends."""

from __future__ import annotations

import csv
import io
import json
import os
import signal
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

import enginesim.cycle
from enginesim.base.errors import CycleError
from enginesim.cli.main import main
from enginesim.cycle.record import CycleRecord
from tests.records import case, record

Outcome = Callable[[float], CycleRecord | Exception]


class FakeCurve:
    """Stands in for the simulation: finishes speeds in rising order, in the calling thread."""

    def __init__(self, outcome: Outcome) -> None:
        self.outcome = outcome
        self.calls: list[tuple[float, ...]] = []
        self.options: dict[str, Any] = {}

    def __call__(
        self, case: Any, rpms: Sequence[float], *, on_done: Any, on_failed: Any, **options: Any
    ) -> tuple[CycleRecord, ...]:
        self.calls.append(tuple(rpms))
        self.options = {"case": case, **options}
        found = []
        for rpm in sorted(rpms):
            if options["cancel"].is_set():
                break
            made = self.outcome(rpm)
            if isinstance(made, CycleError):
                on_failed(rpm, made)
            elif isinstance(made, CycleRecord):
                found.append(made)
                on_done(made)
        return tuple(found)


@pytest.fixture
def simulation(monkeypatch: pytest.MonkeyPatch) -> FakeCurve:
    fake = FakeCurve(lambda rpm: record(rpm, traces=rpm in fake.options["traces"]))
    monkeypatch.setattr(enginesim.cycle, "curve", fake)
    return fake


@pytest.fixture
def toml(tmp_path: Path) -> str:
    from enginesim.case import write

    path = tmp_path / "four.toml"
    path.write_text(write(case()), encoding="utf-8")
    return str(path)


def test_tables_conditions_and_assumptions_are_shown(
    simulation: FakeCurve, toml: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["run", toml, "--rpm", "3000,4000"]) == 0
    shown = capsys.readouterr()
    assert simulation.calls == [(3000.0, 4000.0)]
    for part in ("Output", "In the cylinders", "lb-ft", "SAE J1349", "Patton", "2 of 2 speeds"):
        assert part in shown.out
    assert f"Assumed ({len(case().assumed)} values" in shown.out
    assert "not permission" in shown.out
    assert "\x1b" not in shown.out  # plain text: this is no terminal
    assert "3000 rpm: " in shown.err
    assert "5 cycles" in shown.err


def test_metric_and_brief(
    simulation: FakeCurve, toml: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["run", toml, "--rpm", "4000", "--units", "si", "--brief"]) == 0
    shown = capsys.readouterr().out
    assert "N m" in shown
    assert "lb-ft" not in shown
    assert f"{len(case().assumed)} values assumed" in shown
    assert "1 sigma" not in shown


def test_files_and_charts(
    simulation: FakeCurve, toml: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    words = ["--rpm", "3000:4000:500", "--traces", "3300", "--out", str(out)]
    words += ["--json", str(tmp_path / "a.json"), "--csv", str(tmp_path / "b" / "a.csv")]
    assert main(["run", toml, *words, "--no-refine", "--jobs", "3"]) == 0
    assert simulation.calls == [(3000.0, 3300.0, 3500.0, 4000.0)]
    assert simulation.options["traces"] == {3300.0}
    assert simulation.options["jobs"] == 3
    made = json.loads((tmp_path / "a.json").read_text("utf-8"))
    assert made == json.loads((out / "result.json").read_text("utf-8"))
    assert [speed["rpm"] for speed in made["speeds"]] == [3000, 3300, 3500, 4000]
    assert made["complete"] is True
    with (tmp_path / "b" / "a.csv").open(newline="") as file:
        assert len(list(csv.DictReader(file))) == 4
    stems = ("curve", "cycle-3300", "wave-intake-3300", "wave-exhaust-3300")
    expected = {f"{stem}.{ending}" for stem in stems for ending in ("png", "svg")}
    assert {path.name for path in out.iterdir()} == expected | {"result.json", "result.csv"}
    assert "Written: " in capsys.readouterr().out


def test_overrides_and_fidelity_reach_the_case(simulation: FakeCurve, toml: str) -> None:
    words = ["--set", "block.compression_ratio=10.5", "--fidelity", "filling", "--rpm", "4000"]
    assert main(["run", toml, *words]) == 0
    assert simulation.options["case"].block.compression_ratio == 10.5
    assert simulation.options["case"].numerics.fidelity == "filling"


def bent(rpm: float) -> CycleRecord:
    made = record(rpm)
    return made if rpm < 3400 else record(rpm, work=0.9 * made.work)


def test_a_range_is_refined_where_it_bends(
    simulation: FakeCurve, toml: str, capsys: pytest.CaptureFixture[str]
) -> None:
    simulation.outcome = bent
    assert main(["run", toml, "--rpm", "3000:4000:250", "--brief"]) == 0
    assert simulation.calls[0] == (3000.0, 3250.0, 3500.0, 3750.0, 4000.0)
    assert simulation.calls[1] == (3125.0, 3375.0, 3625.0)
    assert "3375" in capsys.readouterr().out


@pytest.mark.parametrize(
    "words", [["--rpm", "3000,3250,3500,3750,4000"], ["--rpm", "3000:4000:250", "--no-refine"]]
)
def test_a_list_is_taken_at_its_word(simulation: FakeCurve, toml: str, words: list[str]) -> None:
    simulation.outcome = bent
    assert main(["run", toml, *words]) == 0
    assert len(simulation.calls) == 1


def test_a_list_is_refined_when_told_to(simulation: FakeCurve, toml: str) -> None:
    simulation.outcome = bent
    assert main(["run", toml, "--rpm", "3000,3250,3500,3750,4000", "--refine"]) == 0
    assert len(simulation.calls) > 1


def test_ctrl_c_keeps_what_is_finished(
    simulation: FakeCurve, toml: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(rpm: float) -> CycleRecord:
        if rpm == 3500:
            os.kill(os.getpid(), signal.SIGINT)
        return record(rpm)

    simulation.outcome = interrupted
    before = signal.getsignal(signal.SIGINT)
    path = tmp_path / "a.json"
    assert main(["run", toml, "--rpm", "3000:5000:500", "--json", str(path)]) == 130
    assert signal.getsignal(signal.SIGINT) is before
    shown = capsys.readouterr()
    assert "interrupted: 2 speeds finished" in shown.err
    assert "3500" in shown.out
    made = json.loads(path.read_text("utf-8"))
    assert [speed["rpm"] for speed in made["speeds"]] == [3000, 3500]
    assert made["complete"] is False
    assert len(simulation.calls) == 1  # nothing is refined after that


def test_ctrl_c_before_anything_is_finished(
    simulation: FakeCurve, toml: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(_: float) -> Exception:
        os.kill(os.getpid(), signal.SIGINT)
        return RuntimeError()

    simulation.outcome = interrupted
    path = tmp_path / "a.json"
    assert main(["run", toml, "--rpm", "3000", "--json", str(path)]) == 130
    assert not path.exists()
    assert "interrupted: 0 speeds finished" in capsys.readouterr().err


def no_period(rpm: float) -> CycleRecord:
    return record(rpm, converged=False, status="not periodic after 40 cycles")


def test_a_speed_that_did_not_converge_is_marked(
    simulation: FakeCurve, toml: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    simulation.outcome = lambda rpm: no_period(rpm) if rpm == 3000 else record(rpm)
    path = tmp_path / "a.json"
    assert main(["run", toml, "--rpm", "3000,4000", "--json", str(path)]) == 0
    shown = capsys.readouterr()
    assert "*3000" in shown.out
    assert "* 3000 rpm NOT CONVERGED, no figures: not periodic after 40 cycles" in shown.out
    assert "3000 rpm: " in shown.err
    assert [s["converged"] for s in json.loads(path.read_text("utf-8"))["speeds"]] == [False, True]


def test_none_converged(simulation: FakeCurve, toml: str) -> None:
    simulation.outcome = no_period
    assert main(["run", toml, "--rpm", "3000,4000"]) == 3


def test_a_speed_that_broke_down_is_told(
    simulation: FakeCurve, toml: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    error = CycleError("runner 1: no valid gas state at 12.0 deg of cycle 1, 3000 rpm")
    simulation.outcome = lambda rpm: error if rpm == 3000 else record(rpm)
    path = tmp_path / "a.json"
    assert main(["run", toml, "--rpm", "3000:4000:500", "--json", str(path)]) == 0
    shown = capsys.readouterr()
    assert "* 3000 rpm FAILED: runner 1: no valid gas state" in shown.err
    made = json.loads(path.read_text("utf-8"))
    assert [speed["rpm"] for speed in made["speeds"]] == [3500, 4000]
    assert made["complete"] is False
    simulation.outcome = lambda _: error
    assert main(["run", toml, "--rpm", "3000"]) == 3


@pytest.mark.parametrize(
    "words, message",
    [
        (["--rpm", "fast"], "--rpm: found 'fast'"),
        (["--rpm", "3000", "--traces", "3000"], "--out DIR"),
        (["--rpm", "3000", "--traces", "slow", "--out", "x"], "--traces: found 'slow'"),
        (["--fidelity", "full"], "'full'"),
        (["--jobs", "0"], "--jobs"),
        (["--set", "block.boar=100 mm"], "bore"),
        (["--units", "metric"], "--units"),
    ],
)
def test_wrong_words(
    simulation: FakeCurve,
    toml: str,
    words: list[str],
    message: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["run", toml, *words]) == 2
    shown = capsys.readouterr()
    assert message in shown.err
    assert shown.out == ""
    assert simulation.calls == []


@pytest.mark.parametrize("option, name", [("--json", "a.json"), ("--csv", "a.csv"), ("--out", "")])
def test_a_place_that_cannot_be_written_is_refused_before_the_work(
    simulation: FakeCurve,
    toml: str,
    tmp_path: Path,
    option: str,
    name: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "file").write_text("")
    place = tmp_path / "file" / "below" / name
    assert main(["run", toml, "--rpm", "3000", option, str(place)]) == 2
    shown = capsys.readouterr()
    assert option in shown.err
    assert "is a file, not a folder" in shown.err
    assert simulation.calls == []


def test_folders_on_the_way_are_made(simulation: FakeCurve, toml: str, tmp_path: Path) -> None:
    place = tmp_path / "new" / "newer" / "a.csv"
    assert main(["run", toml, "--rpm", "3000", "--csv", str(place)]) == 0
    assert place.exists()


def test_a_write_that_fails_in_the_end_loses_no_work(
    simulation: FakeCurve,
    toml: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device", "a.json")

    monkeypatch.setattr("enginesim.report.files.write", full)
    assert main(["run", toml, "--rpm", "3000", "--json", str(tmp_path / "a.json")]) == 1
    shown = capsys.readouterr()
    assert "Output" in shown.out
    assert "No space left" in shown.err
    assert "Traceback" not in shown.err


def test_files_are_there_when_the_reader_of_the_table_stops(
    simulation: FakeCurve, toml: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object) -> None:
        raise BrokenPipeError

    monkeypatch.setattr("enginesim.cli.screen.show_figures", stopped)
    monkeypatch.setattr("sys.stderr", io.StringIO())  # it is closed
    place = tmp_path / "a.json"
    assert main(["run", toml, "--rpm", "3000", "--json", str(place)]) == 1
    assert json.loads(place.read_text("utf-8"))["complete"] is True
