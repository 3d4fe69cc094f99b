"""Carburettor or throttle body as a sheet: depression at full throttle, and what sizes cost."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from enginesim.report.sheet_cautions import cautions
from enginesim.report.sheet_page import Page
from enginesim.report.table import Table
from enginesim.report.units import SCALES
from enginesim.workshop.carburettor import CUSTOMARY_DEPRESSION

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from enginesim.case import Case
    from enginesim.report.units import System
    from enginesim.workshop.carburettor import ThrottleSheet

_LINES: Final = ("-", "--", "-.", ":")


def throttle_page(sheet: ThrottleSheet, case: Case, system: System) -> Page:
    """
    Sheet of the carburettor or throttle body.

    Parameters
    ----------
    sheet : ThrottleSheet
        Worked out.
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
        kind="throttle",
        title="Carburettor" if case.throttle.kind == "carburettor" else "Throttle body",
        engine=case.name,
        tables=(_depression(sheet, system), _power(sheet, system)),
        notes=_notes(sheet, case, system),
        cautions=cautions("throttle"),
        draw=lambda axes: _draw(axes, sheet, system),
    )


def _depression(sheet: ThrottleSheet, system: System) -> Table:
    shown = SCALES[system]["depression"]
    rows = tuple(
        (f"{rpm:.0f}", *(shown.text(size.depression[i]) for size in sheet.sizes))
        for i, rpm in enumerate(sheet.sizes[0].rpm)
    )
    labels = ("speed", *(_name(size.name, size.is_fitted) for size in sheet.sizes))
    units = ("rpm", *[shown.symbol] * len(sheet.sizes))
    return Table("Depression behind the wide-open throttle", labels, units, rows)


def _power(sheet: ThrottleSheet, system: System) -> Table:
    shown, most = SCALES[system]["power"], sheet.sizes[-1]
    rows = tuple(
        (
            f"{rpm:.0f}",
            shown.text(most.power[i], 1),
            *(shown.text(-size.lost[i], 1) for size in sheet.sizes[:-1]),
        )
        for i, rpm in enumerate(most.rpm)
    )
    labels = ("speed", _name(most.name, most.is_fitted),
              *(_name(size.name, size.is_fitted) for size in sheet.sizes[:-1]))  # fmt: skip
    units = ("rpm", shown.symbol, *[f"{shown.symbol} more"] * (len(sheet.sizes) - 1))
    return Table("Power of the largest, and what the others have beside it", labels, units, rows)


def _name(name: str, is_fitted: bool) -> str:
    return f"{name}*" if is_fitted else name


def _notes(sheet: ThrottleSheet, case: Case, system: System) -> tuple[str, ...]:
    depression, flow = SCALES[system]["depression"], SCALES[system]["air flow"]
    power = SCALES[system]["power"]
    low, high = CUSTOMARY_DEPRESSION
    fitted = next(size for size in sheet.sizes if size.is_fitted)
    at = int(np.argmin(np.abs(fitted.rpm - sheet.power_rpm)))
    there = float(fitted.depression[at])
    side = "within" if low <= there <= high else "below" if there < low else "ABOVE"
    span = f"{depression.text(low)} to {depression.with_unit(high)}"
    notes = [
        f"* fitted: {fitted.name}. At {sheet.power_rpm:.0f} rpm, where it gives most power, "
        f"{depression.with_unit(there)} of depression: {side} the {span} that people look for "
        "(estimate).",
        f"The selling rule (cubic inches x rpm x filling / 3456) asks for "
        f"{flow.with_unit(sheet.rule_flow[0])} with the filling that was simulated, "
        f"{flow.with_unit(sheet.rule_flow[1])} with 85 %. It says nothing of the rating's "
        "depression: four-barrels are rated at 1.5 inHg, one- and two-barrels at 3.0 inHg.",
    ]
    if len(sheet.sizes) > 1:
        smallest, i = sheet.sizes[0], int(np.argmax(sheet.sizes[0].lost))
        notes.append(
            f"{smallest.name} gives away up to {power.with_unit(float(smallest.lost[i]), 1)}, at "
            f"{smallest.rpm[i]:.0f} rpm. Signal, distribution and throttle response, which a small "
            "one has more of, are not simulated."
        )
    if sheet.halves:
        notes.append("Divided plenum: each half of the carburettor feeds half the engine.")
    if case.numerics.fidelity != "wave":
        notes.append("Simulated without waves in the ducts.")
    return tuple(notes)


def _draw(axes: Axes, sheet: ThrottleSheet, system: System) -> None:
    from enginesim.report.drawing import BLUE, GREEN, HALO, ORANGE, PURPLE, VERMILLION

    shown = SCALES[system]["depression"]
    low, high = (float(shown.of(p)) for p in CUSTOMARY_DEPRESSION)
    axes.axhspan(low, high, color=GREEN, alpha=0.12)
    colours = (VERMILLION, BLUE, PURPLE, ORANGE)
    for i, size in enumerate(sheet.sizes):
        y, colour = shown.of(size.depression), colours[i % len(colours)]
        axes.plot(size.rpm, y, color=colour, linestyle=_LINES[i % len(_LINES)], linewidth=1.8,
                  marker="o", markersize=3)  # fmt: skip
        axes.annotate(_name(size.name, size.is_fitted), (size.rpm[-1], float(y[-1])), (4, -3),
                      textcoords="offset points", color=colour, size=9,
                      annotation_clip=False, path_effects=HALO)  # fmt: skip
    span = float(sheet.sizes[0].rpm[-1] - sheet.sizes[0].rpm[0])
    axes.set_xlim(float(sheet.sizes[0].rpm[0]), float(sheet.sizes[0].rpm[-1]) + 0.12 * span)
    axes.text(float(sheet.sizes[0].rpm[0]), high, " looked for at most power", size=8, color=GREEN,
              va="bottom")  # fmt: skip
    axes.set_ylim(0, None)
    axes.set_xlabel("engine speed [rpm]")
    axes.set_ylabel(f"depression [{shown.symbol}]")
