"""Do processes that get the same curves at once share the work, and lose none of it?"""

from __future__ import annotations

import os
import subprocess
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.faults.conftest import ROOT, claims, contents
from tests.faults.study import N_POINTS
from tests.patience import PATIENCE

pytestmark = pytest.mark.slow

Begin = Callable[[Path], "subprocess.Popen[str]"]


@pytest.fixture
def begin() -> Iterator[Begin]:
    """Starts a process that gets the curves from and into a store; ends what is left."""
    started: list[subprocess.Popen[str]] = []

    def start(store: Path) -> subprocess.Popen[str]:
        words = [sys.executable, "-m", "tests.faults.curves", "--store", str(store)]
        process = subprocess.Popen(
            words, cwd=ROOT, env=os.environ, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            text=True,
        )  # fmt: skip
        started.append(process)
        return process

    yield start
    for process in started:
        process.kill()
        process.communicate()


def ran(process: subprocess.Popen[str]) -> list[str]:
    """Points that a process ran, once it has ended well."""
    out, err = process.communicate(timeout=PATIENCE)
    assert process.returncode == 0, err
    lines = out.splitlines()
    assert lines[-1] == "complete"
    told = [line for line in lines if not line.startswith("ran") and line != "complete"]
    assert len(set(told)) == len(told)
    return [line for line in lines if line.startswith("ran")]


def test_two_at_once_run_nothing_twice(begin: Begin, tmp_path: Path) -> None:
    together, alone = tmp_path / "together.sqlite", tmp_path / "alone.sqlite"
    assert len(ran(begin(alone))) == N_POINTS
    one, other = begin(together), begin(together)
    found = [ran(one), ran(other)]
    assert set(Counter(found[0] + found[1]).values()) == {1}
    assert sum(map(len, found)) == N_POINTS
    assert min(map(len, found)) > 0
    assert contents(together) == contents(alone)
    assert claims(together) == 0


def test_one_of_two_killed(begin: Begin, tmp_path: Path) -> None:
    store = tmp_path / "results.sqlite"
    one, other = begin(store), begin(store)
    assert one.stdout is not None
    one.stdout.readline()
    one.kill()
    assert len(ran(other)) > 0
    assert len(contents(store)) == N_POINTS
    assert claims(store) == 0
