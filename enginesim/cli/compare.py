"""`enginesim compare`: which of these engines is better, at which speeds, by how much, and why?"""

from __future__ import annotations

from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from enginesim.cli.obtaining import store_options

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.cli.compared import Compared
    from enginesim.cli.contest import Contest
    from enginesim.cli.obtaining import Gathered
    from enginesim.report.units import System

#: What draws a comparison.
FIGURES = ("comparison_figure", "reason_figure", "comparison_page", "valve_pressure_figure")
_NONE_COMMON = 3
_INTERRUPTED = 130
_STANDARDS = ("none", "J1349", "ISO1585", "DIN70020", "J607")


@click.command(name="compare")
@click.argument("cases", nargs=-1, type=click.Path(path_type=Path), metavar="A [B [C...]]")
@click.option(
    "--swap",
    "swaps",
    multiple=True,
    metavar="PART=FILE",
    help="With one case: exchange a part (or PATH=VALUE). Several: each alone, then all together.",
)
@click.option(
    "--set", "overrides", multiple=True, metavar="PATH=VALUE", help="Override a field of all."
)
@click.option(
    "--rpm",
    default="2000:6000:250",
    show_default=True,
    metavar="SPEC",
    help="Speeds: first:last:step (without step: 250) or a list parted by commas.",
)
@click.option("--window", metavar="FIRST:LAST", help="Speeds of the averages.  [default: all]")
@click.option(
    "--weights",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Time at each speed, for weighted averages: lines of speed (or first-last) and time.",
)
@click.option(
    "--correction",
    default="none",
    show_default=True,
    type=click.Choice(_STANDARDS, case_sensitive=False),
    help="Standard to whose air torque and power are corrected.",
)
@click.option(
    "--waves",
    multiple=True,
    metavar="RPM",
    help="Draw the pressure at the intake valve and the waves at this speed too (needs --out).",
)
@click.option(
    "--bands",
    "has_bands",
    is_flag=True,
    help="Move each assumed value by its band in all engines: a minute or two, once.",
)
@click.option("--page", is_flag=True, help="Draw the one-page report too (needs --out).")
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
@click.option("--brief", is_flag=True, help="Leave out the tables by speed.")
def command(
    cases: tuple[Path, ...],
    swaps: tuple[str, ...],
    overrides: tuple[str, ...],
    rpm: str,
    window: str | None,
    weights: Path | None,
    correction: str,
    waves: tuple[str, ...],
    has_bands: bool,
    page: bool,
    json_file: Path | None,
    csv_file: Path | None,
    out: Path | None,
    units: System,
    store_file: Path | None,
    no_store: bool,
    jobs: int | None,
    brief: bool,
) -> int:
    """
    Compare engines, or one engine with parts exchanged, over speed.

    Exit code 0, 1 when a file could not be written, 2 when the input is wrong, 3 when fewer than
    two speeds became periodic in all engines, 130 when interrupted; what was finished by then is
    in the store.
    """
    from enginesim.cli.paths import require_apart, require_writable

    if (waves or page) and out is None:
        raise click.UsageError("--waves and --page draw: say where to with --out DIR")
    for option, path in (("--json", json_file), ("--csv", csv_file), ("--out", out)):
        require_writable(option, path)

    with ExitStack() as stack:
        plotter = None
        if out is not None:
            from enginesim.report.plotter import Plotter

            plotter = stack.enter_context(Plotter(FIGURES))
        from enginesim.cli.contest import asked
        from enginesim.cli.obtaining import obtained

        contest = asked(cases, swaps, overrides, rpm, window, weights, correction, waves)
        files = {"--json": json_file, "--csv": csv_file}
        names = ("compare.json", "compare.csv")
        require_apart(files, out=out, names=names, store=store_file, no_store=no_store)
        get = partial(obtained, store=store_file, no_store=no_store, jobs=jobs, units=units)
        found, is_interrupted = _found(contest, get, units, has_bands=has_bands)
        if found is not None:
            # First the files, as whoever reads the table may stop in the middle; but a table that
            # has no file is worth reading too.
            try:
                written = found.write(json_file, csv_file, out, has_page=page, plotter=plotter)
            finally:
                found.show(brief=brief)
            if written:
                click.echo("\nWritten: " + ", ".join(map(str, written)))
            if is_interrupted:
                n = len(found.comparison.rpm)
                click.echo(f"interrupted: {n} speeds common to all", err=True)
    if is_interrupted:
        return _INTERRUPTED
    return _NONE_COMMON if found is None else 0


def _found(
    contest: Contest, get: Callable[..., Gathered], units: System, *, has_bands: bool
) -> tuple[Compared | None, bool]:
    """What came of it, nothing if too few speeds; and whether the user broke it off."""
    from enginesim.base.errors import ResultError
    from enginesim.cli.compared import Compared

    got = get([entrant.case for entrant in contest.entry.entrants], contest.rpm)
    for entrant, part in zip(contest.entry.entrants, got.parts, strict=True):
        for speed, failure in sorted(part.failed.items()):
            click.echo(f"* {entrant.letter}, {speed:.0f} rpm FAILED: {failure.reason}", err=True)
    try:
        compared = Compared.of(contest, got.parts, units)
    except ResultError as error:
        told = "interrupted before all engines had two speeds in common"
        click.echo(told if got.is_interrupted else f"error: {error}", err=True)
        return None, got.is_interrupted
    if has_bands and not got.is_interrupted:
        from enginesim.cli.banded import banded

        compared = banded(compared, get)
    return compared, got.is_interrupted
