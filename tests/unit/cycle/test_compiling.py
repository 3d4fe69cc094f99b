"""The second process compiles what the march and the search for the spark call, and only that."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from enginesim.cycle import compiling, simulate
from tests.engines import engine

_LOOK = """
from enginesim.base.jit import compile_only
from enginesim.cycle.compiling import share
for kernel, arguments in share():
    compile_only(kernel, arguments)
    print(sum(kernel.stats.cache_misses.values()))
"""


def test_types_are_those_of_a_run() -> None:
    """After a run the cache holds each kernel for exactly these types."""
    simulate(engine("minimal", "numerics.max_cycles=2", "numerics.min_cycles=2"), 4000.0)
    done = subprocess.run([sys.executable, "-c", _LOOK], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["0"] * len(compiling.share())


@pytest.mark.parametrize("why", ["cached", "one processor"])
def test_no_second_process_where_it_would_not_help(
    why: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(compiling, "is_cached", lambda: why == "cached")
    monkeypatch.setattr(os, "cpu_count", lambda: 1 if why == "one processor" else 2)
    monkeypatch.setattr(subprocess, "Popen", lambda *_, **__: pytest.fail("started"))
    compiling.compile_beside.__wrapped__()


def test_one_process_is_started_where_nothing_is_compiled(monkeypatch: pytest.MonkeyPatch) -> None:
    started: list[list[str]] = []
    monkeypatch.setattr(compiling, "is_cached", lambda: False)
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    monkeypatch.delenv("NUMBA_DISABLE_JIT", raising=False)
    monkeypatch.setattr(subprocess, "Popen", lambda words, **_: started.append(words))
    monkeypatch.setattr(compiling, "_running", [])
    compiling.compile_beside.__wrapped__()
    assert len(started) == 1
    assert started[0][0] == sys.executable


def test_a_call_from_python_starts_no_process(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compiling, "is_cached", lambda: False)
    monkeypatch.setattr(subprocess, "Popen", lambda *_, **__: pytest.fail("started"))
    simulate(engine("minimal", "numerics.max_cycles=1", "numerics.min_cycles=1"), 4000.0)
