"""Are points looked up, claimed, run and kept in the right order, each once?"""

from __future__ import annotations

import itertools
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from enginesim.base.errors import StoreError, StudyError
from enginesim.case import Case, amend
from enginesim.performance import Performance
from enginesim.study import store_claims
from enginesim.study.jobs import Job, Outcome
from enginesim.study.pool import Point, run_points
from enginesim.study.progress import Progress, duration
from enginesim.study.store import Store
from enginesim.study.store_claims import Claims
from enginesim.study.store_rows import Failure
from tests.records import case
from tests.unit.study.results import result

OTHER = amend(case(), {"cam.lobe_separation": "112"})
SPEEDS = (2000.0, 3000.0, 4000.0)
POINTS: list[Point] = [(c, rpm) for c in (case(), OTHER) for rpm in SPEEDS]


class InstantPool:
    """Gives a result for each point at the next look; two at a time."""

    def __init__(self, outcome: Callable[[Job], Performance | Failure] | None = None) -> None:
        self.outcome = outcome or (lambda job: result(job.rpm))
        self.begun: list[Point] = []
        self.waiting: list[Job] = []
        self.is_stuck = False
        self.n_dropped = 0

    @property
    def free(self) -> int:
        return 2 - len(self.waiting)

    def submit(self, job: Job) -> None:
        self.begun.append((job.case, job.rpm))
        self.waiting.append(job)

    def wait(self, timeout: float) -> list[Outcome]:  # noqa: ARG002
        if self.is_stuck:
            return []
        ended, self.waiting = self.waiting, []
        return [Outcome(job, self.outcome(job), 0.1) for job in ended]

    def drop(self) -> None:
        self.n_dropped += len(self.waiting)
        self.waiting = []

    def close(self) -> None:
        pass


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "results.sqlite"


def test_what_is_stored_is_not_run_and_is_told_all_the_same(path: Path) -> None:
    pool, told = InstantPool(), list[tuple[str, float]]()
    with Store.open(path) as store:
        store.put(case(), result(3000.0, torque=7.0))
        store.put(OTHER, Failure(2000.0, "broke down", ""))
        ended = run_points(
            POINTS, store=store, pool=pool, on_done=lambda c, r: told.append((c.digest, r.rpm))
        )
    known = [(case(), 3000.0), (OTHER, 2000.0)]
    assert pool.begun == [point for point in POINTS if point not in known]
    assert sorted(told) == sorted((c.digest, rpm) for c, rpm in POINTS)
    assert (ended.total, ended.stored, ended.done, ended.failed) == (6, 2, 4, 0)
    assert not ended.is_stopped


def test_points_are_stored_before_they_are_told(path: Path) -> None:
    with Store.open(path) as store, Store.open(path) as reader:

        def tell(c: Case, r: Performance | Failure) -> None:
            assert reader.get(c, r.rpm) is not None

        run_points(POINTS, store=store, pool=InstantPool(), on_done=tell)


@pytest.mark.parametrize("is_kept", [False, True])
def test_a_point_that_is_asked_for_twice_is_run_once(path: Path, is_kept: bool) -> None:
    pool, told = InstantPool(), list[float]()
    twice = [(case(), 2000.0), (case(), 2000.0), (OTHER, 2000.0)]
    with Store.open(path) as opened:
        store = opened if is_kept else None
        ended = run_points(twice, store=store, pool=pool, on_done=lambda _, r: told.append(r.rpm))
    assert len(pool.begun) == 2
    assert (ended.done, ended.stored, len(told)) == (2, 1, 3)


def test_a_generator_is_drawn_as_points_are_begun(path: Path) -> None:
    pool = InstantPool()
    drawn = 0

    def points():  # type: ignore[no-untyped-def]
        nonlocal drawn
        for i in itertools.count():
            drawn += 1
            assert drawn <= len(pool.begun) + 4
            if i == 30:
                return
            yield amend(case(), {"cam.lobe_separation": str(100 + 0.5 * i)}), 2000.0

    with Store.open(path) as store:
        ended = run_points(points(), store=store, pool=pool, total=30)
    assert (ended.done, ended.total) == (30, 30)


def test_failures_are_kept_and_those_that_may_end_otherwise_run_again(path: Path) -> None:
    limit = Failure(2000.0, "time limit", "", 5.0)
    with Store.open(path) as store:
        for limits, runs in (((5.0, 5.0, 2.0), 1), ((9.0, None), 2)):
            pool = InstantPool(lambda job: Failure(job.rpm, "time limit", "", job.time_limit))
            for given in limits:
                run_points([(case(), 2000.0)], store=store, pool=pool, time_limit=given)
            assert len(pool.begun) == runs
        store.put(OTHER, limit)
        pool = InstantPool()
        ended = run_points([(OTHER, 2000.0)], store=store, pool=pool, time_limit=6.0)
        assert (ended.done, len(pool.begun)) == (1, 1)
        assert isinstance(store.get(OTHER, 2000.0), Performance)


def test_a_store_that_fails_stops_the_study_and_drops_what_is_under_way(path: Path) -> None:
    pool = InstantPool()
    with Store.open(path) as store:
        kept = store.put_many

        def full(results):  # type: ignore[no-untyped-def]
            if len(pool.begun) > 2:
                raise StoreError("no room left")
            kept(results)

        store.put_many = full  # type: ignore[method-assign]
        with pytest.raises(StoreError, match="no room left"):
            run_points(POINTS, store=store, pool=pool)
        assert list(store.get_many(case())) == [2000.0, 3000.0]
        with store.reading() as connection:
            assert connection.execute("SELECT count(*) FROM claims").fetchone()[0] == 0


