"""What is run, what is kept, and what an error, a wrong name or an interruption does."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import psutil
import pytest

import validation.runner as runner_module
from enginesim.base.errors import CycleError
from tests.meta.tree import ROOT
from tests.patience import PATIENCE
from validation import ledger, page, runner
from validation.__main__ import main
from validation.folder import Folder, every
from validation.judgement import FAILED, MISS, WITHIN, EvidenceError, Limit, Row

LIMIT = Limit.read("x", {"what": "speed", "why": "because", "source": "book", "at_most": 10})


class Invented(Folder):
    """A check of two tasks, which gives double of each."""

    stub: Any = None
    place: Path = Path()

    @property
    def path(self) -> Path:
        return self.place

    @property
    def check(self) -> Any:
        return self.stub


@pytest.fixture
def invented(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Invented:
    from matplotlib.figure import Figure

    def work(task: int) -> int:
        if task < 0:
            raise CycleError("the gas ran out")
        return 2 * task

    def rows(folder: Folder, found: dict[int, int]) -> list[Row]:
        return [folder.row("speed", value, of=str(task)) for task, value in found.items()]

    stub = SimpleNamespace(
        tasks=lambda fast: [1] if fast else [1, 6],
        work=work,
        rows=rows,
        figure=lambda folder, found: Figure(figsize=(1, 1)),  # noqa: ARG005
    )
    monkeypatch.setattr(Invented, "stub", stub)
    monkeypatch.setattr(Invented, "place", tmp_path)
    return Invented("invented", "Invented", "Is it?", 1.0, {}, {"speed": LIMIT})


def concluded(folder: Invented, *, keep: bool) -> list[Row]:
    """As `run` does it, in this process."""
    part = runner_module._Underway(folder, list(folder.check.tasks(False)))
    for task in part.tasks:
        try:
            part.found[task] = folder.check.work(task)
        except CycleError as error:
            part.faults.append(str(error))
    assert part.is_complete
    return runner_module._concluded(part, keep=keep)


def test_rows_and_figure_are_kept(invented: Invented, tmp_path: Path) -> None:
    rows = concluded(invented, keep=True)
    assert [(row.of, row.verdict) for row in rows] == [("1", WITHIN), ("6", MISS)]
    assert sorted(p.name for p in tmp_path.iterdir()) == ["figure.png", "found.json"]
    kept = ledger.load(tmp_path)
    assert kept is not None
    assert list(kept.rows) == rows
    assert not kept.is_stale


def test_quick_run_keeps_nothing(invented: Invented, tmp_path: Path) -> None:
    concluded(invented, keep=False)
    assert list(tmp_path.iterdir()) == []


def test_failed_task_is_a_row_that_says_so(invented: Invented, tmp_path: Path) -> None:
    invented.check.tasks = lambda _: [1, -1]
    (row,) = concluded(invented, keep=True)
    assert (row.verdict, row.check) == (FAILED, "invented")
    assert "the gas ran out" in row.found
    assert [p.name for p in tmp_path.iterdir()] == ["found.json"]


def test_error_of_the_simulation_is_no_crash(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(_: Any) -> None:
        raise CycleError("no period")

    stub = SimpleNamespace(check=SimpleNamespace(work=fails))
    monkeypatch.setattr("validation.folder.read", lambda _: stub)
    answer, fault, seconds = runner_module._work("x", 1)
    assert (answer, fault) == (None, "no period")
    assert seconds >= 0.0


def test_tasks_of_a_real_check_in_processes() -> None:
    told: list[str] = []
    folders = runner.chosen(["finite_heat_release"])
    rows = runner.run(
        folders, fast=True, jobs=1, keep=False, on_done=lambda f, *_: told.append(f.name)
    )
    assert told == ["finite_heat_release"]
    assert {row.verdict for row in rows} == {WITHIN}


def test_falsified_program_would_miss() -> None:
    """The same rows from pressures that are half a per cent too high."""
    (folder,) = runner.chosen(["finite_heat_release"])
    found = {task: folder.check.work(task) for task in folder.check.tasks(True)}
    assert {row.verdict for row in folder.check.rows(folder, found)} == {WITHIN}
    wrong = {task: a._replace(peak=1.005 * a.peak) for task, a in found.items()}
    verdicts = {row.measure: row.verdict for row in folder.check.rows(folder, wrong)}
    assert verdicts["peak"] == MISS
    assert verdicts["work"] == WITHIN


def test_unknown_name_is_told_with_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(EvidenceError, match="did you mean 'knock'"):
        runner.chosen(["knok"])
    assert main(["--only", "knok"]) == 2
    assert "did you mean 'knock'" in capsys.readouterr().err
    assert main(["--jobs", "0"]) == 2


def test_names_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--list"]) == 0
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == [
        folder.name for folder in every()
    ]


@pytest.fixture
def kept_page() -> Iterator[Path]:
    """The page of all checks; as it was afterwards, also where newer sources make it say so."""
    path = ROOT / "validation" / "README.md"
    before = path.read_bytes()
    yield path
    path.write_bytes(before)


def _heeding_interrupts() -> None:
    # Where the tests themselves run in the background of a shell, a child would ignore them.
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.mark.slow
def test_interruption_ends_all_processes_and_writes_nothing(kept_page: Path) -> None:
    before = {path: path.read_bytes() for path in (ROOT / "validation").rglob("found.json")}
    process = subprocess.Popen(
        [sys.executable, "-m", "validation", "--only", "cars_population", "--jobs", "2"],
        cwd=ROOT,
        stderr=subprocess.PIPE,
        preexec_fn=_heeding_interrupts,
    )
    until = time.monotonic() + PATIENCE
    workers: list[psutil.Process] = []
    while len(workers) < 2:  # a keeper of resources, and a worker
        assert process.poll() is None
        assert time.monotonic() < until
        time.sleep(0.1)
        workers = psutil.Process(process.pid).children(recursive=True)
    process.send_signal(signal.SIGINT)
    _, told = process.communicate(timeout=PATIENCE)
    assert process.returncode == 130
    assert told.decode().strip().endswith("interrupted")
    assert b"Traceback" not in told
    assert {path: path.read_bytes() for path in before} == before
    assert kept_page.read_text("utf-8") == page.made()  # what was complete before
    assert not list((ROOT / "validation").rglob("*.part"))
    _, alive = psutil.wait_procs(workers, timeout=PATIENCE)
    assert alive == []
