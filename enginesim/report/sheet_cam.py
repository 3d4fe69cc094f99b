"""The cam card as a sheet: every event, the lobes, and what contradicts itself."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from enginesim.report.sheet_cautions import cautions
from enginesim.report.sheet_page import Page
from enginesim.report.table import Table
from enginesim.report.units import SCALES

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from enginesim.case import Case
    from enginesim.report.units import System
    from enginesim.workshop.cam_card import CamCard, CardRow

_EVENTS: Final = ("IO BTDC", "IC ABDC", "EO BBDC", "EC ATDC")
_OVERLAP: Final = (
    "Overlap at 0.006 in that people choose: towing 10 to 35, daily use 30 to 55, hot street from "
    "50 up (a public overlap page, credited to a tuning author)."
)
_STRONG: Final = math.radians(1.0)


def _degrees(angle: float) -> str:
    text = f"{math.degrees(angle):.1f}"
    return "0.0" if text == "-0.0" else text


def _height(value: float, system: System) -> str:
    return f"{value / 0.0254:.3f}" if system == "us" else f"{1e3 * value:.2f}"


def cam_page(card: CamCard, case: Case, system: System) -> Page:
    """
    Sheet of a cam card.

    Parameters
    ----------
    card : CamCard
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
    tables = [_events(card, case, system), _lobes(card, case, system)]
    if card.contradictions:
        tables.append(_contradictions(card))
    return Page(
        kind="cam",
        title="Cam card",
        engine=case.name,
        tables=tuple(tables),
        notes=_notes(card, case, system),
        cautions=cautions("cam"),
        draw=lambda axes: _draw(axes, card, system),
    )


def _events(card: CamCard, case: Case, system: System) -> Table:
    def row(line: CardRow) -> tuple[str, ...]:
        e = line.events
        angles = (e.duration_intake, e.duration_exhaust, e.io, e.ic, e.eo, e.ec, e.overlap)
        given = "card" if line.is_given else "lobe"
        return (_height(line.height, system), given, *map(_degrees, angles))

    place = case.cam.intake.measured_at
    labels = ("at", "from", "intake", "exhaust", *_EVENTS, "overlap")
    units = ("in" if system == "us" else "mm", "", *["deg"] * 7)
    return Table(
        f"Events at every checking height, measured at the {place}, crank degrees",
        labels,
        units,
        tuple(row(line) for line in card.rows),
    )


def _lobes(card: CamCard, case: Case, system: System) -> Table:
    length, cam = SCALES[system]["length"], case.cam
    sides = (cam.intake, cam.exhaust)

    def both(name: str, values: tuple[str, str]) -> tuple[str, str, str]:
        return (name, *values)

    def lengths(name: str, values: tuple[float, float]) -> tuple[str, str, str]:
        return both(name, (length.with_unit(values[0]), length.with_unit(values[1])))

    rows = [
        both(
            "centre of the lobe",
            (
                f"{_degrees(card.intake_centreline)} ATDC",
                f"{_degrees(card.exhaust_centreline)} BTDC",
            ),
        ),
        lengths("lobe lift", (sides[0].lobe_lift, sides[1].lobe_lift)),
        both("rocker ratio", (f"{sides[0].rocker_ratio:g}", f"{sides[1].rocker_ratio:g}")),
        lengths("valve lift, gross", (sides[0].valve_lift, sides[1].valve_lift)),
        lengths("lash", (sides[0].lash, sides[1].lash)),
        lengths("valve lift, net", card.net_lift),
        lengths("lift at top dead centre", card.lift_at_top),
    ]
    if card.spread is not None:
        rows.append(
            both(
                "0.006 in to 0.050 in, duration",
                (f"{_degrees(card.spread[0])} deg", f"{_degrees(card.spread[1])} deg"),
            )
        )
    return Table("Lobes", ("", "intake", "exhaust"), ("", "", ""), tuple(rows), is_numeric=False)


def _contradictions(card: CamCard) -> Table:
    rows = tuple(
        (
            c.name,
            f"{math.degrees(c.printed):.4g}",
            f"{math.degrees(c.implied):.4g}",
            f"{math.degrees(c.duration):.4g}",
            f"{math.degrees(c.centreline):.4g}",
        )
        for c in card.contradictions
    )
    labels = ("event", "printed", "implied", "or duration", "or centreline")
    return Table("THE CARD CONTRADICTS ITSELF, crank degrees", labels, ("",) * 5, rows)


def _notes(card: CamCard, case: Case, system: System) -> tuple[str, ...]:
    away = "advanced" if card.advance >= 0 else "retarded"
    turned = f"{abs(math.degrees(card.advance)):.3g} deg {away}"
    if abs(card.advance) < 1e-6:
        turned = "straight up"
    notes = [
        f"Lobe separation {math.degrees(card.lobe_separation):.4g} deg, intake centreline "
        f"{math.degrees(card.intake_centreline):.4g} deg: installed {turned}.",
        _OVERLAP,
    ]
    if any(not row.is_given for row in card.rows):
        notes.append(
            'Lines "from lobe" are of the smoothest lobe through the card, good to a few degrees; '
            'those "from card" are exact.'
        )
    notes += [
        f"{c.name} {math.degrees(c.printed):.4g} is printed, {math.degrees(c.implied):.4g} follows "
        f"from durations, separation and centreline; a duration of "
        f"{math.degrees(c.duration):.4g} or a centreline of {math.degrees(c.centreline):.4g} would "
        "agree with the print. The simulation uses durations, separation and centreline."
        for c in card.contradictions
    ]
    if case.cam.events is not None and not card.contradictions:
        at = SCALES[system]["length"].with_unit(case.cam.events.height)
        notes.append(f"The events printed for {at} agree with the rest of the card within 1 deg.")
    return tuple(notes)


def _draw(axes: Axes, card: CamCard, system: System) -> None:
    import numpy as np

    from enginesim.report.drawing import BLUE, GREY, SKY, VERMILLION

    curves, length = card.curves, SCALES[system]["length"]
    theta = np.degrees(curves.angle)
    intake, exhaust = length.of(curves.intake), length.of(curves.exhaust)
    axes.fill_between(theta, np.minimum(intake, exhaust), color=SKY, alpha=0.5, linewidth=0)
    axes.plot(theta, exhaust, color=VERMILLION, linestyle="--", linewidth=1.8)
    axes.plot(theta, intake, color=BLUE, linewidth=1.8)
    top = float(max(intake.max(), exhaust.max()))
    for place, name in ((180, "BDC"), (360, "TDC"), (540, "BDC")):
        axes.axvline(place, color=GREY, linewidth=0.8)
        axes.text(place, 1.08 * top, f" {name}", color=GREY, size=8, va="top")
    for line, lift, colour, name in (
        (theta[int(exhaust.argmax())], exhaust.max(), VERMILLION, "exhaust"),
        (theta[int(intake.argmax())], intake.max(), BLUE, "intake"),
    ):
        axes.annotate(name, (line, lift), (0, 4), textcoords="offset points", color=colour,
                      ha="center", size=9)  # fmt: skip
    axes.set_xlim(90, 630)
    axes.set_xticks(range(90, 631, 60))
    axes.set_ylim(0, 1.12 * top)
    axes.set_xlabel("crank angle after firing top dead centre [deg]")
    axes.set_ylabel(f"valve lift [{length.symbol}]")
