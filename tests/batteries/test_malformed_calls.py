"""Does every malformed call end in a refusal: no traceback, no hang, nothing overwritten?"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests.batteries.endings import faults
from tests.batteries.malformed_calls import call

SEED, CALLS, CHUNK = 11, 250, 25
LARGE_SEED, LARGE_CALLS = 12, 2500


def found(seed: int, first: int, last: int, folder: Path) -> dict[str, list[str]]:
    """What is wrong with the ends of some calls, by their words."""
    wrong = {}
    for index in range(first, last):
        made = call(seed, index)
        (place := folder / str(index)).mkdir()
        if faulty := faults(made, place):
            wrong[f"{seed}/{index} {' '.join(word[:60] for word in made.words[:12])}"] = faulty
    return wrong


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, CALLS, CHUNK))
def test_malformed_calls(first: int, tmp_path: Path) -> None:
    assert found(SEED, first, first + CHUNK, tmp_path) == {}


@pytest.mark.battery
@pytest.mark.parametrize("first", range(0, LARGE_CALLS, CHUNK))
def test_many_malformed_calls(first: int, tmp_path: Path) -> None:
    assert found(LARGE_SEED, first, first + CHUNK, tmp_path) == {}


def test_the_battery_sees_what_it_looks_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A program that does everything wrong is caught at each."""

    def bad(words: list[str]) -> int:
        (tmp_path / "case.toml").write_bytes(b"")
        (tmp_path / "new").write_bytes(b"")
        sys.stdout.write("Traceback (most recent call last)\x1b" + "x" * 40_000)
        return 2

    monkeypatch.setattr("tests.batteries.endings.main", bad)
    wrong = " ".join(faults(call(SEED, 0), tmp_path))
    for fault in ("traceback", "characters", "control", "changed case.toml", "left new"):
        assert fault in wrong

    def broken(words: list[str]) -> int:
        raise ZeroDivisionError

    monkeypatch.setattr("tests.batteries.endings.main", broken)
    assert "ZeroDivisionError" in faults(call(SEED, 0), tmp_path)[0]
