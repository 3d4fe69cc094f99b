"""`enginesim sweep`: many engines that differ in a few fields, and what comes of each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from enginesim.cli.ranges import Whole
from enginesim.cli.studies import Asked, evaluating, plotting, study_options
from enginesim.cli.study_results import report

if TYPE_CHECKING:
    from enginesim.study.reading import Plan
    from enginesim.study.trials import Outcome

_NONE_GOOD = 3
_INTERRUPTED = 130


@click.command(name="sweep")
@study_options
@click.option(
    "--samples",
    type=Whole(1, 100_000),
    help="So many engines, evenly spread, in place of every combination.",
)
def command(samples: int | None, **options: Any) -> int:
    """
    Run every combination of some values, or samples of them; FILE is a case or a study.

    What is in the store is not run again: the same command goes on where it was stopped. Exit code
    0, 1 when a file could not be written, 2 when the input is wrong, 3 when no engine is good, 130
    when stopped.
    """
    asked = Asked(numbers={"samples": samples}, **options)
    with plotting(asked) as plotter:
        plan, outcome = _swept(asked)
        report(plan, outcome, plan.study.aims, asked, plotter)
    if outcome.of_status("unfinished"):
        click.echo("stopped: the same command goes on from here", err=True)
        return _INTERRUPTED
    return 0 if outcome.of_status("good") else _NONE_GOOD


def _swept(asked: Asked) -> tuple[Plan, Outcome]:
    plan = asked.plan()

    from dataclasses import replace

    from enginesim.study.checks import check_plan
    from enginesim.study.limits import aim as aim_of
    from enginesim.study.plan import points
    from enginesim.study.trials import Outcome

    problems = check_plan(str(asked.file), plan.study, is_search=False)
    if problems is not None:
        raise problems
    if not plan.study.aims:
        plan = replace(plan, study=replace(plan.study, aims=(aim_of("average torque"),)))
    with evaluating(asked, plan, plan.study.aims[0]) as (evaluation, teller):
        trials = evaluation.assess(points(plan.study), teller.trial)
    return plan, Outcome(plan.study, tuple(trials))
