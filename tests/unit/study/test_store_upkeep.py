"""Is damage found, does only what is meant go, and does a merger lose nothing?"""

from __future__ import annotations

import csv
import json
import math
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from enginesim.base.errors import ResultError, StoreError
from enginesim.base.provenance import PHYSICS_VERSION
from enginesim.case import amend
from enginesim.performance import Performance
from enginesim.study import store_export
from enginesim.study.store import Store
from enginesim.study.store_export import write_csv, write_parquet
from enginesim.study.store_query import columns, stored_cases, stored_failures
from enginesim.study.store_rows import Failure
from enginesim.study.store_upkeep import Choice, merge, problems, prune
from tests.records import case, record
from tests.unit.study.results import result, same

OTHER = amend(case(), {"cam.lobe_separation": "112", "name": "Other four"})
BROKEN = Failure(4000.0, "broke down", "runner 1: no valid gas state")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "results.sqlite"


def filled(path: Path) -> Store:
    store = Store.open(path)
    store.put(case(), result(3000.0), record=record(3000.0))
    store.put(case(), result(3500.0, bsfc=math.inf, ve_plenum=math.nan))
    store.put(case(), BROKEN)
    store.put(OTHER, result(3000.0, torque=50.0))
    return store


def raw(path: Path, *statements: str) -> None:
    """Change a store behind its back, as another program would, without foreign keys."""
    connection = sqlite3.connect(path)
    for statement in statements:
        connection.execute(statement)
    connection.commit()
    connection.close()


def test_a_sound_store_has_no_problems(path: Path) -> None:
    with filled(path) as store:
        assert problems(store) == []


@pytest.mark.parametrize(
    "statement, told",
    [
        ("DELETE FROM points WHERE rpm = 3000", "cycle 1: kept, but its result is gone"),
        ("UPDATE records SET data = zeroblob(9)", "cycle 1: not as it was written"),
        ("UPDATE details SET fields = '{\"rpm\": 30'", "its fields cannot be read"),
        ("UPDATE points SET torque = torque + 1 WHERE is_done", "columns and its fields differ"),
        ("DELETE FROM details WHERE point_id = 2", "its fields are missing"),
        ("DELETE FROM cases", "what it belongs to in cases is missing"),
    ],
)
def test_each_kind_of_damage_is_named(path: Path, statement: str, told: str) -> None:
    filled(path).close()
    raw(path, statement)
    with Store.open(path) as store:
        found = problems(store)
        assert any(told in problem for problem in found), found


