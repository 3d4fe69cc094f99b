"""`enginesim run`: torque, power and breathing of a case against speed."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

import click

from enginesim.cli.obtaining import store_options
from enginesim.cli.paths import require_apart, require_writable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.case import Case
    from enginesim.cli.prediction import Prediction
    from enginesim.report.units import System
    from enginesim.study.store import Store

_SPEEDS = "2000:6000:250"
_NONE_CONVERGED = 3
_INTERRUPTED = 130


@click.command(name="run")
@click.argument("case", type=click.Path(path_type=Path))
@click.option(
    "--rpm",
    default=_SPEEDS,
    show_default=True,
    metavar="SPEC",
    help="Speeds: first:last:step (without step: 250), a list parted by commas, or one.",
)
@click.option("--set", "overrides", multiple=True, metavar="PATH=VALUE", help="Override a field.")
@click.option(
    "--fidelity",
    type=click.Choice(["wave", "filling"]),
    help="With waves in the ducts, or without.  [default: as the case says]",
)
@click.option(
    "--refine/--no-refine",
    default=None,
    help="Add speeds where the curve bends.  [default: for first:last:step only]",
)
@click.option(
    "--traces",
    multiple=True,
    metavar="RPM",
    help="Draw the cycle and the waves at this speed too (needs --out).",
)
@click.option(
    "--json", "json_file", type=click.Path(dir_okay=False, path_type=Path), help="Write JSON."
)
@click.option(
    "--csv", "csv_file", type=click.Path(dir_okay=False, path_type=Path), help="Write CSV."
)
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    metavar="DIR",
    help="Write charts, JSON and CSV into a folder.",
)
@click.option("--units", type=click.Choice(["us", "si"]), default="us", show_default=True)
@store_options
@click.option(
    "--keep-cycles", is_flag=True, help="Keep in the store the cycle of each speed that is run too."
)
@click.option("--brief", is_flag=True, help="Leave out the list of what was assumed.")
def command(
    case: Path,
    rpm: str,
    overrides: tuple[str, ...],
    fidelity: str | None,
    refine: bool | None,
    traces: tuple[str, ...],
    json_file: Path | None,
    csv_file: Path | None,
    out: Path | None,
    units: System,
    store_file: Path | None,
    no_store: bool,
    jobs: int | None,
    keep_cycles: bool,
    brief: bool,
) -> int:
    """
    Predict torque, power and breathing against speed.

    Exit code 0, 1 when a file could not be written, 2 when the input is wrong, 3 when no speed
    converged, 130 when interrupted; the speeds that were finished by then are shown and written.
    """
    from enginesim.case import load
    from enginesim.cycle.speeds import parse

    if no_store and (store_file is not None or keep_cycles):
        other = "--store" if store_file is not None else "--keep-cycles"
        raise click.UsageError(f"{other} and --no-store: one of the two")
    if traces and out is None:
        raise click.UsageError("--traces draws charts: say where to with --out DIR")
    for option, path in (("--json", json_file), ("--csv", csv_file), ("--out", out)):
        require_writable(option, path)
    asked = parse(rpm)
    traced = frozenset(speed for text in traces for speed in parse(text, "--traces").rpm)
    if fidelity is not None:
        overrides = (*overrides, f"numerics.fidelity={fidelity}")
    engine = load(case, overrides)
    files = {"--json": json_file, "--csv": csv_file}
    names = ("result.json", "result.csv")
    require_apart(files, out=out, names=names, store=store_file, no_store=no_store)

    from enginesim.cli.prediction import predict
    from enginesim.performance.quoting import is_quotable
    from enginesim.study.store import Store

    is_refined = asked.is_range if refine is None else refine
    speeds = tuple(sorted({*asked.rpm, *traced}))
    with nullcontext(None) if no_store else Store.open(store_file) as store:
        found = predict(
            engine, speeds, traced, is_refined=is_refined, jobs=jobs, units=units, store=store,
            keep_cycles=keep_cycles,
        )  # fmt: skip
        stored: list[tuple[float, str, str]] = []
        if store is not None:
            _tell_stored(found, store)
            if found.stored:
                from enginesim.study.store_query import origins

                stored = origins(store, engine, found.stored & found.points.keys())
    if found.points:
        # First the files, as whoever reads the table may stop in the middle; but a table that has
        # no file is worth reading too.
        try:
            written = _write(engine, found, stored, json_file, csv_file, out, units, traced)
        finally:
            _show(engine, found, units, brief)
        if written:
            click.echo("\nWritten: " + ", ".join(map(str, written)))
    for speed, reason in sorted(found.failed.items()):
        click.echo(f"* {speed:.0f} rpm FAILED: {reason}", err=True)
    if found.is_interrupted:
        click.echo(f"interrupted: {len(found.points)} speeds finished", err=True)
        return _INTERRUPTED
    return 0 if any(is_quotable(point) for point in found.points.values()) else _NONE_CONVERGED


def _tell_stored(found: Prediction, store: Store) -> None:
    n = len(found.points) + len(found.failed)
    if found.stored:
        click.echo(f"{len(found.stored)} of {n} speeds from the store {store.path}", err=True)
    if not store.is_writable:
        click.echo(f"store {store.path} is read-only: what was run is not kept", err=True)


def _show(case: Case, found: Prediction, units: System, brief: bool) -> None:
    from enginesim.cli.cautions import CAUTIONS
    from enginesim.cli.screen import show_figures, show_list
    from enginesim.report import notes, table

    curve = found.curve
    click.echo(case.name)
    # The result comes last: what a terminal shows when all is done is the end.
    if not brief:
        show_figures(table.assumed(case, units))
    for part in table.results(curve, units):
        show_figures(part)
    _lines([*notes.peaks(curve, units), *notes.gaps(curve)])
    _lines(notes.conditions(case, curve, found.provenance, units))
    _lines(notes.audit(curve))
    if brief:
        click.echo(f"\n{len(case.assumed)} values assumed")
    show_list("Warnings", [*map(str, case.warnings), *notes.knocking(case, curve)])
    show_list("Cautions", CAUTIONS)


def _lines(lines: Sequence[str]) -> None:
    from enginesim.cli.screen import show_lines

    show_lines(["", *lines])


def _write(
    case: Case,
    found: Prediction,
    stored: Sequence[tuple[float, str, str]],
    json_file: Path | None,
    csv_file: Path | None,
    out: Path | None,
    units: System,
    traced: frozenset[float],
) -> list[Path]:
    from enginesim.report import files

    json_files = [path for path in (json_file, out and out / "result.json") if path]
    csv_files = [path for path in (csv_file, out and out / "result.csv") if path]
    written: list[Path] = []
    try:
        if json_files:
            whole = not found.is_interrupted and not found.failed
            document = files.document(
                case, found.curve, found.provenance, is_complete=whole, stored=stored
            )
            text = files.json_text(document)
            for path in json_files:
                files.write(path, text)
        for path in csv_files:
            files.write(path, files.csv_text(found.curve))
        written += [*json_files, *csv_files]
        if out is not None:
            from enginesim.report import save_figures

            drawn = [record for record in found.records if record.rpm in traced]
            written += save_figures(case, found.curve, out, records=drawn, units=units)
    except OSError as error:
        raise click.FileError(str(error.filename or out), error.strerror or str(error)) from error
    return written
