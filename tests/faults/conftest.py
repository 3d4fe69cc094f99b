"""Processes that are started, killed and looked at by the tests of faults."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

from enginesim.study.store import Store
from tests.faults.study import N_POINTS
from tests.patience import PATIENCE

ROOT = Path(__file__).parent.parent.parent

Start = Callable[..., "Study"]


class Study:
    """A study as a process, with its store and its log."""

    def __init__(self, folder: Path, words: Sequence[str], log: str) -> None:
        self.store, self.log = folder / "results.sqlite", folder / log
        self.process = subprocess.Popen(
            [
                sys.executable, "-m", "tests.faults.study", "--store", str(self.store),
                "--log", str(self.log), *words,
            ],
            cwd=ROOT, env=os.environ, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        self.lines: list[str] = []

    def after(self, n: int) -> None:
        """Wait until it has told of n points."""
        assert self.process.stdout is not None
        while len(self.lines) < n:
            line = self.process.stdout.readline()
            assert line, self.process.communicate(timeout=PATIENCE)
            self.lines.append(line.strip())

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()

    def ends(self) -> tuple[int, str]:
        """Exit code, and what it said on the error stream."""
        out, err = self.process.communicate(timeout=PATIENCE)
        self.lines += out.splitlines()
        return self.process.returncode, err

    def completes(self) -> None:
        code, err = self.ends()
        assert (code, self.lines[-1:]) == (0, ["complete"]), err


def runs(*studies: Study) -> Counter[str]:
    """How often each point was run to its end, by the logs."""
    found: Counter[str] = Counter()
    for path in {study.log for study in studies}:
        if path.exists():
            found.update(re.findall(r"  (\w{12} \d+) rpm, ", path.read_text("utf-8")))
    return found


def contents(path: Path) -> dict[tuple[Any, ...], str]:
    """Everything that a store holds of its results, text by text, and of its failures."""
    with Store.open(path, create=False) as store, store.reading() as connection:
        rows = connection.execute(
            "SELECT c.digest, p.rpm, p.fidelity, p.is_done, p.kind, d.fields FROM points p JOIN "
            "cases c ON c.id = p.case_id LEFT JOIN details d ON d.point_id = p.id"
        ).fetchall()
        assert connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    return {row[:5]: row[5] for row in rows}


def claims(path: Path) -> int:
    """Points that a process has taken upon itself and not finished."""
    with Store.open(path, create=False) as store, store.reading() as connection:
        return int(connection.execute("SELECT count(*) FROM claims").fetchone()[0])


def eventually(is_so: Callable[[], bool], patience: float = PATIENCE) -> None:
    end = time.monotonic() + patience
    while not is_so():
        assert time.monotonic() < end
        time.sleep(0.02)


@pytest.fixture(scope="session")
def undisturbed(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[Any, ...], str]:
    """What the study gives when nobody does anything to it."""
    study = Study(tmp_path_factory.mktemp("undisturbed"), (), "log")
    study.completes()
    found = contents(study.store)
    assert len(found) == N_POINTS
    assert set(runs(study).values()) == {1}
    return found


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Start]:
    """Starts studies on one store; ends what is left of them."""
    started: list[Study] = []

    def begin(*words: str, log: str = "log") -> Study:
        started.append(Study(tmp_path, words, log))
        return started[-1]

    yield begin
    for study in started:
        if study.process.poll() is None:
            study.kill()
        for stream in (study.process.stdout, study.process.stderr):
            if stream is not None:
                stream.close()