def test_a_damaged_page_is_found(path: Path) -> None:
    with filled(path) as store:
        store.put_many((case(), result(5000.0 + i), None) for i in range(300))
    size = path.stat().st_size
    with path.open("r+b") as file:
        file.seek(size // 2)
        file.write(b"\xa5" * 8192)
    with Store.open(path) as store:
        assert problems(store) != []


def test_a_damaged_result_is_no_result_and_no_traceback(path: Path) -> None:
    filled(path).close()
    raw(path, "UPDATE details SET fields = 'x' WHERE point_id = 1")
    with Store.open(path) as store:
        with pytest.raises(StoreError, match=r"3000 rpm damaged.*verify"):
            store.get(case(), 3000.0)
        assert prune(store, None, cycles_only=False, dry=False).points == 1
        assert store.get(case(), 3000.0) is None
        assert isinstance(store.get(case(), 3500.0), Performance)
        assert problems(store) == []


@pytest.mark.parametrize(
    "choice, left",
    [
        (Choice(), 0),
        (Choice(is_failed=True), 3),
        (Choice(name="OTHER"), 3),
        (Choice(name="other", is_failed=True), 4),
        (Choice(digest=OTHER.digest[:12]), 3),
        (Choice(digest="zz"), 4),
        (Choice(physics="old"), 4),
        (Choice(before="2001-01-01"), 4),
        (Choice(before="2999-01-01"), 0),
    ],
)
def test_only_what_is_meant_goes(path: Path, choice: Choice, left: int) -> None:
    with filled(path) as store:
        told = prune(store, choice, cycles_only=False, dry=True)
        assert sum(c.n_done + c.n_failed for c in stored_cases(store)) == 4
        assert prune(store, choice, cycles_only=False, dry=False) == told
        assert told.points == 4 - left
        assert sum(c.n_done + c.n_failed for c in stored_cases(store)) == left
        assert problems(store) == []
        store.put(case(), result(6000.0))  # a case that went comes again
        assert isinstance(store.get(case(), 6000.0), Performance)


def test_cycles_go_and_results_stay(path: Path) -> None:
    with filled(path) as store:
        gone = prune(store, Choice(), cycles_only=True, dry=False)
        assert (gone.points, gone.cycles) == (0, 1)
        assert store.record(case(), 3000.0) is None
        assert isinstance(store.get(case(), 3000.0), Performance)


def test_orphans_go(path: Path) -> None:
    filled(path).close()
    raw(path, "DELETE FROM points WHERE rpm = 3000")
    with Store.open(path) as store:
        prune(store, None, cycles_only=False, dry=False)
        assert not any("cycle" in problem for problem in problems(store))


def test_results_of_another_physics_are_pruned(path: Path) -> None:
    filled(path).close()
    raw(path, f"UPDATE points SET physics = {PHYSICS_VERSION + 1} WHERE rpm = 3500")
    with Store.open(path) as store:
        assert store.get(case(), 3500.0) is None
        assert prune(store, Choice(physics="old"), cycles_only=False, dry=False).points == 1


def test_a_merger_takes_over_what_is_missing(path: Path, tmp_path: Path) -> None:
    theirs = tmp_path / "it's theirs.sqlite"
    with Store.open(theirs) as other:
        other.put(case(), result(3000.0, torque=-1.0))  # known here already: ours stays
        other.put(case(), result(4000.0))  # a failure here: theirs is better
        other.put(case(), result(5000.0), record=record(5000.0))
        other.put(OTHER, Failure(3000.0, "broke down", ""))  # a result here: ours stays
        other.put(OTHER, Failure(3500.0, "broke down", "why"))
    with filled(path) as store:
        ours = store.get(case(), 3000.0)
        done = merge(store, theirs)
        assert (done.added, done.known) == (3, 2)
        assert problems(store) == []
        assert store.get(case(), 3000.0) == ours
        for rpm in (4000.0, 5000.0):
            taken = store.get(case(), rpm)
            assert isinstance(taken, Performance)
            assert same(taken, result(rpm))
        assert store.record(case(), 5000.0) is not None
        assert isinstance(store.get(OTHER, 3000.0), Performance)
        assert store.get(OTHER, 3500.0) == Failure(3500.0, "broke down", "why")
        again = merge(store, theirs)
        assert (again.added, again.known) == (0, 5)


def test_a_merger_with_what_is_no_store(path: Path, tmp_path: Path) -> None:
    with filled(path) as store:
        with pytest.raises(StoreError, match="store itself"):
            merge(store, path)
        with pytest.raises(StoreError, match="found no store"):
            merge(store, tmp_path / "none.sqlite")
        odd = tmp_path / "odd.sqlite"
        odd.write_text("x" * 5000)
        with pytest.raises(StoreError, match="something else"):
            merge(store, odd)
        assert len(stored_cases(store)) == 2


def test_columns_are_arrays_by_case_and_speed(path: Path) -> None:
    with filled(path) as store:
        found = columns(store, ["torque", "bsfc", "ve_plenum", "ca50"])
        only = columns(store, ["torque", "rpm"], cases=[OTHER, amend(OTHER, {"name": "same"})])
        none = columns(store, ["torque"], cases=[])
        with pytest.raises(ResultError, match="torque"):
            columns(store, ["torqe"])
    np.testing.assert_array_equal(found["case"], [0, 0, 1])
    np.testing.assert_array_equal(found["rpm"], [3000.0, 3500.0, 3000.0])
    assert found["torque"][2] == 50.0
    assert found["bsfc"][1] == math.inf
    assert math.isnan(found["ve_plenum"][1])
    assert found["ca50"][0] == result(3000.0).ca50
    assert found["converged"].all()
    np.testing.assert_array_equal(only["rpm"], [3000.0])
    assert none["torque"].shape == (0,)


def test_cases_and_failures_are_listed(path: Path) -> None:
    with filled(path) as store:
        first, second = stored_cases(store)
        assert (first.n_done, first.n_failed, first.low, first.high) == (2, 1, 3000.0, 4000.0)
        assert second.torque == 50.0
        assert str(second.given["cam.lobe_separation"]) == "112"
        assert stored_failures(store) == [
            (case().digest, "Invented four", 4000.0, "broke down", BROKEN.reason)
        ]


def test_csv_and_parquet_say_the_same(path: Path, tmp_path: Path) -> None:
    parquet = pytest.importorskip("pyarrow.parquet")
    with filled(path) as store:
        assert write_csv(store, tmp_path / "a.csv", Choice()) == 4
        assert write_parquet(store, tmp_path / "a.parquet", Choice()) == 4
        assert write_csv(store, tmp_path / "b.csv", Choice(digest="none")) == 0
    with (tmp_path / "a.csv").open(newline="") as file:
        lines = list(csv.DictReader(file))
    table = parquet.read_table(tmp_path / "a.parquet")
    assert table.schema.field("torque").metadata[b"unit"] == b"N m"
    for line, row in zip(lines, table.to_pylist(), strict=True):
        assert line.keys() == row.keys()
        assert line["outcome"] == row["outcome"]
        assert float(line["rpm"]) == row["rpm"]
        if row["outcome"] == "done":
            assert float(line["torque"]) == row["torque"]
    assert [line["outcome"] for line in lines] == ["done", "done", "broke down", "done"]
    assert lines[2]["reason"] == BROKEN.reason
    assert lines[2]["torque"] == ""
    assert table.to_pylist()[1]["bsfc"] == math.inf
    assert {p.name for p in tmp_path.glob("*.part")} == set()


def test_a_copy_of_a_store_is_a_store(path: Path, tmp_path: Path) -> None:
    filled(path).close()
    shutil.copy(path, tmp_path / "copy.sqlite")
    with Store.open(tmp_path / "copy.sqlite") as store:
        assert problems(store) == []
        assert json.dumps(stored_cases(store)[0].given)


@pytest.mark.parametrize("write", [write_csv, write_parquet])
def test_an_export_that_breaks_off_leaves_the_older_file(
    write: Callable[[Store, Path, Choice], int],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def some(store: Store, choice: Choice) -> Iterator[dict[str, Any]]:
        yield next(whole(store, choice))
        raise StoreError("no more to be read")

    whole = store_export.rows
    monkeypatch.setattr(store_export, "rows", some)
    path = tmp_path / "results.table"
    path.write_text("older")
    with Store.open(tmp_path / "a.sqlite") as store:
        store.put(case(), result(3000.0))
        with pytest.raises(StoreError, match="no more"):
            write(store, path, Choice())
    assert path.read_text() == "older"
    assert not list(tmp_path.glob("*.part"))
