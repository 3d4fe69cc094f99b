"""Is anything lost, doubled or different when commands are killed at random moments?"""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from enginesim.base.errors import StoreError
from tests.faults.conftest import ROOT, contents
from tests.patience import PATIENCE

SINGLE = str(ROOT / "tests" / "cases" / "single.toml")
SEED = 21
_VARY = ("--vary", "cam.lobe_separation=106:114:2", "--aim", "average torque")

#: Words of each command; results of `run` as JSON, which says what came from the store.
COMMANDS = {
    "run": ("run", SINGLE, "--rpm", "2000:5000:150", "--no-refine", "--json"),
    "compare": (
        *("compare", SINGLE, "--swap", "block.compression_ratio=9"),
        *("--rpm", "2000:5000:300", "--csv"),
    ),
    "sweep": ("sweep", SINGLE, *_VARY, "--rpm", "2000,3000,4000", "--jobs", "2", "--csv"),
}

Contents = dict[tuple[Any, ...], str]


@dataclass
class Undisturbed:
    """What a command gives when nobody kills it."""

    results: Any
    points: Contents


def started(words: Sequence[str], folder: Path) -> subprocess.Popen[bytes]:
    with (folder / "said").open("ab") as said:
        return subprocess.Popen(
            [
                *(sys.executable, "-m", "enginesim.cli.main", *words, str(folder / "results")),
                *("--store", str(folder / "store.sqlite")),
            ],
            cwd=ROOT, stdin=subprocess.DEVNULL, stdout=said, stderr=said, start_new_session=True,
        )  # fmt: skip


def completed(words: Sequence[str], folder: Path) -> None:
    assert started(words, folder).wait(timeout=PATIENCE) == 0, (folder / "said").read_text("utf-8")


def stored(folder: Path) -> Contents:
    """What is in the store; nothing, if it had not been made yet."""
    try:
        return contents(folder / "store.sqlite")
    except StoreError:
        return {}


def results(folder: Path) -> Any:
    """What a command has written, without what is different every time."""
    text = (folder / "results").read_text("utf-8")
    return json.loads(text)["speeds"] if text.startswith("{") else text


def undisturbed(words: Sequence[str], folder: Path) -> Undisturbed:
    completed(words, folder)
    return Undisturbed(results(folder), stored(folder))


def at_random(
    process: subprocess.Popen[bytes], n_points: int, chance: random.Random, folder: Path
) -> None:
    """Wait for a moment of a command: in a quarter of cases it starts, else it stores points."""
    if chance.random() < 0.25:
        time.sleep(chance.uniform(0.0, 2.0))
        return
    target = chance.randrange(1, n_points)
    while process.poll() is None and len(stored(folder)) < target:
        time.sleep(0.01)
    time.sleep(chance.uniform(0.0, 0.1))


def killed_many_times(
    words: Sequence[str], n: int, chance: random.Random, folder: Path, right: Undisturbed
) -> None:
    """Kill a command, start it again, kill it, ...; then let it end and look."""
    (folder / "killed").mkdir()
    round_, known, kills = folder / "killed" / "0", Contents(), 0
    round_.mkdir()
    while kills < n:
        process = started(words, round_)
        at_random(process, len(right.points), chance, round_)
        if process.poll() is None:
            kills += 1
            # With its workers, or they find themselves alone.
            kill = os.killpg if chance.random() < 0.5 else os.kill
            kill(process.pid, signal.SIGKILL)
        process.wait()
        found = stored(round_)
        assert known.items() <= found.items()  # nothing that was there is lost or another
        assert found.items() <= right.points.items()
        if (round_ / "results").exists():
            assert results(round_) == right.results  # never half a file
            round_, known = folder / "killed" / str(kills), Contents()
            round_.mkdir(exist_ok=True)
        else:
            known = found
    completed(words, round_)
    assert results(round_) == right.results
    assert stored(round_) == right.points
    if "--json" in words:  # what was stored was not run once more
        reused = json.loads((round_ / "results").read_text("utf-8"))["stored"]
        assert {point["rpm"] for point in reused} == {key[1] for key in known}


@pytest.mark.slow
@pytest.mark.parametrize("command, n", [("run", 8), ("compare", 6), ("sweep", 6)])
def test_killed_commands(command: str, n: int, tmp_path: Path) -> None:
    words = COMMANDS[command]
    (tmp_path / "right").mkdir()
    right = undisturbed(words, tmp_path / "right")
    killed_many_times(words, n, random.Random(f"{SEED}/{command}"), tmp_path, right)


@pytest.mark.battery
@pytest.mark.parametrize("seed", range(100, 110))
@pytest.mark.parametrize("command", COMMANDS)
def test_commands_killed_often(command: str, seed: int, tmp_path: Path) -> None:
    words = COMMANDS[command]
    (tmp_path / "right").mkdir()
    right = undisturbed(words, tmp_path / "right")
    killed_many_times(words, 20, random.Random(f"{seed}/{command}"), tmp_path, right)
