"""Charts: what is on them, in which units, and that they are kept whole."""

from __future__ import annotations

from pathlib import Path

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.axis import Axis
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Annotation, Text
from PIL import Image

from enginesim import gas
from enginesim.base.errors import ResultError
from enginesim.performance import Curve, summarise
from enginesim.report import save_figures
from enginesim.report.curve_figure import curve_figure
from enginesim.report.cycle_figure import cycle_figure
from enginesim.report.wave_figure import wave_figure
from tests.records import case, record

NOTES = ("Air so and so", "Fuel such and such", "Friction thus", "enginesim 0, case 0")


def words(figure: Figure) -> list[str]:
    return [text.get_text() for text in figure.findobj(Text) if text.get_text()]


def colliding(figure: Figure) -> list[tuple[str, str]]:
    """Pairs of texts within one figure that lie on each other, and texts beyond its edge."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    renderer = canvas.get_renderer()
    beyond = set()  # labels of ticks outside the axes, which are not drawn
    for axis in figure.findobj(Axis):
        low, high = sorted(axis.get_view_interval())
        for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
            if not low <= tick.get_loc() <= high:
                beyond |= {tick.label1, tick.label2}
    boxes = []
    for text in figure.findobj(Text):
        if text.get_text().strip() and text.get_visible() and text not in beyond:
            box = Text.get_window_extent(text, renderer)
            if box.width > 1:
                boxes.append((text.get_text(), box))
    width, height = figure.bbox.width, figure.bbox.height
    faulty = [
        (name, "edge")
        for name, box in boxes
        if box.x0 < 0 or box.y0 < 0 or box.x1 > width or box.y1 > height
    ]
    for i, (name, box) in enumerate(boxes):
        for other, its in boxes[i + 1 :]:
            dx = min(box.x1, its.x1) - max(box.x0, its.x0)
            dy = min(box.y1, its.y1) - max(box.y0, its.y0)
            if dx > 1 and dy > 1:
                faulty.append((name, other))
    return faulty


@pytest.mark.parametrize("system", ["us", "si"])
def test_curve_has_units_peaks_and_notes(curve: Curve, system: str) -> None:
    figure = curve_figure(curve, "Invented four", NOTES, system)
    said = words(figure)
    rpm, torque = curve.peak("torque")
    unit = {"us": f"{torque / 1.3558179483:.0f} lb-ft", "si": f"{torque:.0f} N m"}[system]
    assert f"{unit} @ {rpm:.0f}" in said
    assert "\n".join(NOTES) in said
    assert any(text.startswith("VE, %") for text in said)
    assert any("not converged" in text for text in said)
    assert any("5252" in text for text in said) is (system == "us")
    assert colliding(figure) == []


def test_torque_and_power_cross_at_5252(curve: Curve) -> None:
    """On the one scale of lb-ft and hp: where the two lines as drawn meet."""
    main = curve_figure(curve, "", NOTES, "us").axes[0]
    torque, power = (line.get_xydata() for line in main.get_lines()[:2])
    assert torque.shape == power.shape == (8, 2)  # without the speed that did not converge
    gap = torque[:, 1] - power[:, 1]
    i = int(np.flatnonzero(np.diff(np.sign(gap)))[0])
    rpm = torque[i, 0] + (torque[i + 1, 0] - torque[i, 0]) * gap[i] / (gap[i] - gap[i + 1])
    # Straight lines between points 500 rpm apart: power is a product, so the chord is off a bit.
    assert rpm == pytest.approx(5252, abs=15)


def test_si_scales_agree_with_the_lines(curve: Curve) -> None:
    main = curve_figure(curve, "", NOTES, "si").axes[0]
    right = next(a for a in main.figure.axes if a is not main and a.get_ylabel() == "power, kW")
    ratio = right.get_ylim()[1] / main.get_ylim()[1]
    power = main.get_lines()[1].get_ydata() * ratio
    good = curve["converged"] == 1.0
    assert power == pytest.approx(curve["power"][good] / 1e3)


def test_a_curve_of_which_no_speed_converged_has_no_lines(gas_tables: gas.GasTables) -> None:
    wild = Curve(
        summarise(case(), gas_tables, record(rpm, converged=False)) for rpm in (3000.0, 4000.0)
    )
    figure = curve_figure(wild, "", NOTES, "us")
    said = words(figure)
    assert any("2 speeds not converged" in text for text in said)
    assert not any(" @ " in text for text in said)
    assert len(figure.axes) == 1  # nothing beneath: there is no figure to draw


def test_no_plenum_no_vacuum_chart(gas_tables: gas.GasTables) -> None:
    bare = Curve(
        summarise(case(), gas_tables, record(rpm, volume_names=("a", "b")))
        for rpm in (3000.0, 4000.0)
    )
    said = words(curve_figure(bare, "", NOTES, "us"))
    assert not any("vacuum" in text for text in said)


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("cylinder", [0, 2])
def test_cycle_charts(system: str, cylinder: int) -> None:
    figure = cycle_figure(record(), cylinder, "Invented four", NOTES, system)
    said = words(figure)
    assert f"cylinder {cylinder + 1} at 4000 rpm" in said
    for mark in ("spark \N{MINUS SIGN}28°", "10 % \N{MINUS SIGN}3°", "50 % 8°", "90 % 23°"):
        assert mark in said
    assert {"intake", "compression", "expansion", "exhaust", "pumping loop"} <= set(said)
    assert colliding(figure) == []


def test_marks_sit_on_the_pressure() -> None:
    made = record()
    figure = cycle_figure(made, 1, "", NOTES, "si")
    axes = next(a for a in figure.axes if a.get_ylabel() == "pressure, bar" and _is_angle(a))
    angle, p = made.of_cylinder("pressure", 1)
    for line in axes.get_lines():
        if line.get_marker() in ("o", "*") and len(line.get_xdata()) == 1:
            place, height = line.get_xdata()[0], line.get_ydata()[0]
            assert height == pytest.approx(np.interp(np.radians(place), angle, p) / 1e5)


def _is_angle(axes: Axes) -> bool:
    return axes.get_xlabel().startswith("crank angle")


@pytest.mark.parametrize("side", ["intake", "exhaust"])
def test_wave_diagram(side: str) -> None:
    made = record(traces=True)
    tract = next(t for t in made.tracts if t.side == side)
    figure = wave_figure(made, tract, "Invented four", NOTES, "us")
    said = words(figure)
    assert {f"{side[0].upper()}O", f"{side[0].upper()}C"} <= set(said)
    assert {name for name, _ in tract.marks} <= set(said)
    mesh = figure.axes[0].collections[0]
    low, high = mesh.get_clim()
    assert low == -high
    drawn = mesh.get_array()
    assert drawn.shape == (len(tract.cells), 721)
    p = made.duct_pressure[tract.cells] / 6894.757293
    assert float(np.max(np.abs(drawn))) == pytest.approx(high)
    assert float(np.max(drawn)) == pytest.approx(float(p.max() - p[:, :-1].mean()), rel=1e-6)
    assert [pair for pair in colliding(figure) if "valves open" not in "".join(pair)] == []


def test_no_traces_no_wave_diagram() -> None:
    made = record(traces=True)
    with pytest.raises(ResultError, match="no traces"):
        wave_figure(record(), made.tracts[0], "", NOTES, "us")


def test_all_figures_are_kept(curve: Curve, tmp_path: Path) -> None:
    before = dict(mpl.rcParams)
    made = record(4000.0, traces=True)
    paths = save_figures(case(), curve, tmp_path / "new", records=[made], units="si")
    stems = ["curve", "cycle-4000", "wave-intake-4000", "wave-exhaust-4000"]
    assert [path.name for path in paths] == [f"{s}.{e}" for s in stems for e in ("png", "svg")]
    for path in paths:
        if path.suffix == ".png":
            with Image.open(path) as image:
                image.verify()
                assert min(image.size) > 800
        else:
            assert path.read_text("utf-8").rstrip().endswith("</svg>")
    assert dict(mpl.rcParams) == before


def test_a_figure_gives_the_same_file_again(curve: Curve, tmp_path: Path) -> None:
    first, second = (
        save_figures(case(), curve, tmp_path / name)[1].read_bytes() for name in ("a", "b")
    )
    assert first == second


def test_one_speed_has_no_curve(curve: Curve, tmp_path: Path) -> None:
    assert save_figures(case(), Curve(curve.points[:1]), tmp_path) == ()


def test_the_check_for_collisions_can_fail() -> None:
    figure = Figure()
    figure.text(0.5, 0.5, "one")
    figure.text(0.51, 0.5, "two")
    figure.text(0.99, 0.5, "beyond")
    assert colliding(figure) == [("beyond", "edge"), ("one", "two")]
    assert isinstance(Annotation("x", (0, 0)), Text)
