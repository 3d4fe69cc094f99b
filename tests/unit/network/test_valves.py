"""When do the valves of a case open and close?"""

from __future__ import annotations

from math import degrees, radians
from pathlib import Path

import numpy as np
import pytest

from enginesim.case import load
from enginesim.network.cylinders import SHUT, valves

CASES = Path(__file__).parents[3] / "cases"
INCH = 0.0254
GRID = 0.25  # of the area tables [deg]


@pytest.mark.parametrize("name", ["lake-boat-v8", "teaching-single", "hill-climb-four"])
def test_the_closed_part_ends_where_a_valve_leaves_its_seat(name: str) -> None:
    found = valves(load(CASES / f"{name}.toml"))
    curves = found.curves
    opens = curves.exhaust_motion.events(SHUT)[0]
    closes = curves.intake_motion.events(SHUT)[1] - 4 * np.pi
    assert degrees(opens) - GRID <= degrees(found.evo) <= degrees(opens)
    assert degrees(closes) <= degrees(found.ivc) <= degrees(closes) + GRID
    step = radians(GRID)
    shut = slice(0, round(found.evo / step) + 1)
    assert not found.area[shut].any()
    assert found.area[shut.stop].any()


def test_events_follow_the_card_and_not_the_rounding_of_a_ramp() -> None:
    """The base circle's lift is zero but for rounding, which no event may hang on."""
    opens, closes = [], []
    for ratio in np.linspace(1.47, 1.53, 13):
        sides = [f"cam.{side}.rocker_ratio={ratio:.6f}" for side in ("intake", "exhaust")]
        found = valves(load(CASES / "lake-boat-v8.toml", sides))
        opens.append(degrees(found.evo))
        closes.append(degrees(found.ivc))
        # The ramp from the seat to the card's 0.006 in takes 15 to 25 deg.
        card = degrees(found.curves.exhaust_motion.events(0.006 * INCH, "lifter")[0])
        assert 15.0 < card - opens[-1] < 25.0
    # Two per cent of the lobe's slope there move an event by less than one step of the grid.
    assert np.ptp(opens) <= GRID * (1 + 1e-9)
    assert np.ptp(closes) <= GRID * (1 + 1e-9)
