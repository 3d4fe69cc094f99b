"""How are the engines of a study shown on the screen and written into files?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from pathlib import Path

    from enginesim.cli.studies import Asked
    from enginesim.report.plotter import Plotter
    from enginesim.study.limits import Aim
    from enginesim.study.reading import Plan
    from enginesim.study.trials import Outcome


def show(plan: Plan, outcome: Outcome, aims: tuple[Aim, ...], asked: Asked) -> None:
    """
    The best few, the front, the effects and the counts.

    Parameters
    ----------
    plan : Plan
        The study.
    outcome : Outcome
        Its engines.
    aims : tuple of Aim
        What is wanted.
    asked : Asked
        Units, and how many.
    """
    from enginesim.cli.screen import show_figures, show_lines, show_list
    from enginesim.report.study_scales import best_title, front_title
    from enginesim.report.study_table import best_table, counts, effects_table, tie_text
    from enginesim.report.study_warnings import grouped
    from enginesim.study.effects import at_the_end, effects
    from enginesim.study.front import front
    from enginesim.study.ties import difference_error, ranks

    study = outcome.study
    show_lines([study.name or plan.base.name, "", *counts(outcome)])
    show_list("Warnings", grouped(outcome))
    for aim in aims:
        best = outcome.best(aim, asked.top)
        if not best:
            continue
        error = difference_error(outcome, aim, plan.base)
        order = () if error is None else ranks(outcome, aim, best, error)
        title = best_title(aim, len(best))
        show_figures(best_table(outcome, best, title, asked.units, order))
        near = outcome.as_good(aim)
        ends = [
            f"the best has {text}, an end of its range: a better one may lie beyond"
            for text in at_the_end(outcome, aim)
        ]
        good = len(outcome.of_status("good"))
        lie = "lies" if len(near) == 1 else "lie"
        within = f"{len(near)} of {good} good engine{'s' if good != 1 else ''} {lie} within 1 %"
        show_lines(["", *tie_text(outcome, aim, error, asked.units), within, *ends])
        found = effects(outcome, aim)
        if found:
            show_figures(effects_table(found, aim, asked.units))
            if any(effect.is_estimated for effect in found):
                click.echo("about the best: estimated, where not every engine was run")
    if len(aims) == 2:
        kept = front(outcome, aims)
        title = f"Front of both aims: {front_title(len(kept))}"
        show_figures(best_table(outcome, kept, title, asked.units))


def write(
    plan: Plan, outcome: Outcome, aims: tuple[Aim, ...], asked: Asked, plotter: Plotter | None
) -> tuple[Path, ...]:
    """
    Charts, CSV and the study, as asked for.

    Parameters
    ----------
    plan : Plan
        The study.
    outcome : Outcome
        Its engines.
    aims : tuple of Aim
        What is wanted.
    asked : Asked
        Where to.
    plotter : Plotter or None
        Who draws, where there is a folder for charts.

    Returns
    -------
    tuple of Path
        The files.
    """
    from enginesim.report import files
    from enginesim.report.study_table import csv_text

    written: list[Path] = []
    try:
        if plotter is not None and asked.out is not None:
            from enginesim.report.study_figures import draw_study

            draw_study(plotter, plan, outcome, aims, asked.out, units=asked.units, top=asked.top)
            plotter.begin()
        for path in (asked.csv_file, asked.out and asked.out / "engines.csv"):
            if path is not None:
                files.write(path, csv_text(outcome))
                written.append(path)
        if plotter is not None and asked.out is not None:
            written += [_write_study(plan, asked.out), *plotter.finish()]
    except OSError as error:
        place = str(error.filename or asked.out or asked.csv_file)
        raise click.FileError(place, error.strerror or str(error)) from error
    return tuple(written)


def report(
    plan: Plan,
    outcome: Outcome,
    aims: tuple[Aim, ...],
    asked: Asked,
    plotter: Plotter | None,
    ended: str = "",
) -> None:
    """
    Write the files and show the tables, and say where the files are.

    Parameters
    ----------
    plan : Plan
        The study.
    outcome : Outcome
        Its engines.
    aims : tuple of Aim
        What is wanted.
    asked : Asked
        Where to, and in which units.
    plotter : Plotter or None
        Who draws, where there is a folder for charts.
    ended : str
        How a search ended.
    """
    # First the files, as whoever reads the tables may stop in the middle; but tables that have no
    # file are worth reading too.
    try:
        written = write(plan, outcome, aims, asked, plotter)
    finally:
        show(plan, outcome, aims, asked)
        if ended:
            click.echo(f"\nSearch ended: {ended}")
    if written:
        click.echo("\nWritten: " + ", ".join(map(str, written)))


def _write_study(plan: Plan, folder: Path) -> Path:
    """The study with all that was said on the command line, so that it can be repeated."""
    from dataclasses import replace

    from enginesim.report import files
    from enginesim.study.writing import write as study_text

    study = plan.study
    vehicle = study.vehicle and str((study.folder / study.vehicle).absolute())
    kept = replace(study, case=str(study.file.absolute()), vehicle=vehicle)
    path = folder / "study.toml"
    files.write(path, study_text(kept))
    return path
