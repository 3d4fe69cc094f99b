"""Bench sheets on paper: nothing falls off the page, whatever is on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from enginesim.report.sheet_cautions import ALWAYS, cautions
from enginesim.report.sheet_ignition import knock_page
from enginesim.report.sheet_page import Page, lines_of, page_figure
from enginesim.report.table import Table, plain
from enginesim.workshop.ignition import KnockSheet
from tests.records import case

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


def test_a_margin_of_nothing_has_no_minus() -> None:
    some = np.array([2000.0, 3000.0])
    sheet = KnockSheet(some, 0.3 + 0 * some, -1e-4 + 0 * some, -0.01 + 0 * some, 91 + 0 * some,
                       91 + 0 * some, 5e6 + 0 * some, 91.0, 8.1)  # fmt: skip
    shown = "\n".join(lines_of(knock_page(sheet, case(), "us"), 90))
    assert "+0.0" in shown
    assert "-0.0" not in shown
