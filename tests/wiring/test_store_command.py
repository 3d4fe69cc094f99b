"""`enginesim store`: list, verify, prune, export, merge, and what is said when it cannot."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from enginesim.cli.main import main
from tests.unit.study.test_store_upkeep import BROKEN, OTHER, filled, raw


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "results.sqlite"
    filled(path).close()
    return path


def said(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(["store", *words])
    out, err = capsys.readouterr()
    return code, out, err


def test_list(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = said(capsys, "list", "--store", str(path), "--units", "si", "--failures")
    assert code == 0
    for part in (OTHER.digest[:12], "Other four", "3000 to 4000", "50.0 N m", "2 cases, 3 results"):
        assert part in out
    assert BROKEN.reason in out


def test_the_same_engine_with_a_change_is_told_by_it(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    raw(path, "UPDATE cases SET name = 'Four'")
    assert "cam.lobe_separation = 112" in said(capsys, "list", "--store", str(path))[1]


def test_verify(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = said(capsys, "verify", "--store", str(path))
    assert code == 0
    assert "sound; 2 cases, 3 results, 1 failures" in out
    raw(path, "UPDATE records SET data = zeroblob(9)")
    code, out, err = said(capsys, "verify", "--store", str(path))
    assert code == 1
    assert "cycle 1: not as it was written" in err
    assert out == ""


def test_prune_says_first_and_does_when_told(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("prune", "--store", str(path), "--failed")
    assert "1 points and 0 kept cycles would be taken out" in said(capsys, *words)[1]
    assert "1 points and 0 kept cycles taken out" in said(capsys, *words, "--yes")[1]
    assert "0 points" in said(capsys, *words, "--yes")[1]
    assert said(capsys, "prune", "--store", str(path), "--yes")[0] == 2
    assert said(capsys, *words, "--damaged")[0] == 2
    code, _, err = said(capsys, *words, "--before", "soon")
    assert (code, "2026-11-24" in err) == (2, True)


def test_export(path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "new" / "a.csv"
    assert said(capsys, "export", str(out), "--store", str(path), "--name", "other")[0] == 0
    assert len(out.read_text("utf-8").splitlines()) == 2
    code, _, err = said(capsys, "export", "a.xls", "--store", str(path))
    assert (code, ".csv or .parquet" in err) == (2, True)
    none = tmp_path / "none.csv"
    code, _, err = said(capsys, "export", str(none), "--store", str(path), "--name", "nobody")
    assert (code, "found no such points" in err, none.exists()) == (2, True, False)


def test_merge(path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    other = tmp_path / "new.sqlite"
    words = ("merge", str(path), "--store", str(other))
    assert "4 points taken over, 0 known" in said(capsys, *words)[1]
    assert "0 points taken over, 4 known" in said(capsys, *words)[1]


@pytest.mark.parametrize("word", ["list", "verify", "prune", "export"])
def test_no_store_is_made_by_looking(
    word: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    more = {"prune": ["--failed"], "export": [str(tmp_path / "a.csv")]}.get(word, [])
    code, _, err = said(capsys, word, *more, "--store", str(tmp_path / "none.sqlite"))
    assert code == 2
    assert "found no store" in err
    assert list(tmp_path.iterdir()) == []


def test_messages_have_no_traceback(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA user_version = 99")
    connection.close()
    code, _, err = said(capsys, "list", "--store", str(path))
    assert code == 2
    assert err.startswith("error: ")
    assert "newer enginesim" in err
    path.write_bytes(b"SQLite format 3\x00" + b"\x00" * 40)
    for suffix in ("-wal", "-shm"):
        Path(f"{path}{suffix}").unlink(missing_ok=True)
    code, _, err = said(capsys, "verify", "--store", str(path))
    assert code == 2
    assert "Traceback" not in err
