"""Which charts go with a study, and under which names are they kept?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from enginesim.base.provenance import stamp
from enginesim.report import notes as sentences
from enginesim.report.best_figure import best_figure
from enginesim.report.drawing import save
from enginesim.report.effects_figure import effects_figure, tornado_figure
from enginesim.report.front_figure import front_figure
from enginesim.report.map_figure import about, map_figure, surfaces
from enginesim.report.parallel_figure import parallel_figure
from enginesim.report.study_table import counts
from enginesim.study.effects import effects

if TYPE_CHECKING:
    from pathlib import Path

    from matplotlib.figure import Figure

    from enginesim.report.units import System
    from enginesim.study.limits import Aim
    from enginesim.study.reading import Plan
    from enginesim.study.trials import Outcome


def study_figures(
    plan: Plan, outcome: Outcome, aims: tuple[Aim, ...], *, units: System = "us", top: int = 5
) -> dict[str, Figure]:
    """
    Every chart of a study that its engines allow.

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
    dict of str to Figure
        ``map``, ``effects``, ``about-best``, ``lines``, ``front``, ``best-curves``; with two aims
        the first four are of the first one.
    """
    found: dict[str, Figure] = {}
    if not outcome.best(aims[0]):
        return found
    aim, study = aims[0], outcome.study
    title = study.name or plan.base.name
    small = (*_small_print(plan, units), counts(outcome)[0])
    is_whole = study.combinations() == len(outcome.trials)
    drawn = surfaces(outcome, aim, is_whole=is_whole)
    if drawn:
        more = (about(outcome, aim), "" if is_whole else "Surface estimated from the dots")
        found["map"] = map_figure(outcome, aim, drawn, title, (*filter(None, more), *small), units)
    acting = effects(outcome, aim)
    found["effects"] = effects_figure(acting, aim, title, small, units)
    if len(acting) > 1:
        found["about-best"] = tornado_figure(acting, aim, title, small, units)
    if len(study.variables) > 2:
        found["lines"] = parallel_figure(outcome, aim, title, small, units)
    if len(aims) == 2:
        found["front"] = front_figure(outcome, aims, title, small, units)
    best = outcome.best(aim, top)
    if any(len(trial.curve) > 1 for trial in best):
        found["best-curves"] = best_figure(outcome, aim, best, title, small, units)
    return found


def _small_print(plan: Plan, units: System) -> tuple[str, ...]:
    origin = sentences.origin(stamp(plan.base.digest))
    return (sentences.air(plan.base, units), sentences.friction(plan.base), origin)


def save_study_figures(
    plan: Plan,
    outcome: Outcome,
    aims: tuple[Aim, ...],
    folder: Path,
    *,
    units: System = "us",
    top: int = 5,
) -> list[Path]:
    """
    Draw a study and keep each chart as PNG and SVG.

    Parameters
    ----------
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

    Returns
    -------
    list of Path
        The files.
    """
    figures = study_figures(plan, outcome, aims, units=units, top=top)
    return [path for name, figure in figures.items() for path in save(figure, folder / name)]
