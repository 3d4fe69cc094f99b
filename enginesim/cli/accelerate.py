"""`enginesim accelerate`: what a vehicle does on the road with one engine and with another."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from enginesim.cli.obtaining import store_options

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.base.errors import Problem
    from enginesim.case import Case
    from enginesim.report.road_table import RoadResult
    from enginesim.report.units import System
    from enginesim.study.obtain import Obtained
    from enginesim.vehicle import Vehicle

_SPEEDS = "1500:6500:500"
_FEWEST = 2
_MOST = 4
_TOO_FEW = 3
_INTERRUPTED = 130


@click.command(name="accelerate")
@click.argument(
    "cases", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="CASE..."
)
@click.option(
    "--vehicle",
    "vehicle_file",
    required=True,
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The vehicle: mass, drag, tyres, gears.",
)
@click.option(
    "--swap",
    "swaps",
    multiple=True,
    metavar="PART=FILE",
    help="The one case with a part exchanged, such as cam=parts/cam-228.toml, beside it.",
)
@click.option(
    "--set",
    "overrides",
    multiple=True,
    metavar="PATH=VALUE",
    help="Override a field of every case.",
)
@click.option(
    "--set-vehicle",
    "vehicle_overrides",
    multiple=True,
    metavar="PATH=VALUE",
    help="Override a field of the vehicle, such as gearbox.axle=3.9.",
)
@click.option(
    "--rpm",
    default=_SPEEDS,
    show_default=True,
    metavar="SPEC",
    help="Speeds of the torque curve: first:last:step, or a list parted by commas.",
)
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    metavar="DIR",
    help="Draw the pull in each gear and the run into a folder.",
)
@click.option("--units", type=click.Choice(["us", "si"]), default="us", show_default=True)
@click.option("--brief", is_flag=True, help="Leave out the list of what was assumed.")
@store_options
def command(
    cases: tuple[Path, ...],
    vehicle_file: Path,
    swaps: tuple[str, ...],
    overrides: tuple[str, ...],
    vehicle_overrides: tuple[str, ...],
    rpm: str,
    out: Path | None,
    units: System,
    brief: bool,
    store_file: Path | None,
    no_store: bool,
    jobs: int | None,
) -> int:
    """
    Put engines into a vehicle: acceleration times, changes up, pull in each gear.

    Exit code 0, 2 when the input is wrong, 3 when a case gave fewer than two speeds, 130 when
    interrupted.
    """
    from enginesim.cli.obtaining import obtained
    from enginesim.cli.paths import require_apart, require_writable
    from enginesim.cycle.speeds import parse

    require_writable("--out", out)
    asked = parse(rpm)
    if len(asked.rpm) < _FEWEST:
        raise click.UsageError(f"--rpm {rpm}: a torque curve needs two speeds or more")
    engines, vehicle = _load(cases, swaps, overrides, vehicle_file, vehicle_overrides)
    if len(engines) > _MOST:
        raise click.UsageError(f"{len(engines)} engines; up to {_MOST} side by side")
    require_apart({}, store=store_file, no_store=no_store)
    got = obtained(
        list(engines.values()),
        asked.rpm,
        store=store_file,
        no_store=no_store,
        jobs=jobs,
        units=units,
    )
    code = _INTERRUPTED if got.is_interrupted else 0
    usable = [_usable(part) for part in got.parts]
    for part, name, curve in zip(got.parts, engines, usable, strict=True):
        for speed, failure in sorted(part.failed.items()):
            click.echo(f"* {name}: {speed:.0f} rpm FAILED: {failure.reason}", err=True)
        if len(curve) < _FEWEST:
            told = f"{name}: speeds that converged: {len(curve)}; a torque curve needs two"
            click.echo(told, err=True)
            code = code or _TOO_FEW
    if not code:
        _show(engines, usable, vehicle, out, units, brief)
    return code


def _load(
    cases: Sequence[Path],
    swaps: Sequence[str],
    overrides: Sequence[str],
    vehicle_file: Path,
    vehicle_overrides: Sequence[str],
) -> tuple[dict[str, Case], Vehicle]:
    """Engines by name and vehicle, or everything that is wrong with them."""
    from dataclasses import replace

    from enginesim.base.errors import CaseError
    from enginesim.vehicle import load as load_vehicle

    problems: list[Problem] = []
    engines: dict[str, Case] = {}
    vehicle = None
    try:
        engines = _engines(cases, swaps, overrides)
    except CaseError as error:
        problems += error.problems
    try:
        vehicle = load_vehicle(vehicle_file, vehicle_overrides)
    except CaseError as error:
        problems += [
            replace(problem, place="--set-vehicle") if problem.place == "--set" else problem
            for problem in error.problems
        ]
    if problems or vehicle is None:
        raise CaseError(problems)
    return engines, vehicle


def _engines(
    cases: Sequence[Path], swaps: Sequence[str], overrides: Sequence[str]
) -> dict[str, Case]:
    """Engines by the name that they go under."""
    from enginesim.case import load
    from enginesim.study.swap import entry

    if len(cases) == 1 and not swaps:
        case = load(cases[0], overrides)
        return {case.name or cases[0].stem: case}
    entrants = entry(cases, swaps, overrides).entrants
    if swaps:
        base = entrants[0].case.name or cases[0].stem
        return {f"{base}, {each.label}": each.case for each in entrants}
    return {each.label: each.case for each in entrants}


def _usable(part: Obtained) -> list[tuple[float, float]]:
    """Speed and torque of what converged."""
    from enginesim.performance.quoting import is_quotable

    return [(rpm, point.torque) for rpm, point in part.points.items() if is_quotable(point)]


def _show(
    engines: dict[str, Case],
    curves: Sequence[Sequence[tuple[float, float]]],
    vehicle: Vehicle,
    out: Path | None,
    units: System,
    brief: bool,
) -> None:
    from enginesim.report.road_table import RoadResult
    from enginesim.vehicle import accelerate, pulls

    results = []
    for name, curve in zip(engines, curves, strict=True):
        rpm, torque = zip(*curve, strict=True)
        run = accelerate(vehicle, rpm, torque)
        results.append(RoadResult(name, run, tuple(pulls(vehicle, rpm, torque))))
    # First the chart, as whoever reads the tables may stop in the middle; but they are worth
    # reading without it too.
    try:
        written = _draw(results, vehicle, out, units) if out is not None else ()
    finally:
        _tell(engines, curves, results, vehicle, units, brief)
    if written:
        click.echo("\nWritten: " + ", ".join(map(str, written)))


def _tell(
    engines: dict[str, Case],
    curves: Sequence[Sequence[tuple[float, float]]],
    results: Sequence[RoadResult],
    vehicle: Vehicle,
    units: System,
    brief: bool,
) -> None:
    from enginesim.cli.screen import show_figures, show_lines, show_list
    from enginesim.report import road_table

    show_lines([vehicle.name or "vehicle without a name"])
    for i, (name, engine) in enumerate(engines.items()):
        air = f"{engine.air.pressure / 1e3:.1f} kPa, {engine.air.temperature - 273.15:.0f} degC"
        span = f"{curves[i][0][0]:.0f} to {curves[i][-1][0]:.0f} rpm"
        show_lines([f"{road_table.letter(i)}: {name} ({span}; in air of {air})"])
    show_figures(road_table.times(results, units))
    show_figures(road_table.gears(results, vehicle, units))
    show_list("Which is quicker", road_table.verdict(results))
    if brief:
        click.echo(f"\n{len(vehicle.assumed)} values of the vehicle assumed")
    else:
        from enginesim.report.table import assumed

        show_figures(assumed(vehicle, units))
    show_list("Cautions", _CAUTIONS)


_CAUTIONS = (
    "Times are of one driver who never errs, on tyres and a road that are assumed; differences "
    "between two engines in the same vehicle are much surer than the times.",
    "Prove it on a closed track. Brakes, tyres, driveline and local law stand above this table.",
)


def _draw(
    results: list[RoadResult], vehicle: Vehicle, out: Path, units: System
) -> tuple[Path, ...]:
    import numpy as np

    from enginesim.report.drawing import save
    from enginesim.report.road_figure import road_figure
    from enginesim.vehicle.traction import Driveline

    fastest = max(float(result.pulls[-1].speed[-1]) for result in results)
    line = Driveline(vehicle, [1000.0, 2000.0], [1.0, 1.0])
    speeds = np.linspace(0.0, fastest, 100)
    resistance = np.array([line.resistance(float(speed)) for speed in speeds])
    lines = (
        "Brake torque as simulated, uncorrected; the pull is shown as far as the tyres hold.",
        f"{len(vehicle.assumed)} values of the vehicle are assumed; one driver who never errs.",
    )
    try:
        figure = road_figure(results, vehicle, (speeds, resistance), lines, units)
        return save(figure, out / "road")
    except OSError as error:
        raise click.FileError(str(error.filename or out), error.strerror or str(error)) from error
