"""Which charts go with a study, and under which names are they kept?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

from enginesim.base.provenance import stamp
from enginesim.report import notes as sentences
from enginesim.report.map_surface import about, surfaces
from enginesim.report.parallel_lines import lines
from enginesim.report.plotter import CHART
from enginesim.report.study_table import counts
from enginesim.study.effects import effects
from enginesim.study.trials import Outcome, Trial

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from enginesim.report.plotter import Plotter
    from enginesim.report.units import System
    from enginesim.study.limits import Aim
    from enginesim.study.reading import Plan

#: Module and function of this room, and what it is called with.
Chart: TypeAlias = tuple[str, tuple[Any, ...]]


def study_charts(
    plan: Plan, outcome: Outcome, aims: tuple[Aim, ...], *, units: System = "us", top: int = 5
) -> Iterator[dict[str, Chart]]:
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

    Yields
    ------
    dict of str to Chart
        First those that show engines as they are: ``best-curves``, ``lines``, ``front``. Then those
        for which something is worked out: ``map``, ``effects``, ``about-best``. Of two aims all
        but the front are of the first one. Nothing where no engine is good.
    """
    if outcome.best(aims[0]):
        yield _as_they_are(plan, outcome, aims, units, top)
        yield _of_variables(plan, outcome, aims[0], units)


def _as_they_are(
    plan: Plan, outcome: Outcome, aims: tuple[Aim, ...], units: System, top: int
) -> dict[str, Chart]:
    """Charts of engines: nothing has to be worked out for them."""
    found: dict[str, Chart] = {}
    aim, study = aims[0], outcome.study
    best = outcome.best(aim, top)
    title, small = study.name or plan.base.name, _small_print(plan, outcome, units)
    # What is drawn travels to another process: engines and numbers that a chart shows, no others.
    if any(len(trial.curve) > 1 for trial in best):
        few = Outcome(study, tuple(best))
        found["best-curves"] = "best_figure", (few, aim, best, title, small, units)
    if len(study.variables) > 2:
        found["lines"] = "parallel_figure", (lines(outcome, aim), aim, title, small, units)
    if len(aims) == 2:
        every = Outcome(study, tuple(Trial(t.point, t.status, t.numbers) for t in outcome.trials))
        found["front"] = "front_figure", (every, aims, title, small, units)
    return found


def _of_variables(plan: Plan, outcome: Outcome, aim: Aim, units: System) -> dict[str, Chart]:
    """Charts of what variables do, between engines too: that may have to be estimated first."""
    found: dict[str, Chart] = {}
    study = outcome.study
    title, small = study.name or plan.base.name, _small_print(plan, outcome, units)
    is_whole = study.combinations() == len(outcome.trials)
    drawn = surfaces(outcome, aim, is_whole=is_whole)
    if drawn:
        more = (
            about(outcome, aim),
            "" if is_whole else "Surface estimated from the dots, and drawn only between them",
        )
        notes = (*filter(None, more), *small)
        few = Outcome(study, tuple(outcome.best(aim)))
        found["map"] = "map_figure", (few, aim, drawn, title, notes, units)
    acting = effects(outcome, aim)
    found["effects"] = "effects_figure", (acting, aim, title, small, units)
    bars = tuple(effect for effect in acting if effect.is_known)
    if len(acting) > 1 and bars:
        found["about-best"] = "tornado_figure", (bars, aim, title, small, units)
    return found


def _small_print(plan: Plan, outcome: Outcome, units: System) -> tuple[str, ...]:
    origin = sentences.origin(stamp(plan.base.digest))
    said = (sentences.air(plan.base, units), sentences.friction(plan.base), origin)
    return (*said, counts(outcome)[0])


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
    Have a study drawn, each chart as PNG and SVG; drawing begins while more is worked out.

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
    for charts in study_charts(plan, outcome, aims, units=units, top=top):
        for name, (figure, arguments) in charts.items():
            plotter.draw(folder / name, CHART, figure, *arguments)
        plotter.begin()
