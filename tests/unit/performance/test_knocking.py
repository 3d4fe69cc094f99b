"""A fixed spark that knocks: by how many degrees, at which speeds."""

from __future__ import annotations

from math import nan, radians

from enginesim.performance.knocking import caution, margins
from tests.unit.study.results import result


def test_the_worst_speed_first() -> None:
    text = caution({2000.0: radians(-4.2), 3000.0: radians(-16.0), 4000.0: radians(3.0)})
    assert "knocks by 16 deg at 3000 rpm, 4 deg at 2000 rpm:" in text


def test_no_word_where_it_does_not() -> None:
    assert caution({2000.0: radians(2.0), 3000.0: nan, 4000.0: radians(-0.3)}) == ""


def test_a_speed_that_did_not_converge_has_no_say() -> None:
    wild = result(1000.0, knock_margin=radians(-20.0), converged=False)
    assert caution(margins([wild, result(2000.0, knock_margin=0.1)])) == ""
