"""Compression as a sheet: by volumes, from intake closing, on the gauge."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from enginesim.report.sheet_cautions import cautions
from enginesim.report.sheet_page import Page
from enginesim.report.table import Table
from enginesim.report.units import SCALES, signed
from enginesim.workshop.compression import (
    CRANKING_EXPONENT,
    CUSTOMARY_QUENCH,
    CUSTOMARY_TRAPPED,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from enginesim.case import Case
    from enginesim.report.units import System
    from enginesim.workshop.compression import Compression


def compression_page(sheet: Compression, case: Case, system: System) -> Page:
    """
    Sheet of the compression.

    Parameters
    ----------
    sheet : Compression
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
    tables = [_volumes(sheet, system)]
    if sheet.trapped:
        tables.append(_trapped(sheet, case, system))
    tables.append(
        Table(
            "What would move it",
            ("", "ratio"),
            ("", ""),
            tuple((name, signed(change, 2)) for name, change in sheet.changes.items()),
            is_numeric=False,
        )
    )
    return Page(
        kind="compression",
        title="Compression",
        engine=case.name,
        tables=tuple(tables),
        notes=_notes(sheet, system),
        cautions=cautions("compression"),
        draw=lambda axes: _draw(axes, sheet, case),
    )


def _volumes(sheet: Compression, system: System) -> Table:
    cc, p = SCALES[system]["small volume"], SCALES[system]["cylinder pressure"]
    gauge = f"{p.text(sheet.cranking)} +- {p.text(sheet.cranking_band)} {p.symbol}"
    rows = [
        ("swept volume", cc.with_unit(sheet.swept)),
        ("volume at the top", cc.with_unit(sheet.clearance)),
        *((f"  of which {name}", cc.with_unit(v)) for name, v in sheet.pieces.items()),
        ("compression ratio", f"{sheet.ratio:.2f}"),
    ]
    if sheet.trapped:
        rows.append(("from intake closing at the seat", f"{sheet.trapped[0].ratio:.2f}"))
    rows.append(("gauge pressure while cranking", gauge))
    if sheet.quench is not None:
        rows.append(("piston to head, gasket crushed", SCALES[system]["length"].with_unit(
            sheet.quench)))  # fmt: skip
    return Table("One cylinder", ("", ""), ("", ""), tuple(rows), is_numeric=False)


def _trapped(sheet: Compression, case: Case, system: System) -> Table:
    length = SCALES[system]["length"]
    rows = tuple(
        (length.text(t.height), f"{math.degrees(t.closes):.1f}", f"{t.ratio:.2f}")
        for t in sheet.trapped
    )
    return Table(
        f"From intake closing, heights at the {case.cam.intake.measured_at}",
        ("at", "IC ABDC", "ratio"),
        (length.symbol, "deg", ""),
        rows,
    )


def _notes(sheet: Compression, system: System) -> tuple[str, ...]:
    scales = SCALES[system]
    low, high = CUSTOMARY_TRAPPED
    notes = []
    if sheet.trapped:
        notes.append(
            f"Trapped ratio {sheet.trapped[0].ratio:.2f}; {low:g} to {high:g} is what is commonly "
            "repeated for pump gasoline (bench talk, no limit: ask the knock sheet)."
        )
    barometer = scales["barometer"].with_unit(sheet.barometer)
    notes.append(
        f"Gauge: all plugs out, throttle open, barometer {barometer}; "
        f"exponent {CRANKING_EXPONENT} from workshop figures of one engine. A worn or cold engine "
        "reads less, and cylinders more than 10 % apart ask for a leak-down test (common practice)."
    )
    if sheet.quench is not None:
        span = " to ".join(scales["length"].with_unit(v) for v in CUSTOMARY_QUENCH)
        is_in = CUSTOMARY_QUENCH[0] <= sheet.quench <= CUSTOMARY_QUENCH[1]
        where = "within" if is_in else "OUTSIDE"
        notes.append(f"Piston to head is {where} what is wanted for a lively burn, {span}.")
    return tuple(notes)


def _draw(axes: Axes, sheet: Compression, case: Case) -> None:
    from enginesim.formulas.crank import trapped_ratio
    from enginesim.report.drawing import BLUE, GREEN, VERMILLION

    block = case.block
    angles = range(91)
    ratios = [
        trapped_ratio(
            sheet.ratio, math.radians(a), block.stroke, block.rod_length, block.pin_offset
        )
        for a in angles
    ]
    axes.axhspan(*CUSTOMARY_TRAPPED, color=GREEN, alpha=0.15)
    axes.text(1, CUSTOMARY_TRAPPED[0], " commonly repeated for pump gasoline", color=GREEN, size=8,
              va="bottom")  # fmt: skip
    axes.plot(list(angles), ratios, color=BLUE, linewidth=1.8)
    for i, trapped in enumerate(sheet.trapped):
        place = (math.degrees(trapped.closes), trapped.ratio)
        axes.plot(*place, "o", color=VERMILLION, markersize=5)
        name = "seat" if i == 0 else f"{trapped.height / 0.0254:.3f} in"
        axes.annotate(f"{name}: {trapped.ratio:.2f}", place, (6, 4), textcoords="offset points",
                      color=VERMILLION, size=9)  # fmt: skip
    axes.set_xlim(0, 90)
    axes.set_xlabel("intake closes after bottom dead centre [deg]")
    axes.set_ylabel("trapped ratio")
