"""Spark, mixture and knock as sheets: what to set, and how far it is from trouble."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from enginesim.report.sheet_cautions import cautions
from enginesim.report.sheet_page import Page
from enginesim.report.table import Table
from enginesim.report.units import SCALES, signed
from enginesim.workshop.ignition import CUSTOMARY_AIMS, CUSTOMARY_SPARK, MOST_SPARK

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from enginesim.case import Case
    from enginesim.report.units import System
    from enginesim.workshop.ignition import IgnitionSheet, KnockSheet


def spark_page(sheet: IgnitionSheet, case: Case, system: System) -> Page:
    """
    Sheet of spark and mixture.

    Parameters
    ----------
    sheet : IgnitionSheet
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
        kind="spark",
        title="Spark and mixture",
        engine=case.name,
        tables=(_settings(sheet, system), _mixtures(sheet, system)),
        notes=_spark_notes(sheet, system),
        cautions=cautions("spark"),
        draw=lambda axes: _draw_spark(axes, sheet),
    )


def _settings(sheet: IgnitionSheet, system: System) -> Table:
    torque = SCALES[system]["torque"]
    rows = tuple(
        (
            f"{rpm:.0f}",
            *(f"{math.degrees(v[i]):.1f}" for v in (sheet.spark, sheet.best)),
            torque.text(sheet.lost[i], 1),
            *(f"{math.degrees(v[i]):.1f}" for v in (sheet.ca50, sheet.theta_p_max)),
            f"{sheet.lambda_[i]:.3f}",
            f"{sheet.afr[i]:.2f}",
        )
        for i, rpm in enumerate(sheet.rpm)
    )
    labels = ("speed", "spark", "best", "lost", "CA50", "peak p at", "lambda", "air/fuel")
    units = ("rpm", "deg BTDC", "deg BTDC", torque.symbol, "deg", "deg ATDC", "", "")
    return Table("Full load", labels, units, rows)


def _mixtures(sheet: IgnitionSheet, system: System) -> Table:
    torque = SCALES[system]["torque"]
    changes = sorted(sheet.other_mixtures)
    rows = tuple(
        (
            f"{rpm:.0f}",
            torque.text(sheet.torque[i], 1),
            *(signed(float(torque.of(sheet.other_mixtures[c][i])), 1) for c in changes),
        )
        for i, rpm in enumerate(sheet.rpm)
    )
    words = [f"lambda {c:+.2f}" for c in changes]
    labels = ("speed", "torque", *words)
    units = ("rpm", torque.symbol, *[torque.symbol] * len(changes))
    return Table("What another mixture would give", labels, units, rows)


def _spark_notes(sheet: IgnitionSheet, system: System) -> tuple[str, ...]:
    torque = SCALES[system]["torque"]
    worst = int(np.argmax(sheet.lost))
    low, high = (math.degrees(angle) for angle in CUSTOMARY_SPARK)
    aims = ", ".join(f"{name} {aim:g}" for name, aim in CUSTOMARY_AIMS.items())
    notes = [
        f"Spark is {sheet.mode} in the case. It gives away up to "
        f"{torque.with_unit(max(float(sheet.lost[worst]), 0.0), 1)}, at {sheet.rpm[worst]:.0f} "
        "rpm, against the spark of most torque.",
        f"Workshop totals at full load are {low:.0f} to {high:.0f} deg, never past "
        f"{math.degrees(MOST_SPARK):.0f}, less for compact chambers (usage). The best spark "
        "follows from the assumed pace of the burn: it moves with that, degree for degree.",
        f"Air to gasoline at full throttle that one maker of control units aims at: {aims}.",
    ]
    if np.any(sheet.best > MOST_SPARK):
        notes.append(
            f"Best spark beyond {math.degrees(MOST_SPARK):.0f} deg at some speeds: the burn that "
            "the case assumes is slow for it. Do not set it on trust."
        )
    return tuple(notes)


def _draw_spark(axes: Axes, sheet: IgnitionSheet) -> None:
    from enginesim.report.drawing import BLUE, GREEN, HALO, VERMILLION

    low, high = (math.degrees(angle) for angle in CUSTOMARY_SPARK)
    axes.axhspan(low, high, color=GREEN, alpha=0.12)
    axes.text(float(sheet.rpm[0]), low, " workshop totals", size=8, color=GREEN, va="bottom")
    # Named where the two lines are farthest apart, if that is not an end.
    gap = np.array(sheet.best - sheet.spark)
    if len(gap) > 2:
        gap[[0, -1]] = -np.inf
    i = int(np.argmax(gap))
    for values, colour, dash, name, away, side in (
        (sheet.best, VERMILLION, "--", "most torque", (-4, 6), "right"),
        (sheet.spark, BLUE, "-", "as set", (4, -13), "left"),
    ):
        y = np.degrees(values)
        axes.plot(sheet.rpm, y, color=colour, linestyle=dash, linewidth=1.8, marker="o",
                  markersize=3)  # fmt: skip
        axes.annotate(name, (sheet.rpm[i], y[i]), away, textcoords="offset points",
                      color=colour, size=9, ha=side, path_effects=HALO)  # fmt: skip
    lowest = min(low, float(np.degrees(sheet.spark).min()))
    highest = max(high, float(np.degrees(sheet.best).max()))
    axes.set_ylim(lowest - 4, highest + 4)
    axes.set_xlabel("engine speed [rpm]")
    axes.set_ylabel("spark BTDC [deg]")


