"""`enginesim search`: the best engine, found with few runs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from enginesim.cli.ranges import Whole
from enginesim.cli.studies import Asked, evaluating, plotting, study_options
from enginesim.cli.study_results import report

if TYPE_CHECKING:
    from enginesim.study.reading import Plan
    from enginesim.study.search import Found

_NONE_GOOD = 3
_INTERRUPTED = 130


@click.command(name="search")
@study_options
@click.option(
    "--points",
    type=Whole(1, 100_000),
    help="Engines that may be run.  [default: 60]",
)
@click.option("--batch", type=Whole(1, 1000), help="Engines chosen at a time.  [default: 2]")
def command(points: int | None, batch: int | None, **options: Any) -> int:
    """
    Look for the best engine, or for the front of two aims; FILE is a case or a study.

    What is in the store is not run again: the same command goes the same way and on from where it
    was stopped. Exit code 0, 1 when a file could not be written, 2 when the input is wrong, 3 when
    no engine is good, 130 when stopped.
    """
    asked = Asked(numbers={"points": points, "batch": batch}, **options)
    with plotting(asked) as plotter:
        plan, found = _searched(asked)
        report(plan, found.outcome, plan.study.aims, asked, plotter, found.ended)
    if found.outcome.of_status("unfinished"):
        return _INTERRUPTED
    return 0 if found.outcome.of_status("good") else _NONE_GOOD


def _searched(asked: Asked) -> tuple[Plan, Found]:
    plan = asked.plan()

    from enginesim.study.checks import check_plan

    problems = check_plan(str(asked.file), plan.study, is_search=True)
    if problems is not None:
        raise problems

    from enginesim.study.search import search

    with evaluating(asked, plan, plan.study.aims[0]) as (evaluation, teller):
        return plan, search(evaluation, teller.trial)
