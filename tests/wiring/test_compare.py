"""`enginesim compare` on results that nobody simulated: what is asked for, shown and written."""

from __future__ import annotations

import csv
import io
import json
import os
import signal
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import replace
from math import pi
from pathlib import Path
from typing import Any

import pytest

import enginesim.study.obtain
from enginesim.case import Case, write
from enginesim.cli.main import main
from enginesim.performance import Performance
from enginesim.study.obtain import Obtained
from enginesim.study.store import Store
from enginesim.study.store_rows import Failure
from tests.records import case
from tests.unit.study.results import result


def point(engine: Case, rpm: float) -> Performance:
    """More compression, more torque; more displacement, more at high speed."""
    base = result(rpm)
    ratio, bore = engine.block.compression_ratio / 9.5, engine.block.bore / 0.1
    torque = 300.0 * ratio * bore ** (rpm / 1000 - 3.5)
    net = torque * 4 * pi / base.displacement + base.fmep
    return replace(
        base, torque=torque, power=torque * rpm * pi / 30, imep_net=net, imep_gross=net + base.pmep
    )


class FakeObtain:
    """Stands in for obtaining: gives a result for every speed, or a failure."""

    def __init__(self) -> None:
        self.calls: list[tuple[int, tuple[float, ...]]] = []
        self.broken: set[float] = set()
        self.options: dict[str, Any] = {}

    def __call__(
        self, cases: Sequence[Case], rpms: Sequence[float], **options: Any
    ) -> tuple[Obtained, ...]:
        self.calls.append((len(cases), tuple(rpms)))
        self.options = options
        return tuple(
            Obtained(
                c,
                {rpm: point(c, rpm) for rpm in rpms if rpm not in self.broken},
                {rpm: Failure(rpm, "cycle", "broke") for rpm in rpms if rpm in self.broken},
            )
            for c in cases
        )


@pytest.fixture
def obtained(monkeypatch: pytest.MonkeyPatch) -> FakeObtain:
    fake = FakeObtain()
    monkeypatch.setattr(enginesim.study.obtain, "obtain", fake)
    return fake


@pytest.fixture
def paths(tmp_path: Path) -> list[str]:
    found = []
    for name, changes in (("a", {}), ("b", {"block__bore": "101 mm"})):
        path = tmp_path / f"{name}.toml"
        path.write_text(write(case(**changes)), encoding="utf-8")
        found.append(str(path))
    return found


RPM = ["--rpm", "2000:5000:500"]


