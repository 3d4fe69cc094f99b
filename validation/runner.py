"""How are the checks run: which tasks, in which process, and what becomes of an interruption?"""

from __future__ import annotations

import multiprocessing
import os
import signal
import time
from collections.abc import Callable, Hashable, Iterable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass, field
from typing import Any

from enginesim.base.errors import EngineSimError
from enginesim.base.names import nearest
from enginesim.report.files import write
from validation import ledger
from validation.drawing import save
from validation.folder import Folder, every
from validation.judgement import FAILED, EvidenceError, Row

Told = Callable[[Folder, Sequence[Row], float], None]


@dataclass
class _Underway:
    """A check of which some tasks may still be missing."""

    folder: Folder
    tasks: list[Hashable]
    found: dict[Hashable, Any] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)
    seconds: float = 0.0

    @property
    def is_complete(self) -> bool:
        return len(self.found) + len(self.faults) == len(self.tasks)


def chosen(names: Iterable[str]) -> list[Folder]:
    """
    The checks of these names, all of them if there are none.

    Raises
    ------
    EvidenceError
        If there is no such check.
    """
    folders = {folder.name: folder for folder in every()}
    wanted = list(dict.fromkeys(names))
    for name in wanted:
        if name not in folders:
            near = nearest(name, folders)
            hint = f"did you mean {near!r}?" if near else f"there are {', '.join(folders)}"
            raise EvidenceError(f"no check {name!r} ({hint})")
    return [folder for name, folder in folders.items() if not wanted or name in wanted]


def run(
    folders: Sequence[Folder],
    *,
    fast: bool = False,
    jobs: int | None = None,
    keep: bool = True,
    on_done: Told | None = None,
) -> list[Row]:
    """
    Run checks, tasks of all of them side by side in processes of their own.

    Parameters
    ----------
    folders : sequence of Folder
        The checks.
    fast : bool
        Only each check's quick tasks.
    jobs : int, optional
        Processes; as many as there are processors if left out. [-]
    keep : bool
        Write each check's rows and figure into its folder as soon as it is complete.
    on_done : callable, optional
        Gets folder, rows and processor seconds of each check that is complete.

    Returns
    -------
    list of Row
        Rows of all checks in the order of the folders. A check whose work fails has one row, which
        says so.

    Raises
    ------
    KeyboardInterrupt
        If interrupted: checks that were complete are kept, nothing else is written.
    """
    underway = {f.name: _Underway(f, list(f.check.tasks(fast))) for f in folders}
    rows: dict[str, list[Row]] = {}

    def conclude(part: _Underway) -> None:
        rows[part.folder.name] = _concluded(part, keep=keep)
        if on_done is not None:
            on_done(part.folder, rows[part.folder.name], part.seconds)

    for part in underway.values():
        if part.is_complete:
            conclude(part)
    # What took longest before goes first, so that no processor is left with it alone at the end.
    queue = [
        (name, task)
        for name in sorted(underway, key=lambda name: -_cost(underway[name]))
        for task in underway[name].tasks
    ]
    pool = ProcessPoolExecutor(
        max(1, min(jobs or os.cpu_count() or 1, len(queue) or 1)),
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_prepare_worker,
    )
    waiting: dict[Future[tuple[Any, str, float]], tuple[str, Hashable]] = {}
    try:
        waiting = {pool.submit(_work, *each): each for each in queue}
        while waiting:
            done, _ = wait(waiting, return_when=FIRST_COMPLETED)
            for future in done:
                name, task = waiting.pop(future)
                part = underway[name]
                answer, fault, seconds = future.result()
                part.seconds += seconds
                if fault:
                    part.faults.append(f"{task}: {fault}")
                else:
                    part.found[task] = answer
                if part.is_complete:
                    conclude(part)
    except BaseException:
        pool.shutdown(wait=False, cancel_futures=True)
        for process in multiprocessing.active_children():
            process.terminate()
        raise
    pool.shutdown()
    return [row for folder in folders for row in rows[folder.name]]


def _prepare_worker() -> None:
    """An interruption is for the first process alone, which ends the others."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _work(name: str, task: Hashable) -> tuple[Any, str, float]:
    """Answer of one task, or why there is none, and the processor time it took [s]."""
    from validation.folder import read

    begin = time.process_time()
    try:
        return read(name).check.work(task), "", time.process_time() - begin
    except EngineSimError as error:
        return None, str(error), time.process_time() - begin


def _cost(part: _Underway) -> float:
    """Time of a task when it was last run [s]; unknown ones first."""
    before = ledger.load(part.folder.path)
    return before.seconds / max(len(part.tasks), 1) if before is not None else 1e9


def _concluded(part: _Underway, *, keep: bool) -> list[Row]:
    folder = part.folder
    if part.faults:
        rows = [_failure(folder, part.faults)]
    else:
        # In the order of the tasks, whatever the order in which they came back.
        part.found = {task: part.found[task] for task in part.tasks}
        rows = folder.check.rows(folder, part.found)
    if keep:
        if not part.faults:
            save(folder.check.figure(folder, part.found), folder.path / "figure.png")
            table = getattr(folder.check, "table", None)
            if table is not None:
                write(folder.path / "result.csv", table(folder, part.found))
        ledger.save(folder.path, ledger.entry(rows, part.seconds))
    return rows


def _failure(folder: Folder, faults: Sequence[str]) -> Row:
    return Row(
        check=folder.name,
        measure="run",
        of="",
        what="the check itself",
        source="",
        expected="runs",
        found=f"{len(faults)} tasks failed: {faults[0]}",
        limit="all tasks",
        why="what does not run shows nothing",
        verdict=FAILED,
    )
