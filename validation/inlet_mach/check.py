"""Filling against inlet Mach index of six engines without tuned pipes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure

from validation.drawing import COLOURS, GREY, MARKS, label, legend, panels
from validation.engines import curve, engine
from validation.folder import Folder, Found
from validation.judgement import Row

#: Pipes too short to tune, and one cam for all: the index alone may matter.
PLAIN = (
    "intake.runner_lengths=0 mm",
    "exhaust.primary_lengths=50 mm",
    "head.valvetrain=ohv",
    "cam.intake.durations=256 @ 0.3 mm, 216 @ 1.27 mm",
    "cam.exhaust.durations=256 @ 0.3 mm, 216 @ 1.27 mm",
    "cam.lobe_separation=112",
    "cam.intake_centreline=110",
    "spark.mode=schedule",
    "spark.advance=25",
)
LIFT = np.array([2.0, 4.0, 6.0, 8.0, 10.0, 12.0])  # of an engine of 86 mm bore [mm]
TWO_VALVE = np.array([17.8, 35.0, 51.0, 64.5, 74.0, 79.0])  # intake flow at 7 kPa [L/s]
FOUR_VALVE = np.array([28.0, 55.0, 78.0, 92.0, 100.0, 101.0])
EXHAUST = 0.78
SCALES = (1.25, 0.9, 0.65, 0.5, 0.4, 0.32, 0.26)


@dataclass(frozen=True)
class Kind:
    """An engine: bore and stroke [mm], speed at which its flow is varied [rpm], its valves."""

    bore: float
    stroke: float
    rpm: float
    is_four_valve: bool


KINDS = {
    "86 x 86, 4 valves, 4000 rpm": Kind(86.0, 86.0, 4000.0, is_four_valve=True),
    "86 x 86, 2 valves, 3000 rpm": Kind(86.0, 86.0, 3000.0, is_four_valve=False),
    "70 x 60, 4 valves, 7000 rpm": Kind(70.0, 60.0, 7000.0, is_four_valve=True),
    "102 x 88, 2 valves, 3000 rpm": Kind(102.0, 88.0, 3000.0, is_four_valve=False),
    "80 x 100, 4 valves, 3500 rpm": Kind(80.0, 100.0, 3500.0, is_four_valve=True),
    "130 x 130, 4 valves, 2200 rpm": Kind(130.0, 130.0, 2200.0, is_four_valve=True),
}
FAST = ("86 x 86, 4 valves, 4000 rpm",)


def tasks(fast: bool) -> list[tuple[str, float]]:
    """Engine and part of its flow."""
    names = FAST if fast else KINDS
    scales = (1.0, 0.65, 0.4, 0.26) if fast else SCALES
    return [(name, scale) for name in names for scale in scales]


def _changes(kind: Kind, scale: float) -> tuple[str, ...]:
    """Everything in proportion to the bore, flow also to `scale`."""
    size = kind.bore / 86.0
    flow = scale * size**2 * (FOUR_VALVE if kind.is_four_valve else TWO_VALVE)
    lifts = " ".join(f"{size * x:.3f}" for x in LIFT)
    n, intake, exhaust = (2, 34.0, 29.0) if kind.is_four_valve else (1, 43.0, 35.0)
    # 1.25 times the effective area of the best flow (10.3 L/s a square centimetre at 7 kPa), so
    # that the port is no throat.
    port = 1.25 * float(flow.max()) / 10.3
    pipe = 10.0 * math.sqrt(4.0 / math.pi * port)
    changes = [
        f"block.bore={kind.bore} mm",
        f"block.stroke={kind.stroke} mm",
        f"block.rod_length={1.66 * kind.stroke:.1f} mm",
        f"intake.runner_stations={pipe:.2f} mm @ 0, {pipe:.2f} mm @ 1",
        f"exhaust.primary_diameter={pipe:.2f} mm",
    ]
    for side, diameter, part in (("intake", intake, 1.0), ("exhaust", exhaust, EXHAUST)):
        text = " ".join(f"{part * x:.3f}" for x in flow)
        changes += [
            f"head.{side}.n_valves={n}",
            f"head.{side}.valve_diameter={size * diameter:.2f} mm",
            f"head.{side}.sheet.lift={lifts} mm",
            f"head.{side}.sheet.flow={text} L/s",
            f"head.{side}.port_length={size * 75:.1f} mm",
            f"head.{side}.port_area_min={0.99 * part * port:.3f} cm2",
            f"cam.{side}.valve_lift={size * 11.5:.3f} mm",
        ]
    changes.append(f"head.intake.port_flange_diameter={pipe:.2f} mm")
    return (*PLAIN, *changes)


def work(task: tuple[str, float]) -> tuple[float, float]:
    """Inlet Mach index and filling."""
    name, scale = task
    kind = KINDS[name]
    found = curve(engine("teaching-single", _changes(kind, scale)), [kind.rpm])
    return float(found["inlet_mach"][0]), float(found["ve"][0])


def _by_engine(found: Found) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Index, rising, and filling over the engine's best."""
    answer = {}
    for name in KINDS:
        points = sorted(value for (n, _), value in found.items() if n == name)
        if points:
            index, filling = np.array(points).T
            answer[name] = (index, filling / filling.max())
    return answer


def rows(folder: Folder, found: Found) -> list[Row]:
    """Plateau, knee, level at one; scatter of the engines about one curve."""
    curves = _by_engine(found)
    names = list(curves)
    half = [float(np.interp(0.5, *c)) for c in curves.values()]
    one = [float(np.interp(1.0, *c)) for c in curves.values()]
    knee = []
    for index, part in curves.values():
        i = int(part.argmax())
        knee.append(float(np.interp(-0.95, -part[i:], index[i:])))
    answer = [
        folder.points("plateau", names, half),
        folder.points("knee", names, knee),
        folder.points("one", names, one),
    ]
    if len(curves) > 1:
        at = np.linspace(0.4, 1.0, 7)
        table = np.array([np.interp(at, *c) for c in curves.values()])
        answer.append(folder.row("one_curve", float(np.sqrt(np.mean(np.var(table, axis=0))))))
    return answer


def figure(folder: Folder, found: Found) -> Figure:
    """All engines on one chart."""
    drawn, (axes,) = panels(1, 1, title=folder.title, height=4.2)
    for k, (name, (index, part)) in enumerate(_by_engine(found).items()):
        axes.plot(index, part, f"{MARKS[k]}-", color=COLOURS[k], ms=5, lw=0.8, label=name)
    axes.axvspan(0.5, 0.6, color=GREY, alpha=0.15, lw=0)
    axes.text(0.55, 0.62, "published\nknee", ha="center", fontsize=8, color=GREY)
    axes.plot([1.0, 1.0], [0.65, 0.80], color=GREY, lw=3, alpha=0.5)
    axes.text(1.02, 0.72, "published level at 1", fontsize=8, color=GREY)
    label(axes, "inlet Mach index", "volumetric efficiency over the engine's best")
    legend(axes, loc="lower left")
    return drawn