def test_two_cases(
    obtained: FakeObtain, paths: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", *paths, *RPM]) == 0
    shown = capsys.readouterr().out
    assert obtained.calls == [(2, tuple(2000.0 + 500 * i for i in range(7)))]
    for part in (
        "A: a", "B: b", "block.bore", "Torque", "Power", "In short", "above 3,500 rpm",
        "Why B and A differ", "Numerical error", "Not corrected", "assumed", "not permission",
    ):  # fmt: skip
        assert part in shown, part
    assert "\x1b" not in shown


def test_swaps_one_by_one_and_together(
    obtained: FakeObtain, paths: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["--swap", "block.bore=102 mm", "--swap", "block.compression_ratio=10.5"]
    assert main(["compare", paths[0], *words, *RPM]) == 0
    shown = capsys.readouterr().out
    assert obtained.calls[0][0] == 4
    for part in ("A: as it is", "B: block.bore = 102 mm", "D: all together", "D against A"):
        assert part in shown
    assert "act on each other" in shown


def test_alternatives_for_one_part_are_not_added_up(
    obtained: FakeObtain, paths: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["--swap", "block.bore=102 mm", "--swap", "block.bore=103 mm"]
    assert main(["compare", paths[0], *words, *RPM]) == 0
    assert obtained.calls[0][0] == 3
    assert "together" not in capsys.readouterr().out


def test_a_swap_is_told_as_one(
    paths: list[str], obtained: FakeObtain, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["--set", "block.compression_ratio=10", "--swap", "block.bore=102 mm", "--brief"]
    assert main(["compare", paths[0], *words, *RPM]) == 0
    shown = capsys.readouterr().out
    assert "block.bore" in shown
    assert "Power\n" not in shown


def test_files_and_charts(
    obtained: FakeObtain, paths: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    weights = tmp_path / "lap.csv"
    weights.write_text("rpm,time\n2000-3000,2\n4000,1\n", encoding="utf-8")
    words = ["--out", str(out), "--page", "--json", str(tmp_path / "x.json"), "--units", "si"]
    words += ["--window", "2500:4500", "--weights", str(weights), "--correction", "j607"]
    assert main(["compare", *paths, *RPM, *words]) == 0
    shown = capsys.readouterr().out
    assert "SAE J607 (29.92 inHg dry, 60 °F), factor 1.0400" in shown
    assert "weighted with time" in shown
    assert "N m" in shown
    assert {path.name for path in out.iterdir()} == {
        "compare.json", "compare.csv", "compare.png", "compare.svg", "why-B.png", "why-B.svg",
        "page.pdf", "page.png",
    }  # fmt: skip
    made = json.loads((out / "compare.json").read_text("utf-8"))
    assert made == json.loads((tmp_path / "x.json").read_text("utf-8"))
    assert made["correction"] == "J607"
    assert made["window_rpm"] == [2500, 4500]
    assert made["complete"] is True
    factor = made["sides"][0]["correction_factor"]
    assert factor == pytest.approx(1.04009, abs=1e-4)
    assert made["sides"][0]["torque_Nm"][0] == pytest.approx(300 * factor)
    with (out / "compare.csv").open(newline="") as file:
        assert len(list(csv.DictReader(file))) == 7


def test_store_options_reach_it(obtained: FakeObtain, paths: list[str], tmp_path: Path) -> None:
    assert main(["compare", *paths, *RPM, "--no-store"]) == 0
    assert obtained.options["store"] is None
    path = tmp_path / "own.sqlite"
    assert main(["compare", *paths, *RPM, "--store", str(path)]) == 0
    assert obtained.options["store"].path == path


def test_failed_speeds_are_told_and_left_out(
    obtained: FakeObtain, paths: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    obtained.broken = {3000.0}
    assert main(["compare", *paths, *RPM, "--json", str(tmp_path / "x.json")]) == 0
    shown = capsys.readouterr()
    assert "* A, 3000 rpm FAILED: broke" in shown.err
    assert " 3000 " not in shown.out
    assert json.loads((tmp_path / "x.json").read_text("utf-8"))["complete"] is False


def test_too_little_in_common(
    obtained: FakeObtain, paths: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    obtained.broken = {2500.0 + 500 * i for i in range(6)}
    path = tmp_path / "x.json"
    assert main(["compare", *paths, *RPM, "--json", str(path)]) == 3
    assert "1 speeds at which all cycles are periodic" in capsys.readouterr().err
    assert not path.exists()
    obtained.broken = {2000.0 + 500 * i for i in range(7)}
    assert main(["compare", *paths, *RPM]) == 3
    assert "comparison: found no result of A, B; allowed two speeds" in capsys.readouterr().err
    obtained.broken = {2000.0}
    assert main(["compare", *paths, *RPM, "--window", "2000:4000"]) == 3
    assert "window: found 2000 to 4000 rpm; allowed within 2500" in capsys.readouterr().err


def test_interrupted_before_there_is_anything_to_compare(
    obtained: FakeObtain,
    paths: list[str],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def stopped(*arguments: Any, **options: Any) -> tuple[Obtained, ...]:
        os.kill(os.getpid(), signal.SIGINT)
        obtained.broken = {2500.0 + 500 * i for i in range(6)}
        return obtained(*arguments, **options)

    monkeypatch.setattr(enginesim.study.obtain, "obtain", stopped)
    assert main(["compare", *paths, *RPM]) == 130
    told = capsys.readouterr().err
    assert "interrupted before all engines had two speeds in common" in told
    assert "error" not in told


@pytest.mark.parametrize(
    "words, messages",
    [
        (["--window", "fast"], ["--window: found 'fast'"]),
        (["--window", "1000:3000"], ["--window: found 1000 to 3000 rpm", "2000 to 5000"]),
        (["--weights", "none.csv"], ["found no file none.csv"]),
        (["--rpm", "3000"], ["two speeds or more"]),
        (["--rpm", "fast"], ["--rpm: found 'fast'"]),
        (["--correction", "J1994"], ["--correction"]),
        (["--page"], ["--out DIR"]),
        (["--waves", "3000"], ["--out DIR"]),
        (["--set", "block.boar=3 in"], ["bore"]),
        (["--swap", "block.bore=102 mm"], ["one case with --swap"]),
        (["--store", "x.sqlite", "--no-store"], ["one of the two"]),
    ],
)
def test_wrong_words(
    obtained: FakeObtain,
    paths: list[str],
    words: list[str],
    messages: list[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    before = set(tmp_path.iterdir())
    assert main(["compare", *paths, *RPM, *words]) == 2
    shown = capsys.readouterr()
    for message in messages:
        assert message in shown.err
    assert shown.out == ""
    assert obtained.calls == []
    assert set(tmp_path.iterdir()) == before


def test_all_that_is_wrong_is_said_at_once(
    paths: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    weights = tmp_path / "lap.csv"
    weights.write_text("2000,1\nfast,2\nslow,3\n", encoding="utf-8")
    words = ["--window", "5:1", "--weights", str(weights), "--rpm", "x"]
    words += ["--swap", "intake=none.toml", "--swap", "block.bore=40 in"]
    assert main(["compare", paths[0], *words]) == 2
    shown = capsys.readouterr().err
    assert shown.startswith("6 problems")
    for part in ("--window", "lap.csv:2", "lap.csv:3", "--rpm", "--swap intake=none.toml",
                 "--swap block.bore=40 in"):  # fmt: skip
        assert part in shown


@pytest.mark.parametrize(
    "words, message",
    [
        ([], "found 0 cases"),
        (["a.toml"], "found 1 case and no --swap"),
        (["a.toml", "--swap", "intake"], "found 'intake'; allowed PART=FILE"),
        (["a.toml", "--swap", "x=1", "--swap", "x=1"], "twice"),
        (["a.toml"] * 9, "9 engines; allowed at most 8"),
        (["a.toml", "b.toml", "a.toml"], "cases: found a.toml twice; allowed each case once"),
        (["none.toml", "other.toml"], "2 problems:"),
        (
            ["cases/lake-boat-v8.toml", "--swap", "cam=parts/intake-single-plane.toml"],
            "1 problem:\n  --swap cam=parts/intake-single-plane.toml: cam: found a file with fields"
            " of intake; allowed one with fields of cam"
            " (did you mean intake=parts/intake-single-plane.toml?)",
        ),
    ],
)
def test_wrong_entries(words: list[str], message: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", *words]) == 2
    assert message in capsys.readouterr().err


def test_from_the_store_nothing_heavy_is_loaded(tmp_path: Path, paths: list[str]) -> None:
    """All stored: neither compiler nor thermodynamics, and of the charts not the global part."""
    from enginesim.case import load

    store = tmp_path / "results.sqlite"
    with Store.open(store) as kept:
        for path in paths:
            engine = load(path)
            for rpm in (2000.0, 3000.0, 4000.0):
                kept.put(engine, point(engine, rpm))
    code = (
        "import sys; from enginesim.cli.main import main;"
        f"code = main(['compare', *{paths!r}, '--rpm', '2000:4000:1000', '--store', {str(store)!r},"
        f" '--out', {str(tmp_path / 'out')!r}]);"
        "print(code, [m for m in ('numba', 'cantera', 'scipy', 'matplotlib.pyplot', 'typst')"
        " if m in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.splitlines()[-1] == "0 []"
    assert (tmp_path / "out" / "compare.png").exists()


def test_bands_of_what_was_assumed(
    obtained: FakeObtain, paths: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "x.json"
    assert main(["compare", *paths, *RPM, "--bands", "--json", str(path)]) == 0
    shown = capsys.readouterr()
    assert "values with a band" in shown.err
    assert len(obtained.calls) == 2
    assert obtained.calls[1][1] == (2000.0, 3000.0, 3500.0, 4000.0, 5000.0)
    assert "B more" in shown.out
    assert "values known to a band, each moved by one standard deviation" in shown.out
    made = json.loads(path.read_text("utf-8"))["sides"][1]
    assert len(made["band_torque_Nm"]) == 7
    assert made["chance_of_more_torque"][0] < 0.05 < 0.95 < made["chance_of_more_torque"][-1]
    # Without any measurement nothing is sure, on the screen or in a file.
    assert 0.01 <= min(made["chance_of_more_torque"]) < max(made["chance_of_more_torque"]) <= 0.99
    assert "100" not in [
        row.split()[-1] for row in shown.out.splitlines() if row[:6].strip().isdigit()
    ]
    assert ">99" in shown.out


def test_a_value_that_cannot_be_moved_is_told(
    obtained: FakeObtain, paths: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    obtained.broken = {3500.0}
    assert main(["compare", *paths, *RPM, "--bands"]) == 0
    shown = capsys.readouterr().err
    assert "friction.multiplier" not in shown  # 3500 rpm is not common, so nothing is moved there
    obtained.broken = set()
    original = obtained.__call__

    def only_later(cases: Any, rpms: Any, **options: Any) -> Any:
        obtained.broken = {2000.0} if len(cases) > 2 else set()
        return original(cases, rpms, **options)

    enginesim.study.obtain.obtain = only_later
    assert main(["compare", *paths, *RPM, "--bands"]) == 0
    assert "friction.multiplier does not count at 1 speeds: broke" in capsys.readouterr().err


def test_files_are_there_when_the_reader_of_the_table_stops(
    obtained: FakeObtain, paths: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object) -> None:
        raise BrokenPipeError

    monkeypatch.setattr("enginesim.cli.screen.show_figures", stopped)
    monkeypatch.setattr("sys.stderr", io.StringIO())  # it is closed
    assert main(["compare", *paths, *RPM, "--out", str(tmp_path / "out")]) == 1
    assert {path.suffix for path in (tmp_path / "out").iterdir()} == {
        ".json",
        ".csv",
        ".png",
        ".svg",
    }


def test_table_is_shown_when_the_files_cannot_be_written(
    obtained: FakeObtain, paths: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "out" / "compare.png").mkdir(parents=True)
    assert main(["compare", *paths, *RPM, "--out", str(tmp_path / "out")]) == 1
    told = capsys.readouterr()
    assert "B against A" in told.out
    assert "compare.png" in told.err
