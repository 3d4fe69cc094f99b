"""The page about a comparison: all that must be said is on it, and nothing lies on anything."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from enginesim.performance.attribution import CAUSES, Attribution
from enginesim.report import comparison_text
from enginesim.report.comparison_notes import Words
from enginesim.report.comparison_page import bars_chart, comparison_page, curves_chart
from enginesim.report.plotter import PAGE, Plotter
from enginesim.study.comparison import LETTERS, Comparison, Side, compare
from enginesim.study.reasons import attributions, regions
from enginesim.study.swap import MOST
from tests.unit.report.paper import NAMES, Paper, squeezed
from tests.unit.report.test_comparison import curve, made, rising

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from enginesim.report.typesetting import PrintedPage
    from enginesim.report.units import System

N_ASSUMED = 54
LONG = "why one differs from another, said in many words that have to be broken into lines "


def compared(n: int) -> Comparison:
    return compare(
        [Side(LETTERS[i], "x", curve(lambda rpm, i=i: rising(rpm) - 5 * i)) for i in range(n)]
    )


def words(n: int, name: str = "part", *, n_changes: int = 7, n_sentences: int = 1) -> Words:
    return Words(
        name,
        tuple(f"{letter}: {name}" for letter in LETTERS[:n]),
        tuple(
            tuple((f"cam.field_{i}_{k}", name, f"{k} {name}") for k in range(n_changes))
            for i in range(1, n)
        ),
        tuple(f"{letter} gains 4.1 lb-ft: {LONG}" for letter in LETTERS[1:n]),
        tuple(f"Reason {i}: {LONG * 2}" for i in range(n_sentences * (n - 1))),
        ("Numerical error +-0.8 lb-ft." + LONG * 2,),
        ("Air.", "enginesim 0.1.0, cases " + ", ".join(f"{x} 12345678" for x in LETTERS[:n])),
        (f"{name} has doubts.",),
        (
            *((f"head.intake.part_{k}", "0.01 in", "0.002 in") for k in range(N_ASSUMED)),
            ("name", "x", ""),
        ),
    )


def page(n: int, said: Words, system: System = "us") -> PrintedPage:
    comparison = compared(n)
    return comparison_page(comparison, attributions(comparison, n - 1), said, system)


def is_sound(paper: Paper) -> bool:
    return paper.overlaps() == 0 and paper.outside(0.3) == 0


@pytest.mark.parametrize("name", NAMES, ids=["markup", "unbroken", "wide", "narrow"])
@pytest.mark.parametrize("n, system", [(2, "us"), (2, "si"), (4, "us"), (MOST, "si")])
def test_all_is_said_and_nothing_lies_on_anything(n: int, system: System, name: str) -> None:
    said = words(n, name)
    paper = Paper(page(n, said, system).content("pdf"))
    assert is_sound(paper)
    for part in (
        *said.sides, *said.verdicts, *said.reasons, *said.certainty, *said.warnings,
        *said.conditions, "What is different", "peak torque", "take precedence over this sheet",
        "Assumed in A", f"Why {LETTERS[n - 1]} and A differ",
        *(path for rows in said.changes for path, _, _ in rows),
    ):  # fmt: skip
        assert squeezed(part) in paper.text, part
    assert paper.text.count(squeezed(name)) >= 1 + n  # letter for letter


@pytest.mark.parametrize("n", [2, 3, 4])
def test_one_sheet_is_enough_for_some_engines(n: int) -> None:
    for system, size in (("us", (8.5, 11.0)), ("si", (8.27, 11.69))):
        paper = Paper(page(n, words(n), system).content("pdf"))
        assert [pytest.approx(size, abs=0.01)] == paper.sizes


def test_what_is_assumed_is_listed_or_counted() -> None:
    all_listed = Paper(page(2, words(2)).content("pdf")).text
    assert squeezed("head.intake.part_53  0.01 in +- 0.002 in") in all_listed
    assert squeezed("1 more are assumed; enginesim check") in all_listed  # has no band
    # Of four engines there is more to say, so that not all find room.
    some = Paper(page(4, words(4)).content("pdf")).text
    shown = sum(f"head.intake.part_{k}0.01" in some for k in range(N_ASSUMED))
    assert 12 <= shown < N_ASSUMED
    assert squeezed(f"{N_ASSUMED + 1 - shown} more are assumed") in some


@pytest.mark.parametrize("n", [2, 4])
def test_empty_lists_leave_no_headings(n: int) -> None:
    nothing = Words("", tuple(f"{x}: " for x in LETTERS[:n]), ((),) * (n - 1), (), (), (), ())
    paper = Paper(page(n, nothing).content("pdf"))
    assert is_sound(paper)
    assert len(paper.sizes) == 1
    assert "Whatisdifferent" not in paper.text
    assert "Uncertainty" not in paper.text
    assert "Nothingwasassumed" in paper.text


def test_what_one_sheet_cannot_hold_goes_on_another() -> None:
    said = words(4, n_changes=40, n_sentences=9)
    made_page = page(4, said)
    paper = Paper(made_page.content("pdf"))
    assert len(paper.sizes) > 1
    assert is_sound(paper)
    assert squeezed("cam.field_3_39") in paper.text
    assert f"page1of{len(paper.sizes)}" in paper.text
    picture = made_page.content("png")
    width, height = (int.from_bytes(picture[i : i + 4], "big") for i in (16, 20))
    assert height / width > 1.5 * 11 / 8.5  # one picture, as long as it has to be


def test_other_engines_are_counted_not_listed() -> None:
    shown = Paper(page(3, words(3, n_changes=41)).content("pdf")).text
    assert squeezed("B differs from A in 41 fields.") in shown
    assert "cam.field_1_1" not in shown


def test_same_page_gives_the_same_files(tmp_path: Path) -> None:
    comparison, said = compared(2), words(2)
    arguments = (comparison, attributions(comparison, 1), said, "us")
    here = [comparison_page(*arguments).content(kind) for kind in PAGE]
    assert here[0].startswith(b"%PDF")
    assert here[1].startswith(b"\x89PNG")
    with Plotter(["comparison_page"]) as plotter:
        for name in ("one", "two"):  # the second when the typesetter is at work already
            plotter.draw(tmp_path / name, PAGE, "comparison_page", *arguments)
            assert [path.read_bytes() for path in plotter.finish()] == here
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "one.pdf", "one.png", "two.pdf", "two.png",
    ]  # fmt: skip


def is_whole(figure: Figure) -> bool:
    """Whether no word or mark of a chart is cut off at its edge."""
    box = figure.get_tightbbox(FigureCanvasAgg(figure).get_renderer())
    width, height = figure.get_size_inches()
    return box.x0 >= 0 and box.y0 >= 0 and box.x1 <= width and box.y1 <= height


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("n", [2, 5, MOST])
def test_no_word_of_the_curves_is_cut(n: int, system: System) -> None:
    setting = page(n, words(n), system).data["setting"]
    assert is_whole(curves_chart(compared(n), setting["curves"], system))


def test_no_word_of_the_causes_is_cut() -> None:
    parts = dict.fromkeys(CAUSES, 10.0)
    causes = [Attribution(rpm, sum(parts.values()), parts) for rpm in (2000.0, 3000.0)]
    assert is_whole(bars_chart(causes, 3.6, 1.7, "us"))


def test_of_several_engines_the_stretch_that_matters_most() -> None:
    comparison = made()
    found = regions(comparison, 1, attributions(comparison, 1))
    assert [round(one.high - one.low) for one in found] == [1500, 2500]
    (text,) = comparison_text.main_reason(comparison, 1, found, "us")
    assert text.startswith("Above 3,500 rpm B gains 12.5 lb-ft")
    steep = [replace(found[0], total=3 * found[0].total), found[1]]
    (text,) = comparison_text.main_reason(comparison, 1, steep, "us")
    assert text.startswith("Below 3,500 rpm B loses 22.5 lb-ft")
