"""Does what is kept come back with every bit, and is nothing of it lost or overwritten?"""

from __future__ import annotations

import dataclasses
import json
import math
import sqlite3
import threading
from pathlib import Path

import numpy as np
import pytest

from enginesim.base import provenance
from enginesim.base.errors import StoreError
from enginesim.case import amend
from enginesim.performance import Performance
from enginesim.study import store_schema
from enginesim.study.store import Store
from enginesim.study.store_rows import Failure, from_text, key_of, to_text
from tests.records import case, record
from tests.unit.study.results import result, same


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "results.sqlite"


def test_a_result_comes_back_with_every_bit(path: Path) -> None:
    kept = result(3000.0, torque=0.1 + 0.2, bsfc=math.inf, ve_plenum=math.nan)
    with Store.open(path) as store:
        store.put(case(), kept)
    with Store.open(path) as store:
        back = store.get(case(), 3000.0)
    assert isinstance(back, Performance)
    assert same(back, kept)


def test_text_of_a_result_is_strict_json() -> None:
    text = to_text(result(3000.0, bsfc=-math.inf, ve_plenum=math.nan))
    values = json.loads(text, parse_constant=lambda name: pytest.fail(name))
    assert values["ve_plenum"] is None
    assert values["bsfc"] == "-inf"


def test_a_result_that_lacks_a_field_of_today_is_not_there(path: Path) -> None:
    values = json.loads(to_text(result(3000.0)))
    del values["egt"]
    assert from_text(json.dumps(values)) is None
    assert from_text(json.dumps({**json.loads(to_text(result(3000.0))), "odd": 1})) is not None
    with Store.open(path) as store:
        store.put(case(), result(3000.0))
        with store.writing() as connection:
            connection.execute("UPDATE details SET fields = ?", (json.dumps(values),))
        assert store.get(case(), 3000.0) is None
        store.put(case(), result(3000.0, torque=5.0))
        back = store.get(case(), 3000.0)
    assert isinstance(back, Performance)
    assert back.torque == 5.0


