"""Is the law of an opening that of the nozzle, smooth, with the right slope?"""

from __future__ import annotations

import math

import pytest

from enginesim.formulas.nozzle import mass_flow
from enginesim.formulas.openings import SOFT, passage

GAMMA, R, P, T = 1.36, 288.0, 1.2e5, 420.0
COLDER = (GAMMA - 1.0) / GAMMA
CHOKED = 1.0 - (2.0 / (GAMMA + 1.0)) ** (1.0 / COLDER)


@pytest.mark.parametrize("drop", [0.005, 0.03, 0.0599, 0.061, 0.2, 0.44, 0.47, 0.6, 0.99])
def test_is_the_nozzle(drop: float) -> None:
    flow = passage(drop, COLDER)[0] * P / math.sqrt(R * T)
    softer = (1.0 + (SOFT / min(drop, CHOKED)) ** 2) ** -0.25
    assert flow == pytest.approx(
        softer * mass_flow(1.0, P, T, P * (1.0 - drop), GAMMA, R), rel=1e-9
    )


@pytest.mark.parametrize("drop", [1e-6, 1e-5, 1e-4, 1e-3, 0.02, 0.0599, 0.061, 0.3, 0.45])
def test_slope_is_the_flows(drop: float) -> None:
    near = 1e-4 * drop
    rise = passage(drop + near, COLDER)[0] - passage(drop - near, COLDER)[0]
    # The quotient's own error is of the fourth order of its width, and rounding.
    assert passage(drop, COLDER)[1] == pytest.approx(0.5 * rise / near, rel=1e-6)


def test_forms_meet() -> None:
    """Series and powers, subsonic and choked: no jump where one takes over from the other."""
    for place in (0.06, CHOKED):
        below, above = (passage(place * (1.0 + side * 1e-13), COLDER) for side in (-1.0, 1.0))
        assert below[0] == pytest.approx(above[0], rel=1e-11)
        assert below[1] == pytest.approx(above[1], rel=1e-6, abs=1e-7)


def test_balance_is_a_straight_line() -> None:
    assert passage(0.0, COLDER) == (0.0, pytest.approx(math.sqrt(2.0 / SOFT)))
