"""Is a study whole again after its store was full, locked or damaged?"""

from __future__ import annotations

import sqlite3
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.faults.conftest import Start, Study, contents, eventually, runs
from tests.faults.study import N_POINTS
from tests.patience import PATIENCE

pytestmark = pytest.mark.slow

Found = dict[tuple[Any, ...], str]


def test_no_room_left(start: Start, undisturbed: Found) -> None:
    """A limit on the size of files stands in for the disk's."""
    first = start("--file-size", "150000")
    code, err = first.ends()
    assert code == 2
    assert err.startswith("error: ")
    assert "no room left" in err or "would not read or write" in err
    assert "Traceback" not in err
    kept = contents(first.store)
    assert 0 < len(kept) < N_POINTS
    assert kept.items() <= undisturbed.items()
    second = start()
    second.completes()
    assert contents(second.store) == undisturbed
    # What was run but could not be kept is run again; nothing that was kept is.
    assert len(runs(second)) == N_POINTS


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A disk that is soon full, where one may be mounted."""
    place = tmp_path / "disk"
    place.mkdir()
    size = ("-o", "size=160k")
    mounted = subprocess.run(["mount", "-t", "tmpfs", *size, "none", place], capture_output=True)
    if mounted.returncode:
        pytest.skip("no small file system may be mounted here")
    yield place
    subprocess.run(["umount", "--lazy", place], check=True)


def test_a_full_disk(disk: Path, undisturbed: Found) -> None:
    first = Study(disk, (), "log")
    code, err = first.ends()
    assert (code, "no room left" in err) == (2, True), err
    kept = contents(first.store)
    assert 0 < len(kept) < N_POINTS
    subprocess.run(["mount", "-o", "remount,size=10m", str(disk)], check=True)
    second = Study(disk, (), "log")
    second.completes()
    assert contents(second.store) == undisturbed


def test_locked_by_another_program(start: Start, undisturbed: Found) -> None:
    first = start("--patience", "0.3")
    first.after(2)
    holder = sqlite3.connect(first.store, isolation_level=None, timeout=PATIENCE)
    holder.execute("BEGIN IMMEDIATE")
    code, err = first.ends()
    holder.execute("ROLLBACK")
    holder.close()
    assert (code, "locked by another program" in err) == (2, True), err
    second = start()
    second.completes()
    assert contents(second.store) == undisturbed


def test_locked_for_a_while(start: Start, undisturbed: Found) -> None:
    study = start()
    study.after(2)
    holder = sqlite3.connect(study.store, isolation_level=None, timeout=PATIENCE)
    holder.execute("BEGIN IMMEDIATE")
    with pytest.raises(subprocess.TimeoutExpired):
        study.process.wait(1.0)
    holder.execute("ROLLBACK")
    holder.close()
    study.completes()
    assert contents(study.store) == undisturbed
    assert set(runs(study).values()) == {1}


def test_damaged(start: Start) -> None:
    first = start()
    first.completes()
    eventually(lambda: not Path(f"{first.store}-wal").exists())
    data = bytearray(first.store.read_bytes())
    data[100:4000] = b"\xa5" * 3900
    first.store.write_bytes(data)
    second = start()
    code, err = second.ends()
    assert (code, "damaged" in err or "something else" in err) == (2, True), err
    assert "Traceback" not in err
    assert first.store.read_bytes() == bytes(data)
