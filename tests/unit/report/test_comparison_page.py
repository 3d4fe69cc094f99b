"""Is all that must be said on the page of a comparison, however many engines there are?"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from enginesim.report import comparison_text
from enginesim.report.comparison_notes import Words
from enginesim.report.comparison_page import comparison_page
from enginesim.study.comparison import Side, compare
from enginesim.study.reasons import attributions, regions
from tests.unit.report.test_comparison import curve, made, rising, texts_of

if TYPE_CHECKING:
    from matplotlib.figure import Figure

A4 = 11.69  # [in]


def page(n: int, *, n_changes: int = 7, n_sentences: int = 1) -> Figure:
    sides = [Side("ABCDEF"[i], "x", curve(lambda rpm, i=i: rising(rpm) - 5 * i)) for i in range(n)]
    comparison = compare(sides)
    changes = tuple(
        tuple((f"cam.field_{i}_{k}", "260 deg", f"{k} deg") for k in range(n_changes))
        for i in range(1, n)
    )
    long = "why one differs from another, said in many words that have to be broken into lines "
    words = Words(
        "Title",
        tuple(f"{side.letter}: part-of-a-long-name" for side in sides),
        changes,
        tuple(f"Verdict {side.letter}: {long * 2}." for side in sides[1:]),
        tuple(f"Reason {i}: {long * 3}." for i in range(n_sentences * (n - 1))),
        ("Sure." + long * 4,),
        ("Air.", "enginesim 0.1.0, physics 3, cases A 12345678"),
        ("Doubt.",),
        tuple((f"head.intake.part_{k}", "0.01 in", "0.002 in") for k in range(90)),
    )
    return comparison_page(comparison, attributions(comparison, n - 1), words, "us")


def outside(figure: Figure) -> list[str]:
    """Texts that do not lie wholly on the sheet."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.text import Text

    renderer = FigureCanvasAgg(figure).get_renderer()
    found = []
    for text in figure.texts:
        assert isinstance(text, Text)
        box = text.get_window_extent(renderer)
        if box.x0 < 0 or box.y0 < 0 or box.x1 > figure.bbox.x1 or box.y1 > figure.bbox.y1:
            found.append(text.get_text())
    return found


@pytest.mark.parametrize("n", [2, 3, 4, 6])
def test_nothing_is_lost_at_the_foot(n: int) -> None:
    figure = page(n)
    shown = texts_of(figure).replace("\n", " ")
    for part in (
        "What is different", "How sure", "Doubt.", "physics 3, cases A", "not permission",
        "Assumed in A", "more are assumed", *(f"Reason {i}" for i in range(n - 1)),
        *(f"cam.field_{i}_{k}" for i in range(1, n) for k in range(7)),
    ):  # fmt: skip
        assert part in shown, part
    assert outside(figure) == []
    if n < 6:
        assert figure.get_figheight() == A4


def test_a_page_that_cannot_hold_it_is_longer() -> None:
    figure = page(4, n_changes=40, n_sentences=12)
    assert figure.get_figheight() > A4
    assert outside(figure) == []
    shown = texts_of(figure)
    assert "cam.field_3_39" in shown
    assert "not permission" in shown


def test_other_engines_are_counted_not_listed() -> None:
    shown = texts_of(page(3, n_changes=41))
    assert "B differs from A in 41 fields." in shown
    assert "cam.field_1_1" not in shown


def test_of_several_engines_the_stretch_that_matters_most() -> None:
    comparison = made()
    found = regions(comparison, 1, attributions(comparison, 1))
    assert [round(one.high - one.low) for one in found] == [1500, 2500]
    (text,) = comparison_text.main_reason(comparison, 1, found, "us")
    assert text.startswith("Above 3,500 rpm B gains 12.5 lb-ft")
    steep = [replace(found[0], total=3 * found[0].total), found[1]]
    (text,) = comparison_text.main_reason(comparison, 1, steep, "us")
    assert text.startswith("Below 3,500 rpm B loses 22.5 lb-ft")
