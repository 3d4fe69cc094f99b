"""Which charts go with a study, and under which names are they kept?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

from enginesim.base.provenance import stamp
from enginesim.report import notes as sentences
from enginesim.report.map_surface import about, surfaces
from enginesim.report.plotter import CHART
from enginesim.report.study_table import counts
from enginesim.study.effects import effects
from enginesim.study.trials import Outcome, Trial

if TYPE_CHECKING:
    from pathlib import Path

    from enginesim.report.plotter import Plotter
    from enginesim.report.units import System
    from enginesim.study.limits import Aim
    from enginesim.study.reading import Plan

#: Module and function of this room, and what it is called with.
Chart: TypeAlias = tuple[str, tuple[Any, ...]]


def study_charts(
    plan: Plan, outcome: Outcome, aims: tuple[Aim, ...], *, units: System = "us", top: int = 5
) -> dict[str, Chart]:
    """
    Every chart of a study that its engines allow; nothing is drawn yet.

    Parameters
    ----------
    plan : Plan
        The study and the case that it began with.
    outcome : Outcome
        Its engines.
    aims : tuple of Aim
        What is wanted.
    units : {"us", "si"}
        Units.
    top : int
        Engines whose curves are drawn. [-]

    Returns
    -------
    dict of str to Chart
        ``map``, ``effects``, ``about-best``, ``lines``, ``front``, ``best-curves``; with two aims
        the first four are of the first one.
    """
    found: dict[str, Chart] = {}
    if not outcome.best(aims[0]):
        return found
    aim, study = aims[0], outcome.study
    title = study.name or plan.base.name
    small = (*_small_print(plan, units), counts(outcome)[0])
    is_whole = study.combinations() == len(outcome.trials)
    best = outcome.best(aim, top)
    drawn = surfaces(outcome, aim, is_whole=is_whole)
    acting = effects(outcome, aim)
    # It travels to the process that draws: without what no chart of all engines shows.
    every = Outcome(study, tuple(Trial(t.point, t.status, t.numbers) for t in outcome.trials))
    if drawn:
        more = (about(outcome, aim), "" if is_whole else "Surface estimated from the dots")
        notes = (*filter(None, more), *small)
        found["map"] = "map_figure", (every, aim, drawn, title, notes, units)
    found["effects"] = "effects_figure", (acting, aim, title, small, units)
    if len(acting) > 1:
        found["about-best"] = "tornado_figure", (acting, aim, title, small, units)
    if len(study.variables) > 2:
        found["lines"] = "parallel_figure", (every, aim, title, small, units)
    if len(aims) == 2:
        found["front"] = "front_figure", (every, aims, title, small, units)
    if any(len(trial.curve) > 1 for trial in best):
        found["best-curves"] = "best_figure", (every, aim, best, title, small, units)
    return found


def _small_print(plan: Plan, units: System) -> tuple[str, ...]:
    origin = sentences.origin(stamp(plan.base.digest))
    return (sentences.air(plan.base, units), sentences.friction(plan.base), origin)


def draw_study(
    plotter: Plotter,
    plan: Plan,
    outcome: Outcome,
    aims: tuple[Aim, ...],
    folder: Path,
    *,
    units: System = "us",
    top: int = 5,
) -> None:
    """
    Have a study drawn, each chart as PNG and SVG.

    Parameters
    ----------
    plotter : Plotter
        Who draws, and ends with the files.
    plan : Plan
        The study and the case that it began with.
    outcome : Outcome
        Its engines.
    aims : tuple of Aim
        What is wanted.
    folder : Path
        Where to; made if it is not there.
    units : {"us", "si"}
        Units.
    top : int
        Engines whose curves are drawn. [-]
    """
    for name, (figure, arguments) in study_charts(
        plan, outcome, aims, units=units, top=top
    ).items():
        plotter.draw(folder / name, CHART, figure, *arguments)
