"""Bench sheets on paper: nothing falls off the page, whatever is on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from enginesim.performance import Curve
from enginesim.report.sheet_cautions import ALWAYS, cautions
from enginesim.report.sheet_clearance import clearance_page
from enginesim.report.sheet_ignition import knock_page
from enginesim.report.sheet_page import Page, lines_of, page_figure
from enginesim.report.sheet_tubes import tubes_page
from enginesim.report.table import Table, plain
from enginesim.workshop.ignition import KnockSheet
from enginesim.workshop.piston_room import piston_room
from enginesim.workshop.tubes import tubes
from tests.records import case
from tests.unit.case.engines import changed
from tests.unit.study.results import result

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def drawn(axes: Axes) -> None:
    axes.plot([0, 1], [0, 1])
    axes.set_xlabel("x")


def page(n_rows: int, *, is_drawn: bool = True, n_notes: int = 3) -> Page:
    rows = tuple((f"{i}", f"{2 * i}") for i in range(n_rows))
    table = Table("Figures", ("speed", "torque"), ("rpm", "lb-ft"), rows)
    return Page(
        kind="cam",
        title="Title",
        engine="Engine",
        tables=(table,),
        notes=("A sentence that is long enough to be broken over two lines of the page. " * 2,)
        * n_notes,
        cautions=cautions("cam"),
        foot=("one line", "another"),
        draw=drawn if is_drawn else None,
    )


@pytest.mark.parametrize("n_rows", [3, 20, 45])
@pytest.mark.parametrize("is_drawn", [True, False])
def test_everything_lies_on_the_page(n_rows: int, is_drawn: bool) -> None:
    figure = page_figure(page(n_rows, is_drawn=is_drawn))
    renderer = FigureCanvasAgg(figure).get_renderer()
    width, height = figure.get_size_inches() * figure.dpi
    boxes = [text.get_window_extent(renderer) for text in figure.texts if text.get_text()]
    boxes += [axes.get_tightbbox(renderer) for axes in figure.axes]
    for box in boxes:
        assert box.x0 >= 0
        assert box.y0 >= 0
        assert box.x1 <= width
        assert box.y1 <= height
    # The text stands above the foot and below the chart.
    body, foot = figure.texts[-1], figure.texts[-2]
    assert body.get_window_extent(renderer).y0 >= foot.get_window_extent(renderer).y1
    for axes in figure.axes:
        assert body.get_window_extent(renderer).y1 <= axes.get_tightbbox(renderer).y0 + 2


def test_lines() -> None:
    lines = lines_of(page(2), 40)
    assert lines[0] == "Figures"
    assert max(map(len, lines)) <= 40
    assert "Cautions" in lines


def test_paper() -> None:
    assert page_figure(page(3), "us").get_size_inches() == pytest.approx((8.5, 11.0))
    assert page_figure(page(3), "si").get_size_inches() == pytest.approx((8.27, 11.69))


def test_a_table_without_heads_has_no_rule() -> None:
    table = Table("Title", ("", ""), ("", ""), (("a", "b"),), is_numeric=False)
    assert plain(table).splitlines() == ["Title", "a  b"]


@pytest.mark.parametrize(
    "kind",
    [
        "cam",
        "clearance",
        "spring",
        "compression",
        "throttle",
        "injector",
        "tubes",
        "spark",
        "knock",
    ],
)
def test_every_sheet_has_its_caution(kind: str) -> None:
    assert len(cautions(kind)) >= 2
    assert cautions(kind)[-1] == ALWAYS


def test_a_clearance_that_nobody_measured_is_not_checked() -> None:
    engine = changed()
    assert engine.clearances.intake_drop is None
    rows = {
        row[0]: row[1:] for row in clearance_page(piston_room(engine), engine, "us").tables[0].rows
    }
    assert rows["room at TDC, valve shut (measured)"] == ("not given", "not given")
    assert rows["least clearance"] == ("not checked", "not checked")


def test_a_margin_of_nothing_has_no_minus() -> None:
    some = np.array([2000.0, 3000.0])
    sheet = KnockSheet(some, 0.3 + 0 * some, -1e-4 + 0 * some, -0.01 + 0 * some, 91 + 0 * some,
                       91 + 0 * some, 5e6 + 0 * some, 91.0, 8.1)  # fmt: skip
    shown = "\n".join(lines_of(knock_page(sheet, case(), "us"), 90))
    assert "+0.0" in shown
    assert "-0.0" not in shown


def peak_notes(step: int, *, torque_at: int, power_at: int) -> str:
    """What the sheet of tubes says of peaks simulated with some step; runners right at 3000 rpm."""
    engine = changed("intake.runner_lengths=22.6 in", "head.intake.port_length=5.4 in")
    points = [
        result(float(r), torque=400.0 - abs(r - torque_at) / 50, power=2e5 - abs(r - power_at))
        for r in range(2000, 6001, step)
    ]
    curve = Curve(points)
    return " ".join(tubes_page(tubes(engine, curve), curve, engine, "us").notes)


class TestHowWellAPeakIsKnown:
    def test_a_wide_step_is_told(self) -> None:
        notes = peak_notes(1000, torque_at=3000, power_at=5000)
        # 84,000 / 28 in is 3000 rpm: nothing apart, less than the step.
        assert "3000 +- 500 rpm (+-17 %)" in notes
        assert "runner length, 84,000 rule" in notes.partition("+-17 %")[2]
        assert "an end of the speeds" not in notes

    def test_a_step_narrower_than_what_is_told_needs_no_words(self) -> None:
        assert "half a step" not in peak_notes(100, torque_at=4500, power_at=2500)

    def test_a_peak_at_the_end_may_lie_beyond(self) -> None:
        notes = peak_notes(500, torque_at=4500, power_at=6000)
        assert "Most power is at 6000 rpm, an end of the speeds" in notes
        assert "Most torque is at" not in notes