def test_told_to_stop_nothing_new_is_begun(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cancel, pool = threading.Event(), InstantPool()
    with Store.open(path) as store:
        ended = run_points(
            POINTS, store=store, pool=pool, cancel=cancel, on_done=lambda *_: cancel.set()
        )
        assert ended.is_stopped
        assert (len(pool.begun), ended.done) == (2, 2)
        # Those that do not end in time are dropped, and free for others.
        monkeypatch.setattr("enginesim.study.pool.GRACE", 0.05)
        pool.is_stuck = True
        cancel.clear()
        threading.Timer(0.1, cancel.set).start()
        ended = run_points(POINTS, store=store, pool=pool, cancel=cancel)
        assert (ended.stored, ended.done, pool.n_dropped) == (2, 0, 2)
        assert Claims(store).take(POINTS) == [True] * 6


def test_points_of_another_process_are_waited_for(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("enginesim.study.pool._LOOK", 0.0)
    pool = InstantPool()
    with Store.open(path) as store, Store.open(path) as theirs:
        assert Claims(theirs).take(POINTS[:2]) == [True, True]

        told_of: list[bool] = []

        def finish(progress: Progress) -> None:
            if progress.done == 4 and not told_of:
                told_of.append(True)
                theirs.put(case(), result(2000.0, torque=-1.0))
                theirs.put(case(), Failure(3000.0, "broke down", ""))

        told: dict[tuple[str, float], Performance | Failure] = {}
        ended = run_points(
            [POINTS[0], *POINTS], store=store, pool=pool, on_progress=finish,
            on_done=lambda c, r: told.__setitem__((c.digest, r.rpm), r),
        )  # fmt: skip
    assert {(c.digest, rpm) for c, rpm in pool.begun} == {(c.digest, r) for c, r in POINTS[2:]}
    assert len(pool.begun) == 4
    assert (ended.stored, ended.done, ended.elsewhere) == (3, 4, 0)
    first = told[(case().digest, 2000.0)]
    assert isinstance(first, Performance)
    assert first.torque == -1.0


def test_claims_that_are_void_are_taken_over(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with Store.open(path) as store:
        theirs, ours = Claims(store), Claims(store)
        assert theirs.take(POINTS) == [True] * 6
        assert ours.take(POINTS) == [False] * 6
        theirs.give_back(*POINTS[0])
        assert ours.take(POINTS) == [True] + [False] * 5
        monkeypatch.setattr(store_claims, "LEASE", -1.0)
        theirs.renew()  # writes, as more than a quarter of the lease has passed: it is void now
        assert ours.take(POINTS[:3]) == [True] * 3
        monkeypatch.undo()
        with store.writing() as connection:  # a process that is not there any more
            connection.execute("UPDATE claims SET pid = 4194305, until = until + 1e6")
        assert Claims(store).take(POINTS) == [True] * 6
        with store.writing() as connection:  # on another machine one cannot know
            connection.execute("UPDATE claims SET host = 'elsewhere'")
        assert Claims(store).take(POINTS) == [False] * 6


def test_the_log_has_a_line_for_each_run(path: Path, tmp_path: Path) -> None:
    pool = InstantPool(
        lambda job: (
            Failure(job.rpm, "fault", "Traceback\nTypeError") if job.rpm > 3500 else result(job.rpm)
        )
    )
    log = tmp_path / "log"
    with Store.open(path) as store:
        run_points(POINTS, store=store, pool=pool, log=log)
        with pytest.raises(StudyError, match="no way to write the log"):
            run_points(POINTS, store=store, pool=pool, log=tmp_path)
    text = log.read_text("utf-8")
    assert text.count("N m, periodic") == 4
    assert text.count("FAILED, fault: Traceback\n    TypeError") == 2
    assert "6 of 6 points, 2 failed" in text


def test_progress_in_a_line() -> None:
    progress = Progress(total=10, stored=4)
    assert progress.line() == "4 of 10 points, 4 from the store"
    assert progress.remaining is None
    progress.count(result(2000.0))
    assert progress.remaining is None
    progress.count(Failure(2000.0, "broke down", ""))
    progress.under_way = 1
    assert progress.finished == 6
    assert "1 failed" in progress.line()
    assert "to go" in progress.line()
    assert [duration(s) for s in (59.4, 60.0, 3599.0, 3600.0)] == [
        "59 s", "1 min 0 s", "59 min 59 s", "1 h 0 min",
    ]  # fmt: skip


@pytest.mark.parametrize("processes", [1, 2, 4])
def test_what_it_takes_to_start_is_not_in_the_rate(
    processes: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Processes take 30 s to start, a point then 2 s: 20 points are over at 30 + 40/processes."""
    now = 0.0
    monkeypatch.setattr("enginesim.study.progress.time.monotonic", lambda: now)
    progress = Progress(total=20, under_way=processes)
    for turn in range(1, 20 // processes + 1):
        now = 30.0 + 2.0 * turn
        for _ in range(processes):
            progress.count(result(2000.0))
        if turn == 1:
            assert progress.remaining is None
            assert progress.line() == f"{processes} of 20 points"
        else:
            assert progress.remaining == pytest.approx(40.0 / processes - 2.0 * turn, abs=1e-9)
