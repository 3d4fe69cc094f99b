"""Is a study whole again after its processes were killed, stopped or left to wait?"""

from __future__ import annotations

import signal
import time
from typing import Any

import psutil
import pytest

from enginesim.study.store import Store
from enginesim.study.store_rows import Failure
from tests.faults.conftest import Start, Study, claims, contents, eventually, runs
from tests.faults.study import N_POINTS, endless

pytestmark = pytest.mark.slow

Found = dict[tuple[Any, ...], str]


def workers(study: Study) -> list[psutil.Process]:
    """Processes of a study that run points; not the one that watches over its semaphores."""
    children = psutil.Process(study.process.pid).children()
    return [child for child in children if "resource_tracker" not in " ".join(child.cmdline())]


def busy(study: Study) -> psutil.Process:
    """The worker that works while the others have nothing to do."""
    found: list[psutil.Process] = []

    def is_one() -> bool:
        before = {worker: worker.cpu_times().user for worker in workers(study)}
        assert study.process.poll() is None, "it ended before its worker was found"
        time.sleep(0.3)
        used = {w: w.cpu_times().user - cpu for w, cpu in before.items() if w.is_running()}
        found[:] = [w for w, cpu in used.items() if cpu > 0.0 and before[w] > 0.5]
        return len(found) == 1

    eventually(is_one)
    return found[0]


def test_parent_killed(start: Start, undisturbed: Found) -> None:
    first = start()
    first.after(4)
    left = workers(first)
    first.kill()
    assert len(contents(first.store)) >= 4
    assert claims(first.store) > 0  # of the points under way; void without their process
    second = start()
    second.completes()
    assert contents(second.store) == undisturbed
    assert claims(second.store) == 0
    assert set(runs(first, second).values()) == {1}
    eventually(lambda: not any(worker.is_running() for worker in left))


def test_worker_killed(start: Start, undisturbed: Found) -> None:
    study = start()
    study.after(2)
    workers(study)[0].kill()
    study.after(5)
    workers(study)[-1].kill()
    study.completes()
    assert contents(study.store) == undisturbed
    assert set(runs(study).values()) == {1}


def test_worker_killed_twice_on_one_point_is_a_failure(start: Start, undisturbed: Found) -> None:
    study = start("--endless")
    study.after(N_POINTS)  # all but the endless one, which one of the two works on
    for _ in range(2):
        before = busy(study)
        before.kill()
        eventually(lambda before=before: not before.is_running())  # type: ignore[misc]
    study.completes()
    with Store.open(study.store) as store:
        failure = store.get(endless(), 3000.0)
    assert isinstance(failure, Failure)
    assert failure.kind == "worker lost"
    assert "2 times, last with exit code -9" in failure.reason
    found = contents(study.store)
    assert undisturbed.items() <= found.items()
    assert len(found) == N_POINTS + 1


def test_a_point_that_does_not_end_in_its_time(start: Start, undisturbed: Found) -> None:
    # A hundred times what any other point takes, so that a busy machine finishes those.
    words = ("--endless", "--limit", "8")
    first = start(*words)
    first.completes()
    with Store.open(first.store) as store:
        failure = store.get(endless(), 3000.0)
    assert isinstance(failure, Failure)
    assert failure.kind == "time limit"
    assert failure.time_limit == 8.0
    found = contents(first.store)
    assert undisturbed.items() <= found.items()
    second = start(*words)  # is not tried again in the same time
    second.completes()
    assert contents(second.store) == found
    assert set(runs(first, second).values()) == {1}
    start("--endless", "--limit", "10").completes()  # is in a longer one
    assert sorted(runs(first).values()) == [1] * N_POINTS + [2]


def test_a_process_that_does_not_answer(start: Start, undisturbed: Found) -> None:
    study = start("--endless", "--limit", "40")
    study.after(N_POINTS)
    stopped = busy(study)
    stopped.send_signal(signal.SIGSTOP)
    study.completes()
    assert not stopped.is_running()
    with Store.open(study.store) as store:
        failure = store.get(endless(), 3000.0)
    assert isinstance(failure, Failure)
    assert "did not answer" in failure.reason
    assert undisturbed.items() <= contents(study.store).items()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_told_to_stop(start: Start, undisturbed: Found, number: signal.Signals) -> None:
    first = start()
    first.after(3)
    first.process.send_signal(number)
    code, err = first.ends()
    assert (code, first.lines[-1], err) == (130, "stopped", "")
    # Points under way were finished and kept; no claim is left.
    assert 3 <= len(contents(first.store)) == len(first.lines) - 1 < N_POINTS
    assert claims(first.store) == 0
    second = start()
    second.completes()
    assert contents(second.store) == undisturbed
    assert set(runs(first, second).values()) == {1}


def test_told_to_stop_twice(start: Start, undisturbed: Found) -> None:
    first = start("--endless")
    first.after(N_POINTS)
    busy(first)
    first.process.send_signal(signal.SIGTERM)
    first.process.send_signal(signal.SIGINT)
    code, err = first.ends()
    assert code != 0
    assert "KeyboardInterrupt" in err  # which the commands turn into "interrupted"
    assert contents(first.store) == undisturbed
    assert claims(first.store) == 0


def test_two_studies_on_one_store(start: Start, undisturbed: Found) -> None:
    one, other = start("--jobs", "1", log="one"), start("--jobs", "1", log="other")
    one.completes()
    other.completes()
    assert contents(one.store) == undisturbed
    assert set(runs(one, other).values()) == {1}
    assert len(runs(one, other)) == N_POINTS
    for study in (one, other):  # each has the outcome of all
        assert len(set(study.lines)) == N_POINTS + 1


def test_one_of_two_studies_killed(start: Start, undisturbed: Found) -> None:
    one, other = start("--jobs", "1", log="one"), start("--jobs", "1", log="other")
    one.after(2)
    one.kill()
    other.completes()
    assert contents(other.store) == undisturbed
    assert len(set(other.lines)) == N_POINTS + 1
