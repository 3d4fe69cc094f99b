"""Sheets that need the simulation: what is asked of it, and the pages that come of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from enginesim.base.provenance import stamp
from enginesim.cli.obtaining import obtained
from enginesim.report import notes
from enginesim.workshop import points

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.performance import Curve
    from enginesim.report.sheet_page import Page
    from enginesim.report.units import System

_NOTHING = 3
_INTERRUPTED = 130


@dataclass(frozen=True, slots=True)
class Asked:
    """What the user wants: speeds [rpm], sizes as typed, duty [-], and how results are got."""

    rpm: tuple[float, ...]
    sizes: str | None
    duty: float
    units: System
    store: Path | None
    no_store: bool
    jobs: int | None


@dataclass(frozen=True, slots=True)
class _Plan:
    """Cases that a sheet rests on, the engine as it is first, and the page that they give."""

    cases: Sequence[Case]
    page: Callable[[list[Curve]], Page]


def result_pages(case: Case, kinds: Sequence[str], asked: Asked) -> tuple[list[Page], int]:
    """
    Pages of sheets that need the simulation.

    Parameters
    ----------
    case : Case
        The engine.
    kinds : sequence of str
        Which sheets.
    asked : Asked
        Everything else.

    Returns
    -------
    tuple of list and int
        The pages that could be made, and the exit code.
    """
    plans = {kind: _PLANS[kind](case, asked) for kind in kinds}
    cases = [each for plan in plans.values() for each in plan.cases]
    got = obtained(
        cases,
        asked.rpm,
        store=asked.store,
        no_store=asked.no_store,
        jobs=asked.jobs,
        units=asked.units,
    )
    code = _INTERRUPTED if got.is_interrupted else 0
    failures = {
        (part.case.digest, rpm): failure.reason
        for part in got.parts
        for rpm, failure in part.failed.items()
    }
    for (_, rpm), reason in sorted(failures.items()):
        click.echo(f"* {rpm:.0f} rpm FAILED: {reason}", err=True)
    pages, start = [], 0
    for kind, plan in plans.items():
        parts = got.parts[start : start + len(plan.cases)]
        start += len(plan.cases)
        curves = points.common_speeds([part.points for part in parts])
        if not curves:
            click.echo(f"sheet {kind}: no speed converged in all that it needs", err=True)
            code = code or _NOTHING
            continue
        foot = notes.conditions(case, curves[0], stamp(case.digest), asked.units)
        pages.append(replace(plan.page(curves), foot=foot))
    return pages, code


def _throttle(case: Case, asked: Asked) -> _Plan:
    from enginesim.case.derived import derive
    from enginesim.report.sheet_throttle import throttle_page
    from enginesim.workshop.carburettor import throttle_sheet

    sizes, cases = points.with_sizes(case, _sizes(case, asked.sizes))

    def page(curves: list[Curve]) -> Page:
        sheet = throttle_sheet(case, sizes, curves, derive(case).displacement)
        return throttle_page(sheet, case, asked.units)

    return _Plan(cases, page)


def _sizes(case: Case, text: str | None) -> tuple[float, ...]:
    """Sizes that were typed, with the field's own checks."""
    if text is None:
        return ()
    from enginesim.base.errors import CaseError, Problem
    from enginesim.case.facts import walk
    from enginesim.case.quantities import Unfit, values
    from enginesim.case.tree import Case as Tree
    from enginesim.workshop.carburettor import fitted_size

    path, _ = fitted_size(case)
    try:
        sizes: tuple[float, ...] = values(dict(walk(Tree))[path].facts, text).value
    except Unfit as error:
        problem = Problem("--sizes", path, error.found, error.allowed, error.hint)
        raise CaseError([problem]) from None
    return sizes


def _injector(case: Case, asked: Asked) -> _Plan:
    from enginesim.gas.fuels import FUELS
    from enginesim.report.sheet_injector import injector_page
    from enginesim.workshop.injectors import injectors

    def page(curves: list[Curve]) -> Page:
        density = FUELS[case.fuel.name].density_liquid
        sheet = injectors(curves[0], case.block.n_cylinders, asked.duty, density)
        return injector_page(sheet, curves[0], case, asked.units)

    return _Plan([case], page)


def _tubes(case: Case, asked: Asked) -> _Plan:
    from enginesim.report.sheet_tubes import tubes_page
    from enginesim.workshop.tubes import tubes

    def page(curves: list[Curve]) -> Page:
        return tubes_page(tubes(case, curves[0]), curves[0], case, asked.units)

    return _Plan([case], page)


def _spark(case: Case, asked: Asked) -> _Plan:
    from enginesim.case.defaults.charge import STOICHIOMETRIC
    from enginesim.report.sheet_ignition import spark_page
    from enginesim.workshop.ignition import ignition

    mixtures = points.with_mixtures(case)

    def page(curves: list[Curve]) -> Page:
        own, best, *others = curves
        sheet = ignition(
            own,
            best,
            dict(zip(mixtures, others, strict=True)),
            afr_stoich=STOICHIOMETRIC[case.fuel.name],
            mode=case.spark.mode,
        )
        return spark_page(sheet, case, asked.units)

    return _Plan([case, points.with_best_spark(case), *mixtures.values()], page)


def _knock(case: Case, asked: Asked) -> _Plan:
    from enginesim.gas.fuels import FUELS
    from enginesim.report.sheet_ignition import knock_page
    from enginesim.workshop.compression import compression
    from enginesim.workshop.ignition import knock

    def page(curves: list[Curve]) -> Page:
        fuel, given = FUELS[case.fuel.name], case.fuel
        octane = 0.5 * (
            (given.octane_research or fuel.octane_research)
            + (given.octane_motor or fuel.octane_motor)
        )
        trapped = compression(case).trapped
        ratio = trapped[0].ratio if trapped else case.block.compression_ratio
        return knock_page(knock(curves[0], curves[1], octane, ratio), case, asked.units)

    return _Plan([case, points.with_best_spark(case)], page)


_PLANS = {
    "throttle": _throttle,
    "injector": _injector,
    "tubes": _tubes,
    "spark": _spark,
    "knock": _knock,
}
