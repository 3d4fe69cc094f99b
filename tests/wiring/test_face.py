"""A lobe that runs off the face of its lifter is told wherever a case is read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

import enginesim.cycle
import enginesim.study.obtain
from enginesim.case import Case, load, write
from enginesim.cli.main import main
from enginesim.cycle.record import CycleRecord
from enginesim.study.obtain import Obtained
from tests.records import case, record
from tests.unit.study.results import result

ROOT = Path(__file__).parents[2]
CASE = str(ROOT / "cases" / "lake-boat-v8.toml")
FAST = "cam.intake.valve_lift=0.499 in"
TOLD = "takes one of 0.877 in, or a roller"


def shown(capfd: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main([*arguments]) == 0
    return " ".join(capfd.readouterr().out.split())


@pytest.mark.parametrize("lift, is_told", [("0.444 in", False), ("0.499 in", True)])
def test_one_place_for_all_commands(lift: str, is_told: bool) -> None:
    warnings = load(CASE, [f"cam.intake.valve_lift={lift}"]).warnings
    assert any(TOLD in str(warning) for warning in warnings) == is_told


def test_check(capfd: pytest.CaptureFixture[str]) -> None:
    assert TOLD in shown(capfd, "check", CASE, "--brief", "--set", FAST)


def test_sheets(capfd: pytest.CaptureFixture[str]) -> None:
    assert TOLD in shown(capfd, "sheet", CASE, "--kind", "cam", "--set", FAST)


def test_run(
    capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def curve(
        _case: Case, rpms: Sequence[float], *, on_done: Callable[[CycleRecord], None], **_: Any
    ) -> tuple[CycleRecord, ...]:
        found = tuple(record(rpm) for rpm in rpms)
        for made in found:
            on_done(made)
        return found

    monkeypatch.setattr(enginesim.cycle, "curve", curve)
    path = tmp_path / "four.toml"
    path.write_text(write(case()), encoding="utf-8")
    cam = f"cam={ROOT / 'cases' / 'parts' / 'cam-school.toml'}"
    changes = ["head.valvetrain=ohv", cam, FAST]
    options = [word for change in changes for word in ("--set", change)]
    assert TOLD in shown(capfd, "run", str(path), "--rpm", "3000", "--brief", *options)


def test_compare(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    def obtain(cases: Sequence[Case], rpms: Sequence[float], **_: Any) -> tuple[Obtained, ...]:
        return tuple(Obtained(c, {rpm: result(rpm) for rpm in rpms}, {}) for c in cases)

    monkeypatch.setattr(enginesim.study.obtain, "obtain", obtain)
    words = ("compare", CASE, "--swap", FAST, "--rpm", "2000:4000:1000")
    assert TOLD in shown(capfd, *words)


def test_a_wider_face_is_taken_at_its_word(capfd: pytest.CaptureFixture[str]) -> None:
    wide = ("--set", FAST, "--set", "cam.face_diameter=0.904 in")
    assert "runs off" not in shown(capfd, "check", CASE, "--brief", *wide)
