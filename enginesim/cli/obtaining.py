"""How are results got with somebody waiting: from the store, or worked out with progress?"""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from enginesim.cli.ranges import Whole

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.case import Case
    from enginesim.performance import Performance
    from enginesim.report.units import System
    from enginesim.study.obtain import Obtained
    from enginesim.study.store_rows import Failure


@dataclass(frozen=True, slots=True)
class Gathered:
    """
    What was got.

    Attributes
    ----------
    parts : tuple of Obtained
        One for each case that was asked for.
    is_interrupted : bool
        Whether the user stopped it; what was finished by then is there, and in the store.
    """

    parts: tuple[Obtained, ...]
    is_interrupted: bool


def store_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that say where results are kept, and how many runs go at a time."""
    options = (
        click.option(
            "--store",
            "store_file",
            type=click.Path(dir_okay=False, path_type=Path),
            metavar="FILE",
            help="Where results are kept.  [default: $ENGINESIM_STORE or enginesim-results.sqlite]",
        ),
        click.option("--no-store", is_flag=True, help="Run everything, keep nothing."),
        click.option("--jobs", type=Whole(1, 256), help="Runs at a time.  [default: one a core]"),
    )
    for option in reversed(options):
        command = option(command)
    return command


def obtained(
    cases: Sequence[Case],
    rpms: Sequence[float],
    *,
    store: Path | None,
    no_store: bool,
    jobs: int | None,
    units: System,
    keep_records: bool = False,
) -> Gathered:
    """
    Results of cases at speeds, showing how far it is.

    The first Ctrl-C stops and keeps what is finished; a second one ends the program at once.

    Parameters
    ----------
    cases : sequence of Case
        Engines.
    rpms : sequence of float
        Engine speeds of each. [rpm]
    store : Path or None
        File of the results; None for the usual one.
    no_store : bool
        Whether to run everything and keep nothing.
    jobs : int or None
        Runs at a time. [-]
    units : {"us", "si"}
        Units of what is shown meanwhile.
    keep_records : bool
        Whether the cycles themselves are wanted.

    Returns
    -------
    Gathered
        Everything that is known now.

    Raises
    ------
    StoreError
        If the store cannot be read or written.
    UsageError
        If both a store and no store are asked for.
    """
    from enginesim.study.obtain import obtain
    from enginesim.study.store import Store

    if store is not None and no_store:
        raise click.UsageError("--store and --no-store: one of the two")
    cancel = threading.Event()
    opened = nullcontext(None) if no_store else Store.open(store)
    with opened as kept:
        missing = sum(_missing(case, rpms, kept, keep_records) for case in cases)
        if not missing:
            parts = obtain(cases, rpms, store=kept, keep_records=keep_records)
            return Gathered(parts, is_interrupted=False)
        return _run(cases, rpms, kept, jobs, units, keep_records, cancel, missing)


def _missing(case: Case, rpms: Sequence[float], store: Any, keep_records: bool) -> int:
    """How many speeds may have to be run; failures and cycles are looked at by `obtain`."""
    if store is None or keep_records:
        return len(rpms)
    from enginesim.study.store_rows import Failure

    known = store.get_many(case, rpms)
    return sum(isinstance(known.get(float(rpm)), Failure | None) for rpm in rpms)


def _run(
    cases: Sequence[Case],
    rpms: Sequence[float],
    store: Any,
    jobs: int | None,
    units: System,
    keep_records: bool,
    cancel: threading.Event,
    missing: int,
) -> Gathered:
    from enginesim.base.characters import excerpt
    from enginesim.cli.prediction import interruptible, line
    from enginesim.cli.progress import progress
    from enginesim.study.obtain import obtain

    names = [f"{case.name or 'engine'}, " if len(cases) > 1 else "" for case in cases]
    with progress() as (expect, tell), interruptible(cancel):
        expect(missing)

        def done(i: int, point: Performance) -> None:
            tell(names[i] + line(point, units))

        def failed(i: int, failure: Failure) -> None:
            what = "not possible" if failure.kind == "cannot be built" else "FAILED"
            tell(f"{names[i]}{failure.rpm:.0f} rpm: {what}: {excerpt(failure.reason)}")

        parts = obtain(
            cases,
            rpms,
            store=store,
            jobs=jobs,
            on_done=done,
            on_failed=failed,
            cancel=cancel,
            keep_records=keep_records,
        )
    return Gathered(parts, is_interrupted=cancel.is_set())
