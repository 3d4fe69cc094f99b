"""`enginesim bench`: figures in a table and as JSON, with and without a cold start."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

import enginesim.cycle.bench
from enginesim.cli.main import main
from enginesim.cycle.bench import Figures

FIGURES = Figures(
    duct_rate=80e6,
    engine_rate=25e6,
    curve_one=1.5,
    curve_all=0.9,
    n_cores=2,
    cached_start=2.0,
    cold_start=30.0,
    peak_memory=400.0,
)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[bool]:
    """Whether the cold start was asked for; nothing is timed."""
    calls: list[bool] = []

    def bench(*, is_cold_timed: bool) -> Figures:
        calls.append(is_cold_timed)
        return FIGURES if is_cold_timed else replace(FIGURES, cold_start=None)

    monkeypatch.setattr(enginesim.cycle.bench, "bench", bench)
    return calls


def test_table_and_json(
    asked: list[bool], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "bench.json"
    assert main(["bench", "--json", str(path)]) == 0
    table = capsys.readouterr().out
    for figure in (
        "80.0 million",
        "25.0 million",
        "1.50 s",
        "0.90 s",
        "2.00 s",
        "30.0 s",
        "400 MB",
    ):
        assert figure in table
    found = json.loads(path.read_text("utf-8"))
    assert found["bench"]["engine_rate"] == 25e6
    assert found["provenance"]["physics_version"] >= 1
    assert asked == [True]


def test_without_a_cold_start(asked: list[bool], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["bench", "--no-cold"]) == 0
    assert "cold" not in capsys.readouterr().out
    assert asked == [False]


def test_a_file_that_cannot_be_written_is_said_before_anything_is_timed(
    asked: list[bool], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").touch()
    assert main(["bench", "--json", str(tmp_path / "file" / "bench.json")]) == 2
    assert "is a file, not a folder" in capsys.readouterr().err
    assert asked == []
