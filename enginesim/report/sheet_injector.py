"""Injectors and pump as a sheet: what the computed fuel flow asks for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from enginesim.base.units import from_si
from enginesim.report.sheet_cautions import cautions
from enginesim.report.sheet_page import Page
from enginesim.report.table import Table
from enginesim.report.units import SCALES
from enginesim.workshop.injectors import (
    CUSTOMARY_BSFC,
    CUSTOMARY_DUTY,
    PRESSURES,
    PUMP_RESERVE,
    RATED_PRESSURE,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from enginesim.case import Case
    from enginesim.performance import Curve
    from enginesim.report.units import System
    from enginesim.workshop.injectors import InjectorSheet


def injector_page(sheet: InjectorSheet, curve: Curve, case: Case, system: System) -> Page:
    """
    Sheet of injectors and pump.

    Parameters
    ----------
    sheet : InjectorSheet
        Worked out.
    curve : Curve
        Results that it rests on.
    case : Case
        The engine.
    system : {"us", "si"}
        Units.

    Returns
    -------
    Page
        Ready for a screen or paper.
    """
    return Page(
        kind="injector",
        title="Injectors and fuel pump",
        engine=case.name,
        tables=(_sizes(sheet), _flows(sheet, curve, system)),
        notes=_notes(sheet, case, system),
        cautions=cautions("injector"),
        draw=lambda axes: _draw(axes, sheet, curve, system),
    )


def _flow(flow: float, density: float) -> str:
    return f"{from_si(flow, 'lb/h'):.1f} lb/h, {from_si(flow / density, 'cc/min'):.0f} cc/min"


def _pressure(pressure: float) -> str:
    return f"{from_si(pressure, 'psi'):.1f} psi ({pressure / 1e5:.1f} bar)"


def _sizes(sheet: InjectorSheet) -> Table:
    rows = [
        ("most fuel", f"{_flow(sheet.fuel_flow, sheet.density)} at {sheet.rpm:.0f} rpm"),
        ("injectors", f"{sheet.n}, open {100 * sheet.duty:.0f} % of the time at most"),
    ]
    rows += [
        (f"rated flow of each, rail at {_pressure(pressure)}", _flow(size, sheet.density))
        for pressure, size in zip(PRESSURES, sheet.size, strict=True)
    ]
    hourly = from_si(sheet.pump / sheet.density, "L/h")
    gallons = from_si(sheet.pump / sheet.density, "gal/h")
    rows += [
        ("by the rule of thumb instead", _flow(sheet.rule_size, sheet.density)),
        (
            f"pump, at rail pressure, {100 * (PUMP_RESERVE - 1):.0f} % to spare",
            f"{hourly:.0f} L/h, {gallons:.0f} US gal/h",
        ),
    ]
    title = f"Sizes; injectors are rated at {_pressure(RATED_PRESSURE)}"
    return Table(title, ("", ""), ("", ""), tuple(rows), is_numeric=False)


def _flows(sheet: InjectorSheet, curve: Curve, system: System) -> Table:
    fuel, power = SCALES[system]["fuel flow"], SCALES[system]["power"]
    consumption = SCALES[system]["consumption"]
    capacity = sheet.fuel_flow / sheet.duty
    rows = tuple(
        (
            f"{point.rpm:.0f}",
            power.text(point.power),
            fuel.text(point.fuel_flow),
            consumption.text(point.bsfc),
            f"{100 * point.fuel_flow / capacity:.0f}",
        )
        for point in curve.points
    )
    labels = ("speed", "power", "fuel", "BSFC", "duty")
    units = ("rpm", power.symbol, fuel.symbol, consumption.symbol, "%")
    return Table("Fuel against speed, with injectors of that size", labels, units, rows)


def _notes(sheet: InjectorSheet, case: Case, system: System) -> tuple[str, ...]:
    rule = SCALES[system]["consumption"].with_unit(CUSTOMARY_BSFC)
    power = SCALES[system]["power"].with_unit(sheet.power)
    notes = [
        f"The fuel flow is the simulated one, at lambda as the case has it; the rule of thumb "
        f"takes {rule} at {power} instead (no blower, rich).",
        "Flow grows as the root of the pressure across the injector. Take the next size up.",
        f"Fuel {case.fuel.name}, {sheet.density:.0f} kg/m3; catalogues of cc/min at 720 kg/m3 "
        "read 10.5 cc/min for 1 lb/h.",
    ]
    if case.fuel.delivery == "carburettor":
        notes.insert(0, "The case has a carburettor: this is what injection would need.")
    if sheet.duty > CUSTOMARY_DUTY + 0.05:
        notes.append(f"More than {100 * CUSTOMARY_DUTY:.0f} to 85 % of duty is against custom.")
    return tuple(notes)


def _draw(axes: Axes, sheet: InjectorSheet, curve: Curve, system: System) -> None:
    from enginesim.report.drawing import BLUE, GREY, VERMILLION

    shown = SCALES[system]["fuel flow"]
    axes.plot(curve["rpm"], shown.of(curve["fuel_flow"]), color=BLUE, linewidth=1.8, marker="o",
              markersize=3)  # fmt: skip
    whole = float(shown.of(sheet.fuel_flow / sheet.duty))
    left = float(curve["rpm"][0])
    for height, name, colour in (
        (whole, "injectors always open", VERMILLION),
        (whole * sheet.duty, f"open {100 * sheet.duty:.0f} % of the time", GREY),
    ):
        axes.axhline(height, color=colour, linewidth=1.0, linestyle="--")
        axes.annotate(name, (left, height), (2, 3), textcoords="offset points", size=8,
                      color=colour)  # fmt: skip
    axes.set_ylim(0, 1.15 * whole)
    axes.set_xlabel("engine speed [rpm]")
    axes.set_ylabel(f"fuel [{shown.symbol}]")
