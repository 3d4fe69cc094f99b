"""Under which conditions does a result hold, how well did it close, and what was assumed?"""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Final

from enginesim.base.constants import P_J1349, T_J1349
from enginesim.performance.friction import DESCRIPTIONS
from enginesim.performance.knocking import caution, margins
from enginesim.performance.quoting import is_quotable
from enginesim.report.units import SCALES, scale

if TYPE_CHECKING:
    from enginesim.base.provenance import Provenance
    from enginesim.case import Case
    from enginesim.performance import Curve
    from enginesim.report.units import System

# Within what a barometer and a thermometer of a test cell tell apart.
_SAME_PRESSURE, _SAME_TEMPERATURE = 50.0, 0.3


def air(case: Case, system: System) -> str:
    """
    Air of the test cell, and whether anything was corrected.

    Parameters
    ----------
    case : Case
        The engine on its day.
    system : {"us", "si"}
        Units.

    Returns
    -------
    str
        One sentence.
    """
    p = SCALES[system]["barometer"].with_unit(case.air.pressure)
    t = SCALES[system]["temperature"].with_unit(case.air.temperature)
    is_reference = (
        abs(case.air.pressure - P_J1349) < _SAME_PRESSURE
        and abs(case.air.temperature - T_J1349) < _SAME_TEMPERATURE
        and case.air.humidity == 0.0
    )
    known = "reference air of SAE J1349, factor 1" if is_reference else "no correction applied"
    return f"Air {p}, {t}, humidity {100 * case.air.humidity:.0f} %: {known}"


def charge(case: Case, curve: Curve) -> str:
    """
    Fuel, where it goes in, and the mixture.

    Parameters
    ----------
    case : Case
        The engine.
    curve : Curve
        Its results.

    Returns
    -------
    str
        One sentence.
    """
    kept = curve.quotable
    if kept is None:  # what is asked for is all that is known
        wanted = [case.mixture.at(point.rpm) for point in curve.points]
    else:
        wanted = list(kept["lambda_overall"])
    least, most = (f"{f(wanted):.2f}" for f in (min, max))
    mixture = least if least == most else f"{least} to {most}"
    ways = {"carburettor": "by carburettor", "port": "into the port", "direct": "into the cylinder"}
    return f"Fuel {case.fuel.name}, {ways[case.fuel.delivery]}, lambda {mixture}"


def friction(case: Case) -> str:
    """
    Friction law behind the brake figures.

    Parameters
    ----------
    case : Case
        The engine.

    Returns
    -------
    str
        One sentence.
    """
    text = DESCRIPTIONS[case.friction.model]
    if case.friction.multiplier != 1.0:
        text += f" x {case.friction.multiplier:g}"
    waves = "" if case.numerics.fidelity == "wave" else "; filling only, no waves in the ducts"
    return f"{text[0].upper()}{text[1:]}{waves}"


def origin(provenance: Provenance) -> str:
    """
    Program, version, case and day.

    Parameters
    ----------
    provenance : Provenance
        Stamp of the result.

    Returns
    -------
    str
        One sentence without a full stop.
    """
    return (
        f"enginesim {provenance.version}, physics {provenance.physics_version},"
        f" case {provenance.case_digest[:8]}, {provenance.date[:10]}"
    )


def conditions(case: Case, curve: Curve, provenance: Provenance, system: System) -> tuple[str, ...]:
    """
    All of the above, for the foot of a table or a chart.

    Parameters
    ----------
    case : Case
        The engine on its day.
    curve : Curve
        Its results.
    provenance : Provenance
        Stamp of the result.
    system : {"us", "si"}
        Units.

    Returns
    -------
    tuple of str
        Lines.
    """
    return (air(case, system), charge(case, curve), friction(case), origin(provenance))


def peaks(curve: Curve, system: System) -> tuple[str, ...]:
    """
    Highest torque and power, and the averages, over the speeds that converged.

    Parameters
    ----------
    curve : Curve
        Results.
    system : {"us", "si"}
        Units.

    Returns
    -------
    tuple of str
        One line, two where there are several speeds.
    """
    kept = curve.quotable
    if kept is None:
        return ("Highest: none, because no speed converged",)
    tops, means = [], []
    low, high = kept.points[0].rpm, kept.points[-1].rpm
    for name in ("torque", "power"):
        shown = scale(name, system).finer(kept[name])
        rpm, value = kept.peak(name)
        tops.append(f"{name} {shown.with_unit(value)} at {rpm:.0f} rpm")
        if low < high:
            means.append(f"{name} {shown.with_unit(kept.average(name, low, high), 1)}")
    lines = [f"Highest: {', '.join(tops)}"]
    if means:
        lines.append(f"Average {low:.0f}-{high:.0f} rpm: {', '.join(means)}")
    return tuple(lines)


# Figures that a speed may not have, and why.
_GAPS: Final = (
    ("bsfc", "BSFC", "the engine gives no power"),
    ("egt", "EGT", "hardly any exhaust flows out"),
)
_MOST_SPEEDS: Final = 6


def gaps(curve: Curve) -> tuple[str, ...]:
    """
    Why a figure is missing in the tables, where a dash stands.

    Parameters
    ----------
    curve : Curve
        Results.

    Returns
    -------
    tuple of str
        A line for each figure that is missing at some speed.
    """
    lines = []
    for field, name, why in _GAPS:
        speeds = [f"{p.rpm:.0f}" for p in curve.points if is_quotable(p) and not isfinite(p[field])]
        if speeds:
            more = len(speeds) - _MOST_SPEEDS
            listed = ", ".join(speeds[:_MOST_SPEEDS]) + (f" and {more} more" if more > 0 else "")
            lines.append(f"No {name} at {listed} rpm: {why}")
    return tuple(lines)


def knocking(case: Case, curve: Curve) -> tuple[str, ...]:
    """
    Warn where a spark that nobody searched for knocks.

    Parameters
    ----------
    case : Case
        The engine.
    curve : Curve
        Its results.

    Returns
    -------
    tuple of str
        One sentence, or none.
    """
    text = caution(margins(curve.points)) if case.spark.mode == "schedule" else ""
    return (text,) if text else ()


def audit(curve: Curve) -> tuple[str, ...]:
    """
    How the simulations ended and how well their books close.

    Parameters
    ----------
    curve : Curve
        Results.

    Returns
    -------
    tuple of str
        Two lines for all, one for each speed that did not become periodic, or only two by two, or
        would not stay so.
    """
    failed = [point for point in curve.points if not is_quotable(point)]
    cycles = sorted(point.cycles for point in curve.points)
    spanned = f"{cycles[0]}" if cycles[0] == cycles[-1] else f"{cycles[0]} to {cycles[-1]}"
    n = len(curve.points)
    wavering = [
        point
        for point in curve.points
        if is_quotable(point) and point.ending in ("alternating", "unsteady")
    ]
    found = n - len(failed) - len(wavering)
    periodic = f"{found} of {n} speeds periodic ({spanned} cycles)"
    mass, energy, imbalance = (
        max(abs(value) for value in curve[name])
        for name in ("mass_error", "energy_error", "imbalance")
    )
    books = (
        f"Books close to {mass:.0e} of the air and {energy:.0e} of the fuel's heat; "
        f"imbalance up to {imbalance:.0e}"
    )
    lines = [periodic, books]
    lines += [
        f"* {point.rpm:.0f} rpm NOT CONVERGED, no figures: {point.status}" for point in failed
    ]
    lines += [f"Caution: {point.rpm:.0f} rpm, {point.status}" for point in wavering]
    return tuple(lines)
