"""What is said when a cluster on this machine is broken off, or loses a worker, while it starts?"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import psutil
import pytest

from tests.faults.conftest import PATIENCE, ROOT

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not hasattr(signal, "pthread_sigmask"), reason="needs signal masks"),
]
pytest.importorskip("distributed")


class Sweep:
    """A sweep on a cluster of two workers, as on a terminal: a group of processes of its own."""

    def __init__(self, folder: Path) -> None:
        self._said = folder / "said"
        words = ["--vary", "cam.lobe_separation=104:116:1", "--cluster", "local:2"]
        case = str(ROOT / "tests" / "cases" / "single.toml")
        with self._said.open("wb") as said:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "enginesim.cli.main", "sweep", case, *words],
                cwd=folder, stdout=said, stderr=said, start_new_session=True,
                env=os.environ | {"PYTHONPATH": str(ROOT)},
            )  # fmt: skip

    def worker(self) -> psutil.Process:
        """The first worker, as soon as there is one."""
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            for child in psutil.Process(self.process.pid).children():
                if any("spawn_main" in word for word in child.cmdline()):
                    return child
            time.sleep(0.02)
        raise AssertionError(self._said.read_text("utf-8"))

    def end(self) -> tuple[int, str]:
        """Its exit code, and what it said."""
        code = self.process.wait(PATIENCE)
        return code, self._said.read_text("utf-8")


@pytest.mark.parametrize("later", [0.0, 0.7, 1.5])
def test_broken_off_while_workers_start(later: float, tmp_path: Path) -> None:
    sweep = Sweep(tmp_path)
    sweep.worker()
    time.sleep(later)
    os.killpg(sweep.process.pid, signal.SIGINT)
    code, said = sweep.end()
    assert code == 130, said
    assert "Traceback" not in said
    assert "the same command goes on from here" in said


def test_a_worker_that_is_lost_while_it_starts(tmp_path: Path) -> None:
    sweep = Sweep(tmp_path)
    sweep.worker().kill()
    code, said = sweep.end()
    assert code == 2, said
    assert "Traceback" not in said
    assert "found a worker process that ended while it started" in said
