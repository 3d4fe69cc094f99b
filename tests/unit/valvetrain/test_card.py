"""Cam-card arithmetic against published cards."""

from __future__ import annotations

import subprocess
import sys
from math import degrees, radians

import pytest

from enginesim.valvetrain import card


def events(di: float, de: float, lsa: float, icl: float) -> card.Events:
    return card.events(radians(di), radians(de), radians(lsa), radians(icl))


@pytest.mark.parametrize(
    "numbers, wanted",
    [
        # published example of overlap ranges, 268/280; EO is printed 76 there and implied 74
        ((268, 280, 110, 106), (28, 60, 74, 26)),
        # the same source, 294/306
        ((294, 306, 110, 106), (41, 73, 87, 39)),
        # a public valve-timing tutorial: straight up, then 5 degrees advanced
        ((260, 260, 110, 110), (20, 60, 60, 20)),
        ((260, 260, 110, 105), (25, 55, 65, 15)),
        # worked out from the definitions
        ((218, 218, 110, 106), (3, 35, 43, -5)),
        ((224, 230, 110, 106), (6, 38, 49, 1)),
        ((224, 232, 112, 108), (4, 40, 52, 0)),
        ((252, 258, 108, 104), (22, 50, 61, 17)),
    ],
)
def test_events(numbers: tuple[float, ...], wanted: tuple[float, ...]) -> None:
    found = events(*numbers)
    angles = [degrees(a) for a in (found.io, found.ic, found.eo, found.ec)]
    assert angles == pytest.approx(wanted, abs=1e-12)


@pytest.mark.parametrize(
    "numbers, wanted",
    [
        ((268, 280, 110), 54),  # the published examples above
        ((294, 306, 110), 80),
        ((218, 218, 110), -2),  # definition
        ((224, 230, 110), 7),
        ((224, 232, 112), 4),
        ((252, 258, 108), 39),
    ],
)
def test_overlap(numbers: tuple[float, ...], wanted: float) -> None:
    di, de, lsa = map(radians, numbers)
    assert degrees(card.overlap(di, de, lsa)) == pytest.approx(wanted, abs=1e-12)
    assert degrees(events(*numbers, 104).overlap) == pytest.approx(wanted, abs=1e-12)


def test_factory_sheet_at_a_tenth_of_a_millimetre() -> None:
    # A factory sheet: IO 9 IC 55 EO 51 EC 13 at 0.1 mm give 244/244 and an overlap of 22 degrees.
    sheet = card.Events(*(radians(a) for a in (9, 55, 51, 13)))
    assert degrees(sheet.duration_intake) == pytest.approx(244)
    assert degrees(sheet.duration_exhaust) == pytest.approx(244)
    assert degrees(sheet.overlap) == pytest.approx(22)


def test_separation_from_overlap() -> None:
    # From a factory manual: overlap 45, duration 264 mean 109.5 degrees between the centres.
    assert degrees(card.separation(radians(264), radians(264), radians(45))) == pytest.approx(109.5)


def test_four_degrees_advanced() -> None:
    # trade usage: "4 degrees advanced" on a separation of 110 is a centreline of 106
    assert degrees(card.advance(radians(110), radians(106))) == pytest.approx(4)


def test_events_give_back_what_they_came_from() -> None:
    found = events(268, 280, 110, 106)
    assert degrees(found.duration_intake) == pytest.approx(268)
    assert degrees(found.duration_exhaust) == pytest.approx(280)
    assert degrees(found.intake_centreline) == pytest.approx(106)
    assert degrees(found.exhaust_centreline) == pytest.approx(114)
    assert degrees(found.lobe_separation) == pytest.approx(110)


def test_a_misprint_is_found_and_nothing_else() -> None:
    # The published card 268/280, 110, 106 prints EO 76.
    printed = {"io": 28.0, "ic": 60.0, "eo": 76.0, "ec": 26.0, "overlap": 54.0}
    problems = card.contradictions(
        {name: radians(value) for name, value in printed.items()},
        events(268, 280, 110, 106),
        place="cam.toml:7",
    )
    assert len(problems) == 1
    assert str(problems[0]).startswith("cam.toml:7: cam.eo: found EO 76 printed; allowed 74")


def test_rounding_to_whole_degrees_is_no_contradiction() -> None:
    implied = events(267, 280, 110, 106)  # IO 27.5
    assert not card.contradictions({"io": radians(28)}, implied)
    assert card.contradictions({"io": radians(29)}, implied)


def test_the_card_needs_nothing_heavy() -> None:
    code = (
        "import sys, enginesim.valvetrain.card, enginesim.formulas.crank;"
        "print(sorted({'numpy', 'scipy', 'numba'} & set(sys.modules)))"
    )
    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert result.stdout.strip() == "[]"
