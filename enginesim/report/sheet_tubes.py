"""Headers and runners as a sheet: the trade's rules beside the simulation."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from enginesim.report.sheet_cautions import cautions
from enginesim.report.sheet_page import Page
from enginesim.report.table import Table
from enginesim.report.units import SCALES, signed
from enginesim.workshop.tubes import PRIMARY_SPEEDS

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from enginesim.case import Case
    from enginesim.performance import Curve
    from enginesim.report.units import System
    from enginesim.workshop.tubes import TubeSheet

_CLOSE: Final = 0.12


def tubes_page(sheet: TubeSheet, curve: Curve, case: Case, system: System) -> Page:
    """
    Sheet of headers and runners.

    Parameters
    ----------
    sheet : TubeSheet
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
        kind="tubes",
        title="Headers and runners",
        engine=case.name,
        tables=(_simulated(sheet, case, system), _rules(sheet), _parts(sheet, system)),
        notes=(*_notes(sheet, system), *_step_notes(sheet, curve)),
        cautions=cautions("tubes"),
        draw=lambda axes: _draw(axes, sheet, curve, system),
    )


def _simulated(sheet: TubeSheet, case: Case, system: System) -> Table:
    length, speed = SCALES[system]["length"], SCALES[system]["gas velocity"]
    rows = (
        ("most torque, simulated", f"{sheet.torque_rpm:.0f} rpm"),
        ("most power, simulated", f"{sheet.power_rpm:.0f} rpm"),
        ("best filling, simulated", f"{sheet.ve_rpm:.0f} rpm"),
        ("primary, inside", length.with_unit(case.exhaust.primary_diameter)),
        ("runner with port, mean section", length.with_unit(sheet.runner_diameter)),
        ("gas in the primary at most torque", speed.with_unit(sheet.gas_speed[0])),
        ("gas in the primary at most power", speed.with_unit(sheet.gas_speed[1])),
    )
    return Table("Engine", ("", ""), ("", ""), rows, is_numeric=False)


def _rules(sheet: TubeSheet) -> Table:
    rows = []
    for rule in sheet.rules:
        simulated = _peak(sheet, rule.of)
        rows.append(
            (
                rule.name,
                f"{rule.rpm:.0f}",
                f"{simulated:.0f} ({rule.of})",
                f"{signed(100 * (rule.rpm / simulated - 1))} %",
            )
        )
    labels = ("rule", "fits at rpm", "simulated peak", "apart")
    title = "For which speed the parts are right, by the rules"
    return Table(title, labels, ("",) * 4, tuple(rows), is_numeric=False)


def _peak(sheet: TubeSheet, of: str) -> float:
    return sheet.torque_rpm if of == "torque" else sheet.power_rpm


def _parts(sheet: TubeSheet, system: System) -> Table:
    length = SCALES[system]["length"]
    rows = tuple(
        (rule.part, *(length.with_unit(v, digits) for v in (rule.given, rule.wanted)), rule.name)
        for rule in sheet.rules
        for digits in (_digits(rule.part, system),)
    )
    labels = ("part", "fitted", "by the rule", "which rule")
    title = "What the rules would ask for at the simulated peak"
    return Table(title, labels, ("",) * 4, rows, is_numeric=False)


def _digits(part: str, system: System) -> int:
    """Lengths of pipes are cut to a tenth of an inch, diameters bought to a hundredth."""
    if system == "si":
        return 1 if "diameter" in part else 0
    return 2 if "diameter" in part else 1


def _notes(sheet: TubeSheet, system: System) -> tuple[str, ...]:
    speed = SCALES[system]["gas velocity"]
    low, high = PRIMARY_SPEEDS
    far = [rule.name for rule in sheet.rules if abs(rule.rpm / _peak(sheet, rule.of) - 1) > _CLOSE]
    notes = [
        f"The area rule wants {speed.text(low)} to {speed.with_unit(high)} in the primary at the "
        "torque peak. Its gas speed takes a cylinder's volume in half a turn.",
        "Longer primaries and runners give more below the peak and less above it; larger ones move "
        "the peak up (trade press). Where a rule and the simulation differ, the simulation knows "
        "the cam, the other cylinders and the collector, and the rule does not; neither has been "
        "measured on this engine.",
    ]
    notes += [f"{rule.name[0].upper()}{rule.name[1:]}: {rule.source}." for rule in sheet.rules]
    if far:
        notes.append(f"More than {100 * _CLOSE:.0f} % from the simulated peak: {', '.join(far)}.")
    return tuple(notes)


def _step_notes(sheet: TubeSheet, curve: Curve) -> tuple[str, ...]:
    """How well the simulated peaks are known, where that is worse than what is told of them."""
    rpm = curve["rpm"].tolist()
    notes = []
    for of in ("torque", "power"):
        rules = [rule for rule in sheet.rules if rule.of == of]
        peak = _peak(sheet, of)
        i = rpm.index(peak)
        if i in (0, len(rpm) - 1):
            if rules:
                notes.append(
                    f"Most {of} is at {peak:.0f} rpm, an end of the speeds that were simulated: "
                    "the peak may lie beyond."
                )
            continue
        step = max(rpm[i] - rpm[i - 1], rpm[i + 1] - rpm[i])
        within = [rule.name for rule in rules if abs(rule.rpm - peak) < step]
        if within:
            notes.append(
                f"Around the peak of {of} the speeds are {step:.0f} rpm apart, so that it is only "
                f"known to half a step, {peak:.0f} +- {step / 2:.0f} rpm "
                f"(+-{50 * step / peak:.0f} %). That is to be borne in mind with: "
                f"{'; '.join(within)}. Closer speeds (--rpm) tell more."
            )
    return tuple(notes)


def _draw(axes: Axes, sheet: TubeSheet, curve: Curve, system: System) -> None:
    from enginesim.report.drawing import BLUE, GREEN, HALO, ORANGE, PURPLE, VERMILLION

    shown = SCALES[system]["torque"]
    torque = shown.of(curve["torque"])
    axes.plot(curve["rpm"], torque, color=BLUE, linewidth=2.0, marker="o", markersize=3)
    low, high = float(curve["rpm"][0]), float(curve["rpm"][-1])
    bottom, top = 0.8 * float(torque.min()), 1.15 * float(torque.max())
    colours = (VERMILLION, GREEN, PURPLE, ORANGE)
    beyond = []
    for i, (rule, colour) in enumerate(zip(sheet.rules, colours, strict=False)):
        if not low <= rule.rpm <= high:
            beyond.append(f"{rule.name}: {rule.rpm:.0f} rpm")
            continue
        axes.axvline(rule.rpm, color=colour, linestyle="--", linewidth=1.2)
        right = rule.rpm > 0.5 * (low + high)
        height = bottom + (0.05 + 0.075 * i) * (top - bottom)
        axes.text(rule.rpm, height, f" {rule.name} ", size=8, color=colour,
                  ha="right" if right else "left", path_effects=HALO)  # fmt: skip
    if beyond:
        axes.text(0.01, 0.97, "off the chart: " + "; ".join(beyond), transform=axes.transAxes,
                  size=8, va="top")  # fmt: skip
    axes.set_xlim(low, high)
    axes.set_ylim(bottom, top)
    axes.set_xlabel("engine speed [rpm]")
    axes.set_ylabel(f"torque, simulated [{shown.symbol}]")
