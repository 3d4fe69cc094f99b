"""Engines of a comparison: one with parts and values swapped."""

from __future__ import annotations

from math import degrees

from enginesim.study.swap import changes, entry
from tests.unit.case.engines import MINIMAL


def test_an_advance_is_swapped_on_a_card_that_prints_its_centerline() -> None:
    """Whether the card or --set says it: four degrees found, five implied, was all that came."""
    swaps = ["cam.advance=8", "cam.advance=0"]
    found = entry([MINIMAL], swaps, ["cam.intake_centreline=105"])
    centres = [degrees(each.case.cam.intake_centreline) for each in found.entrants]
    assert [round(centre, 6) for centre in centres] == [105, 102, 110]
    said = " ".join(str(warning) for warning in found.entrants[1].case.warnings)
    assert "the lobe separation held at 110 deg" in said
    rows = changes(found.entrants[0].case, found.entrants[1].case)
    assert ("cam.intake_centreline", "105", "102 deg") in rows
    assert ("cam.advance", "-", "8") in rows