def knock_page(sheet: KnockSheet, case: Case, system: System) -> Page:
    """
    Sheet of the knock margin.

    Parameters
    ----------
    sheet : KnockSheet
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
        kind="knock",
        title="Knock margin",
        engine=case.name,
        tables=(_margins(sheet, system),),
        notes=_knock_notes(sheet, case),
        cautions=cautions("knock"),
        draw=lambda axes: _draw_knock(axes, sheet),
    )


def _margins(sheet: KnockSheet, system: System) -> Table:
    pressure = SCALES[system]["cylinder pressure"]
    rows = tuple(
        (
            f"{rpm:.0f}",
            f"{math.degrees(sheet.spark[i]):.1f}",
            f"{math.degrees(sheet.margin[i]):+z.1f}",
            f"{sheet.octane_margin[i]:+z.1f}",
            f"{sheet.octane_needed[i]:.1f}",
            f"{sheet.octane_best[i]:.1f}",
            pressure.text(sheet.p_max[i]),
        )
        for i, rpm in enumerate(sheet.rpm)
    )
    labels = ("speed", "spark", "margin", "to spare", "needed", "needed, best spark", "peak p")
    octane = "octane"
    units = ("rpm", "deg BTDC", "deg", octane, octane, octane, pressure.symbol)
    return Table("Full load, worst cylinder", labels, units, rows)


def _knock_notes(sheet: KnockSheet, case: Case) -> tuple[str, ...]:
    least = int(np.nanargmin(sheet.octane_margin))
    notes = [
        f"Fuel {case.fuel.name}, {sheet.octane:.1f} (R+M)/2; trapped ratio "
        f"{sheet.trapped_ratio:.2f}. Least to spare: {sheet.octane_margin[least]:+z.1f} octane and "
        f"{math.degrees(sheet.margin[least]):+z.1f} deg of spark, at {sheet.rpm[least]:.0f} rpm.",
        "Margin: spark that could be added before the worst cylinder knocks; near zero where the "
        "case's spark is held at the knock limit. Octane is (R+M)/2: what the fuel could be worse, "
        "what is needed with the spark used, and with the spark of most torque.",
        f"With the spark of most torque it would need {np.nanmax(sheet.octane_best):.1f} octane.",
    ]
    if np.nanmin(sheet.octane_margin) < -0.05:
        where = ", ".join(
            f"{rpm:.0f}"
            for rpm, margin in zip(sheet.rpm, sheet.octane_margin, strict=True)
            if margin < -0.05
        )
        notes.append(f"KNOCK at {where} rpm with this spark and fuel, by the model.")
    if case.spark.mode == "knock limited":
        notes.append(
            "The spark is held back where it must be: the spark sheet says what that costs."
        )
    return tuple(notes)


def _draw_knock(axes: Axes, sheet: KnockSheet) -> None:
    from enginesim.report.drawing import BLUE, GREY, HALO, ORANGE, VERMILLION

    axes.axhline(sheet.octane, color=GREY, linewidth=1.2, linestyle="--")
    axes.annotate(f"fuel, {sheet.octane:.1f}", (float(sheet.rpm[0]), sheet.octane), (2, 3),
                  textcoords="offset points", size=9, color=GREY, path_effects=HALO)  # fmt: skip
    for values, colour, dash, name, up in (
        (sheet.octane_best, ORANGE, "--", "with the spark of most torque", 9),
        (sheet.octane_needed, BLUE, "-", "with the spark used", -14),
    ):
        axes.plot(sheet.rpm, values, color=colour, linestyle=dash, linewidth=1.8, marker="o",
                  markersize=3)  # fmt: skip
        middle = (len(sheet.rpm) - 1) // 2
        axes.annotate(name, (sheet.rpm[middle], values[middle]), (6, up), color=colour, size=9,
                      textcoords="offset points", ha="left", path_effects=HALO)  # fmt: skip
    short = sheet.octane_needed > sheet.octane + 0.05
    if np.any(short):
        axes.plot(sheet.rpm[short], sheet.octane_needed[short], "x", color=VERMILLION,
                  markersize=9)  # fmt: skip
    low = float(np.nanmin(sheet.octane_needed))
    high = max(
        sheet.octane, *(float(np.nanmax(v)) for v in (sheet.octane_needed, sheet.octane_best))
    )
    margin = max(1.0, 0.15 * (high - low))
    axes.set_ylim(low - margin, high + margin)
    axes.set_xlabel("engine speed [rpm]")
    axes.set_ylabel("octane needed, (R+M)/2")
