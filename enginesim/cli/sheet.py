"""`enginesim sheet`: one page for the bench, on the screen and on paper."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from enginesim.cli.obtaining import store_options
from enginesim.cli.ranges import Real

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.case import Case
    from enginesim.report.sheet_page import Page
    from enginesim.report.units import System

#: Kind of sheet: what it answers.
KINDS = {
    "cam": "all events at every checking height, and where the card contradicts itself",
    "clearance": "lift, piston to valve, how far the cam may be moved",
    "spring": "speed at which the springs lose the valves",
    "compression": "static, from intake closing, on the gauge",
    "throttle": "depression at full throttle, what other sizes cost",
    "injector": "injectors and pump for the computed fuel flow",
    "tubes": "header and runner rules beside the simulation",
    "spark": "spark and mixture, and what others would give",
    "knock": "margin in spark and in octane",
}
_STILL = ("cam", "clearance", "spring", "compression")
_SPEEDS = "2000:6000:500"


@click.command(name="sheet", epilog="Kinds: " + "; ".join(f"{k}: {v}" for k, v in KINDS.items()))
@click.argument("case", type=click.Path(path_type=Path))
@click.option(
    "--kind",
    "kinds",
    multiple=True,
    required=True,
    type=click.Choice([*KINDS, "all"]),
    help="Which sheet; may be given several times.",
)
@click.option("--set", "overrides", multiple=True, metavar="PATH=VALUE", help="Override a field.")
@click.option(
    "--rpm",
    default=_SPEEDS,
    show_default=True,
    metavar="SPEC",
    help="Speeds, for sheets that need the simulation: first:last:step or a list.",
)
@click.option(
    "--sizes",
    metavar="TEXT",
    help='For throttle: other sizes, such as "500 600 750 cfm".  [default: one down, one up]',
)
@click.option(
    "--duty",
    type=Real(0.1, 1.0),
    default=0.80,
    show_default=True,
    help="For injector: part of the time that it may be open; 0.8 is 80 %.",
)
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    metavar="DIR",
    help="Write each sheet as a page, PDF and PNG, into a folder.",
)
@click.option("--units", type=click.Choice(["us", "si"]), default="us", show_default=True)
@store_options
def command(
    case: Path,
    kinds: tuple[str, ...],
    overrides: tuple[str, ...],
    rpm: str,
    sizes: str | None,
    duty: float,
    out: Path | None,
    units: System,
    store_file: Path | None,
    no_store: bool,
    jobs: int | None,
) -> int:
    """
    Fill in a bench sheet: what to check by hand, what to order, what to set.

    Exit code 0, 1 when a file could not be written, 2 when the input is wrong, 3 when nothing
    converged that a sheet needs, 130 when interrupted.
    """
    from enginesim.case import load
    from enginesim.cli.paths import require_apart, require_writable
    from enginesim.cycle.speeds import parse

    require_writable("--out", out)
    asked = parse(rpm)
    wanted = tuple(kind for kind in KINDS if kind in kinds or "all" in kinds)
    engine = load(case, overrides, is_lenient="cam" in wanted)
    require_apart({}, store=store_file, no_store=no_store)
    pages = [_still_page(kind, engine, units) for kind in wanted if kind in _STILL]
    moving = tuple(kind for kind in wanted if kind not in _STILL)
    code = 0
    if moving:
        from enginesim.cli.sheet_results import Asked, result_pages

        if "all" in kinds and engine.throttle.kind == "none" and sizes is None:
            moving = tuple(kind for kind in moving if kind != "throttle")
        request = Asked(asked.rpm, sizes, duty, units, store_file, no_store, jobs)
        found, code = result_pages(engine, moving, request)
        pages += found
    # First the files, as whoever reads the tables may stop in the middle; but they are worth
    # reading without them too.
    try:
        written = _save(pages, out, units) if out is not None else []
    finally:
        for page in pages:
            _show(page)
        if pages:
            _show_warnings(engine)
    if written:
        click.echo("\nWritten: " + ", ".join(map(str, written)))
    return code


def _still_page(kind: str, case: Case, units: System) -> Page:
    """Sheet that needs no simulation."""
    from dataclasses import replace

    from enginesim.base.provenance import stamp
    from enginesim.report import notes

    page = _blank(kind, case, units)
    return replace(page, foot=(notes.origin(stamp(case.digest)),))


def _blank(kind: str, case: Case, units: System) -> Page:
    if kind == "cam":
        from enginesim.report.sheet_cam import cam_page
        from enginesim.workshop.cam_card import cam_card

        return cam_page(cam_card(case), case, units)
    if kind == "clearance":
        from enginesim.report.sheet_clearance import clearance_page
        from enginesim.workshop.piston_room import piston_room

        return clearance_page(piston_room(case), case, units)
    if kind == "spring":
        from enginesim.report.sheet_spring import spring_page
        from enginesim.workshop.springs import springs

        return spring_page(springs(case), case, units)
    from enginesim.report.sheet_compression import compression_page
    from enginesim.workshop.compression import compression

    return compression_page(compression(case), case, units)


def _show(page: Page) -> None:
    from enginesim.cli.screen import show_figures, show_lines, show_list

    click.echo(f"\n{page.title}: {page.engine}")
    for table in page.tables:
        show_figures(table)
    show_list("What follows", page.notes)
    show_list("Cautions", page.cautions)
    show_lines(page.foot)


def _show_warnings(case: Case) -> None:
    from enginesim.cli.screen import show_list

    show_list("Warnings", [str(warning) for warning in case.warnings])


def _save(pages: Sequence[Page], out: Path, units: System) -> list[Path]:
    from enginesim.report.sheet_page import save_page

    written: list[Path] = []
    try:
        for page in pages:
            written += save_page(page, out, units)
    except OSError as error:
        raise click.FileError(str(error.filename or out), error.strerror or str(error)) from error
    return written
