"""Bench sheets on paper: nothing falls off the page, whatever is on it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from enginesim.performance import Curve
from enginesim.report.sheet_cautions import ALWAYS, cautions
from enginesim.report.sheet_clearance import clearance_page
from enginesim.report.sheet_ignition import knock_page
from enginesim.report.sheet_page import Page, printed, save_page
from enginesim.report.sheet_tubes import tubes_page
from enginesim.report.table import Table, plain
from enginesim.workshop.ignition import KnockSheet
from enginesim.workshop.piston_room import piston_room
from enginesim.workshop.tubes import tubes
from tests.records import case
from tests.unit.case.engines import changed
from tests.unit.report.paper import NAMES, Paper, squeezed
from tests.unit.study.results import result

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from enginesim.report.units import System


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


def is_sound(paper: Paper) -> bool:
    return paper.overlaps() == 0 and paper.outside(0.3) == 0


@pytest.mark.parametrize("n_rows", [0, 3, 20, 45])
@pytest.mark.parametrize("is_drawn", [True, False])
def test_everything_is_on_one_sheet(n_rows: int, is_drawn: bool) -> None:
    said = page(n_rows, is_drawn=is_drawn)
    paper = Paper(printed(said).content("pdf"))
    assert len(paper.sizes) == 1
    assert is_sound(paper)
    for part in (said.title, said.engine, "lb-ft", "Cautions", *said.notes, *said.cautions,
                 *said.foot, *(row[1] for row in said.tables[0].rows)):  # fmt: skip
        assert squeezed(part) in paper.text, part


def test_a_long_sheet_goes_on_and_repeats_its_heads() -> None:
    labels = tuple(f"column {i}" for i in range(8))
    long = Table("Long", labels, ("rpm",) * 8, tuple((f"{i}.5",) * 8 for i in range(120)))
    paper = Paper(printed(replace(page(3), tables=(long,))).content("pdf"))
    assert len(paper.sizes) > 1
    assert is_sound(paper)
    assert paper.text.count("column7") >= 2
    assert all(f"{i}.5" * 8 in paper.text for i in range(120))
    assert f"page1of{len(paper.sizes)}" in paper.text


@pytest.mark.parametrize("name", NAMES, ids=["markup", "unbroken", "wide", "narrow"])
@pytest.mark.parametrize("system", ["us", "si"])
def test_names_are_printed_as_they_are_written(name: str, system: System) -> None:
    wordy = Table("Lobes", ("", name), ("", ""), ((name, "0.3 in"),), is_numeric=False)
    said = replace(page(9), engine=name, tables=(page(9).tables[0], wordy), notes=(name,))
    paper = Paper(printed(said, system).content("pdf"))
    assert is_sound(paper)
    assert paper.text.count(squeezed(name)) == 4


@pytest.mark.parametrize("n", [8, 30])
def test_a_table_of_many_columns_is_made_smaller(n: int) -> None:
    cells = tuple(f"{1000 + i}.5" for i in range(n))
    wide = Table("Wide", tuple(f"size {i}" for i in range(n)), ("inHg",) * n, (cells,) * 4)
    paper = Paper(printed(replace(page(3), tables=(wide, page(9).tables[0]))).content("pdf"))
    assert is_sound(paper)
    assert "".join(cells) in paper.text


def test_without_tables_notes_and_name() -> None:
    bare = replace(page(3), engine="", tables=(), notes=(), cautions=(), foot=())
    paper = Paper(printed(bare).content("pdf"))
    assert is_sound(paper)
    assert "Cautions" not in paper.text


def test_paper() -> None:
    for system, size in (("us", (8.5, 11.0)), ("si", (8.27, 11.69))):
        assert Paper(printed(page(3), system).content("pdf")).sizes == [
            pytest.approx(size, abs=0.01)
        ]


def test_files_are_the_same_every_time(tmp_path: Path) -> None:
    first = [path.read_bytes() for path in save_page(page(3), tmp_path)]
    assert [path.name for path in save_page(page(3), tmp_path)] == [
        "sheet-cam.pdf",
        "sheet-cam.png",
    ]
    assert [path.read_bytes() for path in sorted(tmp_path.iterdir())] == first


def test_half_a_character_does_no_harm() -> None:
    """A file name of the command line that is no UTF-8."""
    paper = Paper(printed(replace(page(3), engine="part-\udcff")).content("pdf"))
    assert "part-" in paper.text


def test_reader_of_pages_sees_what_lies_on_something() -> None:
    import typst

    def read(more: str) -> Paper:
        return Paper(typst.compile(f"#set page(width: 4in, height: 3in)\nHello{more}".encode()))

    assert is_sound(read(""))
    assert read("#place(top + left, dx: 3pt)[WORLD]").overlaps() > 0
    assert read("#place(top + left, dx: 3.2in)[Hello]").outside(0.3) > 0


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
    said = knock_page(sheet, case(), "us")
    shown = "\n".join([*map(plain, said.tables), *said.notes])
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