def test_key_is_case_speed_fidelity_and_physics(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = amend(case(), {"cam.lobe_separation": "112"})
    filling = amend(case(), {"numerics.fidelity": "filling"})
    finer = amend(case(), {"numerics.cell_size": "10 mm"})
    keys = {key_of(c, rpm) for c in (case(), other, filling, finer) for rpm in (3000.0, 3000.5)}
    assert len(keys) == 8
    with Store.open(path) as store:
        store.put(case(), result(3000.0))
        for c in (other, filling, finer):
            assert store.get(c, 3000.0) is None
        assert store.get(case(), 3000.5) is None
        assert store.get(amend(case(), {"name": "Renamed"}), 3000.0) is not None
        monkeypatch.setattr("enginesim.study.store.PHYSICS_VERSION", provenance.PHYSICS_VERSION + 1)
        assert store.get(case(), 3000.0) is None


def test_a_finished_result_stays(path: Path) -> None:
    with Store.open(path) as store:
        store.put(case(), result(3000.0, torque=1.0))
        store.put(case(), result(3000.0, torque=2.0))
        store.put(case(), Failure(3000.0, "broke down", "why"))
        back = store.get(case(), 3000.0)
    assert isinstance(back, Performance)
    assert back.torque == 1.0


def test_a_failure_is_a_result_until_there_is_a_better_one(path: Path) -> None:
    failure = Failure(3000.0, "time limit", "not finished in 2 s", 2.0)
    with Store.open(path) as store:
        store.put(case(), failure)
        assert store.get(case(), 3000.0) == failure
        store.put(case(), result(3000.0))
        assert isinstance(store.get(case(), 3000.0), Performance)


def test_a_failure_holds_unless_given_more_time() -> None:
    short = Failure(3000.0, "time limit", "", 2.0)
    assert short.holds(2.0)
    assert short.holds(1.0)
    assert not short.holds(3.0)
    assert not short.holds(None)
    assert Failure(3000.0, "broke down", "").holds(None)
    assert not Failure(3000.0, "fault", "TypeError").holds(2.0)


def test_many_speeds_and_all_of_them(path: Path) -> None:
    rpms = [1000.0 + i for i in range(700)]
    with Store.open(path) as store:
        store.put_many((case(), result(rpm), 0.1) for rpm in rpms)
        assert list(store.get_many(case())) == rpms
        assert list(store.get_many(case(), [1001.0, 5.0])) == [1001.0]
        assert list(store.get_many(case(), rpms[100:])) == rpms[100:]
        assert store.get_many(case(), []) == {}


def test_nothing_of_a_failed_transaction_stays(path: Path) -> None:
    def broken():  # type: ignore[no-untyped-def]
        yield case(), result(3000.0), None
        raise RuntimeError("power cut")

    with Store.open(path) as store:
        with pytest.raises(RuntimeError, match="power cut"):
            store.put_many(broken())
        assert store.get_many(case()) == {}
        store.put(case(), result(3000.0))  # numbers looked up in it are not trusted afterwards
        assert list(store.get_many(case())) == [3000.0]


@pytest.mark.parametrize("traces", [False, True])
def test_a_cycle_comes_back(path: Path, traces: bool) -> None:
    made = record(3000.0, traces=traces)
    with Store.open(path) as store:
        store.put(case(), result(3000.0), record=made)
        back = store.record(case(), 3000.0, traces=traces)
        assert (store.record(case(), 3000.0, traces=True) is None) is not traces
        assert store.record(case(), 4000.0) is None
    assert back is not None
    for f in dataclasses.fields(made):
        if f.name != "tracts":
            np.testing.assert_equal(getattr(back, f.name), getattr(made, f.name))
            assert type(getattr(back, f.name)) is type(getattr(made, f.name))
    for one, other in zip(back.tracts, made.tracts, strict=True):
        assert (one.name, one.side, one.cylinder, one.marks) == (
            other.name, other.side, other.cylinder, other.marks,
        )  # fmt: skip
        np.testing.assert_array_equal(one.cells, other.cells)
        np.testing.assert_array_equal(one.distance, other.distance)


def test_write_ahead_log_and_full_synchronisation(path: Path) -> None:
    with Store.open(path) as store, store.reading() as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
        assert connection.execute("PRAGMA synchronous").fetchone()[0] == 2  # FULL


def test_file_of_the_first_schema_is_brought_up_to_date(path: Path) -> None:
    with Store.open(path) as store:
        store.put(case(), result(3000.0))
    # What later schemas added, taken away again.
    connection = sqlite3.connect(path)
    connection.execute("DROP TABLE claims")
    connection.execute("DROP TABLE notes")
    connection.execute("PRAGMA user_version = 1")
    connection.close()
    with Store.open(path) as store:
        assert isinstance(store.get(case(), 3000.0), Performance)
        with store.reading() as raw:
            assert raw.execute("PRAGMA user_version").fetchone()[0] == store_schema.SCHEMA
            assert raw.execute("SELECT count(*) FROM claims").fetchone()[0] == 0
        store.put(case(), result(4000.0))


def test_a_migration_that_fails_changes_nothing(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store.open(path) as store:
        store.put(case(), result(3000.0))
    before = _tables(path)
    scripts = (*store_schema.SCRIPTS, "CREATE TABLE a (b);CREATE TABLE a (b)")
    with monkeypatch.context() as newer:
        newer.setattr(store_schema, "SCRIPTS", scripts)
        newer.setattr(store_schema, "SCHEMA", len(scripts))
        newer.setattr("enginesim.study.store_file.SCHEMA", len(scripts))
        with pytest.raises(sqlite3.OperationalError):
            Store.open(path)
    assert _tables(path) == before


def _tables(path: Path) -> list[tuple[str, ...]]:
    connection = sqlite3.connect(path)
    found = connection.execute("SELECT name FROM sqlite_master ORDER BY name").fetchall()
    found += connection.execute("PRAGMA user_version").fetchall()
    connection.close()
    return found


def test_a_newer_file_is_refused_and_left_alone(path: Path) -> None:
    Store.open(path).close()
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA user_version = 99")
    connection.close()
    with pytest.raises(StoreError, match=r"schema 99.*newer enginesim"):
        Store.open(path)


def test_other_files_are_refused_and_left_alone(path: Path, tmp_path: Path) -> None:
    path.write_bytes(b"torque,power\n1,2\n" * 100)
    with pytest.raises(StoreError, match="something else"):
        Store.open(path)
    assert path.read_bytes() == b"torque,power\n1,2\n" * 100
    theirs = tmp_path / "theirs.sqlite"
    connection = sqlite3.connect(theirs)
    connection.execute("CREATE TABLE songs (name)")
    connection.commit()
    connection.close()
    before = theirs.read_bytes()
    with pytest.raises(StoreError, match="another program's database"):
        Store.open(theirs)
    assert theirs.read_bytes() == before
    with pytest.raises(StoreError, match="folder"):
        Store.open(tmp_path)
    with pytest.raises(StoreError, match="no way to open it"):
        Store.open(tmp_path / "no" / "such" / "folder.sqlite")
    with pytest.raises(StoreError, match="no store"):
        Store.open(tmp_path / "none.sqlite", create=False)
    assert not (tmp_path / "none.sqlite").exists()


def test_a_locked_file_is_told(path: Path) -> None:
    with Store.open(path, patience=0.05) as store:
        holder = sqlite3.connect(path, isolation_level=None)
        holder.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreError, match="locked by another program"):
            store.put(case(), result(3000.0))
        assert store.get(case(), 3000.0) is None  # reading is not hindered
        holder.execute("ROLLBACK")
        holder.close()
        store.put(case(), result(3000.0))
        assert store.get(case(), 3000.0) is not None


def test_a_full_disk_is_told_and_what_was_finished_is_kept(path: Path) -> None:
    """A limit on the file's pages stands in for the disk's."""
    with Store.open(path) as store:
        store.put(case(), result(3000.0))
        with store.reading() as connection:
            pages = connection.execute("PRAGMA page_count").fetchone()[0]
            connection.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(StoreError, match="no room left"):
            store.put_many((case(), result(4000.0 + i), None) for i in range(100))
        assert list(store.get_many(case())) == [3000.0]
    with Store.open(path) as store:
        store.put(case(), result(4000.0))
        assert list(store.get_many(case())) == [3000.0, 4000.0]


def test_several_may_make_it_at_once(tmp_path: Path) -> None:
    faults: list[BaseException] = []

    def made(path: Path, start: threading.Barrier) -> None:
        start.wait()
        try:
            Store.open(path).close()
        except StoreError as error:
            faults.append(error)

    for k in range(30):
        start = threading.Barrier(6)
        threads = [
            threading.Thread(target=made, args=(tmp_path / f"{k}.sqlite", start)) for _ in range(6)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert faults == []
