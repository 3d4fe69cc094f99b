"""`enginesim store`: what is kept of all runs, and its upkeep."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from enginesim.base.characters import quoted, visible

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.report.units import System
    from enginesim.study.store import Store
    from enginesim.study.store_query import StoredCase
    from enginesim.study.store_upkeep import Choice

_UNSOUND = 1
_SHOWN = 50  # cases in a list unless all are asked for
_SHORT = 12  # digits of a digest that are shown


@click.group()
def command() -> None:
    """
    List, check, prune, export and merge stored results.

    Results of all runs are kept in one file, enginesim-results.sqlite in the current folder
    unless --store or the variable ENGINESIM_STORE names another.
    """


def _file(function: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--store",
        "store_file",
        type=click.Path(dir_okay=False, path_type=Path),
        metavar="FILE",
        help="The store.  [default: $ENGINESIM_STORE or enginesim-results.sqlite]",
    )(function)


def _choices(function: Callable[..., Any]) -> Callable[..., Any]:
    """Options that say which results are meant."""
    options = (
        click.option("--case", "digest", metavar="DIGITS", help="Of the case, as `list` shows it."),
        click.option("--name", metavar="TEXT", help="Of engines with this in their name."),
        click.option("--failed", is_flag=True, help="Only points that failed."),
        click.option("--old-physics", is_flag=True, help="Only of an older or newer physics."),
        click.option("--before", metavar="DATE", help="Only older than this day (2026-11-24)."),
    )
    for option in reversed(options):
        function = option(function)
    return function


def _choice(
    digest: str | None, name: str | None, failed: bool, old_physics: bool, before: str | None
) -> Choice:
    from enginesim.study.store_upkeep import Choice

    if before is not None:
        try:
            before = date.fromisoformat(before).isoformat()
        except ValueError:
            raise click.UsageError(
                f"--before: found {quoted(before)}; allowed a day as 2026-11-24"
            ) from None
    return Choice(digest, name, "old" if old_physics else None, failed, before)


def _opened(path: Path | None) -> Store:
    from enginesim.study.store import Store

    return Store.open(path, create=False)


@command.command(name="list")
@_file
@click.option("--failures", is_flag=True, help="List each point that failed, and why.")
@click.option("--all", "is_all", is_flag=True, help=f"All cases, not the latest {_SHOWN} only.")
@click.option("--units", type=click.Choice(["us", "si"]), default="us", show_default=True)
def list_(store_file: Path | None, failures: bool, is_all: bool, units: System) -> int:
    """Show which engines and speeds are stored."""
    from enginesim.cli.screen import show_list, show_table
    from enginesim.study.store_query import stored_cases, stored_failures

    with _opened(store_file) as store:
        known = stored_cases(store)
        shown = known if is_all else known[-_SHOWN:]
        if not known:
            click.echo(f"{store.path}: empty")
            return 0
        heads = ("Case", "Engine", "Results", "rpm", "Failed", "Torque", "Power", "Differs by")
        show_table(f"{store.path}", heads, _lines(shown, units))
        if len(shown) < len(known):
            click.echo(f"\n{len(known) - len(shown)} earlier cases not shown (--all)")
        done, failed = sum(case.n_done for case in known), sum(case.n_failed for case in known)
        click.echo(f"\n{len(known)} cases, {done} results, {failed} failures")
        if failures:
            reasons = [
                f"{name or 'unnamed'} ({digest[:_SHORT]}), {rpm:g} rpm: {kind}: {_last(reason)}"
                for digest, name, rpm, kind, reason in stored_failures(store)
            ]
            show_list("Failures", reasons)
    return 0


def _last(reason: str) -> str:
    """The sentence of a failure; of a traceback its last line."""
    return reason.strip().splitlines()[-1] if reason.strip() else ""


def _lines(cases: Sequence[StoredCase], units: System) -> list[tuple[str, ...]]:
    from enginesim.base.provenance import PHYSICS_VERSION
    from enginesim.report.units import scale

    torque, power = scale("torque", units), scale("power", units)
    lines: list[tuple[str, ...]] = []
    for case in cases:
        speeds = f"{case.low:g}" if case.low == case.high else f"{case.low:g} to {case.high:g}"
        notes = [f"{path} = {value}" for path, value in _differing(case, cases)]
        if case.physics != PHYSICS_VERSION:
            notes.insert(0, f"physics {case.physics}, not used any more")
        if case.fidelity != "wave":
            notes.insert(0, case.fidelity)
        is_known = case.n_done > 0
        lines.append(
            (
                case.digest[:_SHORT],
                case.name or "unnamed",
                str(case.n_done),
                speeds,
                str(case.n_failed) if case.n_failed else "",
                torque.finer(case.torque).with_unit(case.torque) if is_known else "",
                power.finer(case.power).with_unit(case.power) if is_known else "",
                ", ".join(notes),
            )
        )
    return lines


def _differing(case: StoredCase, cases: Sequence[StoredCase]) -> list[tuple[str, Any]]:
    """What of a case is given otherwise in the first of the same name."""
    first = next(other for other in cases if other.name == case.name)
    changed = [
        (path, value)
        for path, value in case.given.items()
        if path not in ("name", "notes", "numerics.fidelity") and first.given.get(path) != value
    ]
    return changed[:3]


@command.command()
@_file
def verify(store_file: Path | None) -> int:
    """
    Look for damage and orphans.

    Exit code 0 when the store is sound, 1 when something is wrong with it.
    """
    from enginesim.study.store_query import stored_cases
    from enginesim.study.store_upkeep import problems

    with _opened(store_file) as store:
        found = problems(store)
        if not found:
            known = stored_cases(store)
            done, failed = sum(case.n_done for case in known), sum(case.n_failed for case in known)
            size = store.path.stat().st_size / 1e6
            click.echo(
                f"{store.path}: sound; {len(known)} cases, {done} results, {failed} failures, "
                f"{size:.1f} MB"
            )
            return 0
    click.echo(f"{store.path}:", err=True)
    for problem in found:
        click.echo(f"  {visible(problem)}", err=True)
    click.echo(
        "Take a copy of the file. `enginesim store prune --damaged --yes` takes out what is "
        "orphaned or cannot be read; a new store with `enginesim store merge` saves the rest.",
        err=True,
    )
    return _UNSOUND


@command.command()
@_file
@_choices
@click.option("--damaged", is_flag=True, help="Orphans and results that cannot be read.")
@click.option("--cycles", is_flag=True, help="Only the kept cycles of these; results stay.")
@click.option("--yes", is_flag=True, help="Do it; without, only say what would go.")
def prune(
    store_file: Path | None,
    digest: str | None,
    name: str | None,
    failed: bool,
    old_physics: bool,
    before: str | None,
    damaged: bool,
    cycles: bool,
    yes: bool,
) -> int:
    """Take results out, such as failures that are to be tried again."""
    from enginesim.study import store_upkeep

    is_chosen = any((digest, name, failed, old_physics, before, cycles))
    if is_chosen == damaged:
        raise click.UsageError(
            "say which: --case, --name, --failed, --old-physics, --before, --cycles, together "
            "where need be, or --damaged alone"
        )
    choice = _choice(digest, name, failed, old_physics, before) if is_chosen else None
    with _opened(store_file) as store:
        gone = store_upkeep.prune(store, choice, cycles_only=cycles, dry=not yes)
    verb = "taken out" if yes else "would be taken out (nothing was changed: add --yes)"
    click.echo(f"{gone.points} points and {gone.cycles} kept cycles {verb}")
    return 0


@command.command()
@_file
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@_choices
def export(
    store_file: Path | None,
    file: Path,
    digest: str | None,
    name: str | None,
    failed: bool,
    old_physics: bool,
    before: str | None,
) -> int:
    """Write results into FILE, .csv or .parquet: a line for each point, SI units."""
    from enginesim.cli.paths import require_apart, require_writable
    from enginesim.study import store_export

    writers = {".csv": store_export.write_csv, ".parquet": store_export.write_parquet}
    writer = writers.get(file.suffix.lower())
    if writer is None:
        raise click.UsageError(
            f"FILE: found {quoted(file.name)}; allowed a name ending .csv or .parquet"
        )
    require_writable("FILE", file)
    require_apart({"FILE": file}, store=store_file)
    choice = _choice(digest, name, failed, old_physics, before)
    with _opened(store_file) as store:
        if next(store_export.rows(store, choice), None) is None:
            raise click.UsageError(
                f"found no such points in {store.path}; nothing was written "
                "(`enginesim store list` shows what there is)"
            )
        try:
            file.absolute().parent.mkdir(parents=True, exist_ok=True)
            n = writer(store, file, choice)
        except OSError as error:
            raise click.FileError(str(file), error.strerror or str(error)) from error
    click.echo(f"{n} points written to {file}")
    return 0


@command.command()
@_file
@click.argument("others", nargs=-1, required=True, type=click.Path(dir_okay=False, path_type=Path))
def merge(store_file: Path | None, others: tuple[Path, ...]) -> int:
    """Take over from OTHER stores what this one does not have."""
    from enginesim.base.text_file import is_file
    from enginesim.study import store_upkeep
    from enginesim.study.store import Store
    from enginesim.study.store_file import store_path

    for other in others:  # before a store is made that nothing would be put into
        store_upkeep.require_store(other)
    # A file that is there must be a store, even if it is empty.
    is_new = not is_file(store_path(store_file))
    with Store.open(store_file, create=is_new) as store:
        for other in others:
            done = store_upkeep.merge(store, other)
            click.echo(f"{other}: {done.added} points taken over, {done.known} known already")
    return 0
