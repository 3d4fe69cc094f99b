"""Is a file there whole or not at all, whatever happens while it is written?"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from enginesim.base.replacement import replacing


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_the_new_one_replaces_the_old_one(tmp_path: Path) -> None:
    path = tmp_path / "table.csv"
    path.write_text("old")
    with replacing(path) as aside:
        aside.write_text("new")
        assert path.read_text() == "old"
        assert aside.parent == tmp_path
    assert path.read_text() == "new"
    assert names(tmp_path) == {"table.csv"}


@pytest.mark.parametrize("error", [ValueError, OSError, KeyboardInterrupt])
def test_an_error_leaves_the_old_one_and_nothing_else(
    tmp_path: Path, error: type[BaseException]
) -> None:
    path = tmp_path / "table.csv"
    path.write_text("old")

    def broken_off() -> None:
        with replacing(path) as aside:
            aside.write_text("half")
            raise error

    with pytest.raises(error):
        broken_off()
    assert path.read_text() == "old"
    assert names(tmp_path) == {"table.csv"}


def test_a_block_that_writes_nothing_is_an_error(tmp_path: Path) -> None:
    path = tmp_path / "table.csv"
    path.write_text("old")
    with pytest.raises(FileNotFoundError), replacing(path):
        pass
    assert path.read_text() == "old"


def test_an_error_names_the_file(tmp_path: Path) -> None:
    path = tmp_path / "no such folder" / "table.csv"
    with pytest.raises(FileNotFoundError) as found, replacing(path) as aside:
        aside.write_text("new")
    assert found.value.filename == str(path)


def test_two_at_once_do_not_meet(tmp_path: Path) -> None:
    path = tmp_path / "table.csv"
    with replacing(path) as one, replacing(path) as other:
        assert one != other
        one.write_text("one")
        other.write_text("other")
    assert path.read_text() == "one"  # ended last
    assert names(tmp_path) == {"table.csv"}


def test_synchronised_before_it_is_renamed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[tuple[bytes, bool]] = []
    path = tmp_path / "table.csv"

    def fsync(number: int) -> None:
        seen.append((os.pread(number, 100, 0), path.exists()))

    monkeypatch.setattr(os, "fsync", fsync)
    with replacing(path) as aside:
        aside.write_text("new")
    assert seen == [(b"new", False)]


def test_a_name_as_long_as_names_can_be(tmp_path: Path) -> None:
    path = tmp_path / ("x" * 251 + ".csv")
    with replacing(path) as aside:
        aside.write_text("new")
    assert path.read_text() == "new"


def test_readable_by_whom_any_new_file_is(tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.write_text("")
    with replacing(tmp_path / "table.csv") as aside:
        aside.write_text("new")
    assert (tmp_path / "table.csv").stat().st_mode == other.stat().st_mode


_KILLED = """
import sys, time
from pathlib import Path
from enginesim.base.replacement import replacing
with replacing(Path(sys.argv[1])) as aside:
    aside.write_text("half")
    print("half", flush=True)
    time.sleep(600)
"""


def test_killed_half_way_leaves_the_old_one(tmp_path: Path) -> None:
    path = tmp_path / "table.csv"
    path.write_text("old")
    words = [sys.executable, "-c", _KILLED, str(path)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "half\n"
        process.send_signal(signal.SIGKILL)
    assert path.read_text() == "old"
    with replacing(path) as aside:
        aside.write_text("new")
    assert path.read_text() == "new"
