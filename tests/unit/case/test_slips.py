"""Words and ratios as the trade writes them, and what is said of a slip."""

from __future__ import annotations

import re
from typing import Any

import pytest

from enginesim.case import loads
from enginesim.case.facts import walk
from enginesim.case.quantities import Unfit
from enginesim.case.tree import Case
from enginesim.case.values import convert
from enginesim.case.words import _SYNONYMS
from tests.unit.case.engines import MINIMAL, problems

FIELDS = dict(walk(Case))


@pytest.mark.parametrize(
    "path, text, value",
    [
        ("block.compression_ratio", "10:1", 10.0),
        ("block.compression_ratio", "10.5 : 1 +- 0.25", 10.5),
        ("block.compression_ratio", "9.5:1.0", 9.5),
        ("mixture.afr", "12.8:1", (12.8,)),
        ("mixture.afr", "12.8:1, 13.2:1", (12.8, 13.2)),
        ("mixture.afr", ["12.8:1", "13.2:1"], (12.8, 13.2)),
        ("cam.intake.rocker_ratio", "1.5:1", 1.5),
        ("intake.layout", "dual plane", "divided plenum"),
        ("intake.layout", "Single-Plane intake manifold", "single plenum"),
        ("intake.layout", "ITBs", "individual throttles"),
        ("throttle.kind", "carb", "carburettor"),
        ("fuel.delivery", "carburetor", "carburettor"),
        ("exhaust.layout", "4-into-1 headers", "4-into-1"),
        ("exhaust.layout", "4-2-1", "4-into-2-into-1"),
        ("exhaust.layout", "cast iron manifold", "log"),
        ("block.arrangement", "inline", "in-line"),
    ],
)
def test_as_the_trade_writes_it(path: str, text: Any, value: object) -> None:
    assert convert(FIELDS[path], text).value == value


def test_every_word_stands_for_a_choice_and_for_none_of_another_name() -> None:
    choices = {choice for field in FIELDS.values() for choice in field.choices}
    assert set(_SYNONYMS.values()) <= choices
    assert not set(_SYNONYMS) & choices


@pytest.mark.parametrize("text", ["1:10", "10:2", "10:1.5", "10:11", ":1", "10:1:1"])
def test_what_is_no_ratio_to_one(text: str) -> None:
    with pytest.raises(Unfit):
        convert(FIELDS["block.compression_ratio"], text)


@pytest.mark.parametrize(
    "path, text, hint",
    [
        ("cam.intake.durations", "218 @ 0.050", 'write "218 @ 0.050 in"'),
        ("cam.intake.durations", "218 @ 1", 'write "218 @ 1 mm"'),
        (
            "cam.intake.durations",
            "218 @ 0.2",
            'write "218 @ 0.2 in" or "218 @ 0.2 mm", whichever is meant',
        ),
        ("exhaust.bends", "90 @ 3", 'write "90 @ 3 in"'),
        ("exhaust.bends", "90 @ 75", 'write "90 @ 75 mm"'),
        ("block.stroke", 3.4, 'write "3.4 in" or "3.4 cm" (34 mm), whichever is meant'),
        ("block.stroke", 86.4, 'write "86.4 mm"'),
        ("throttle.flow", "600", 'write "600 cfm" or "600 L/s", whichever is meant'),
        (
            "fuel.name",
            "gasoline 93",
            "another octane: the nearest name, and octane_research and octane_motor besides",
        ),
        (
            "exhaust.layout",
            "long-tube headers",
            "headers by the way they join: 4-into-1, 4-into-2-into-1, 3-into-1, 2-into-1",
        ),
    ],
)
def test_hint(path: str, text: Any, hint: str) -> None:
    with pytest.raises(Unfit) as caught:
        convert(FIELDS[path], text)
    assert caught.value.hint.endswith(hint)
    assert "deg" not in caught.value.hint


def test_the_nearest_fuel_is_named_too() -> None:
    with pytest.raises(Unfit) as caught:
        convert(FIELDS["fuel.name"], "gasoline 93")
    assert caught.value.hint.startswith("did you mean 'gasoline 9")


def test_a_ratio_beside_other_pieces_says_what_would_agree() -> None:
    pieces = 'chamber_volume = "95 cc"\ngasket_bore = "4.1 in"\n'
    ratio = "compression_ratio = 9.5\n"
    text = MINIMAL.read_text("utf-8").replace(ratio, ratio + pieces)
    (problem,) = problems(text=text)
    assert problem.hint.startswith("remove compression_ratio")
    found = re.search(r"a chamber of ([\d.]+ cc) would give 9.50", problem.hint)
    assert found is not None
    alone = text.replace(ratio, "").replace("95 cc", found.group(1))
    # The chamber is shown to 0.05 cc of the 85 cc above the piston: 0.06 % of 8.5.
    assert loads(alone).block.compression_ratio == pytest.approx(9.5, abs=0.006)


@pytest.mark.parametrize(
    "path, text, hint",
    [
        # 150 % is no humidity, and nobody writes 0.15 as 150.
        ("air.humidity", 150, ""),
        ("air.humidity", 50, "did you mean 0.5 or 50 %?"),
        ("air.humidity", 5, "did you mean 0.05 or 5 %?"),
        ("block.compression_ratio", 95, "did you mean 9.5?"),
        ("cam.intake.rocker_ratio", 15, "did you mean 1.5?"),
    ],
)
def test_a_plain_number_that_is_far_off(path: str, text: Any, hint: str) -> None:
    with pytest.raises(Unfit) as caught:
        convert(FIELDS[path], text)
    assert caught.value.hint == hint
