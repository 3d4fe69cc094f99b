"""A verdict follows from numbers alone, and can be a miss."""

from __future__ import annotations

import math
from typing import Any

import pytest

from validation.judgement import (
    MISS,
    WITHIN,
    Agreement,
    EvidenceError,
    Limit,
    judge,
    judge_points,
    number,
)

TEXTS = {"what": "peak", "why": "because", "source": "book"}


def limit(**kind: Any) -> Limit:
    return Limit.read("here", TEXTS | kind)


@pytest.mark.parametrize(
    "kind,expected,inside,outside",
    [
        ({"relative": 0.01}, 200.0, (198.0, 202.0, 200.5), (197.9, 202.1, -200.0)),
        ({"relative": 0.01}, -200.0, (-198.0, -202.0), (-197.9, 200.0)),
        ({"absolute": 0.5}, 3.0, (2.5, 3.5), (2.49, 3.51)),
        ({"between": [1, 2]}, None, (1.0, 1.5, 2.0), (0.999, 2.001)),
        ({"at_most": 4}, None, (4.0, -9.0), (4.001,)),
        ({"at_least": 4}, None, (4.0, 9.0), (3.999,)),
    ],
)
def test_inside_and_outside(
    kind: dict[str, Any],
    expected: float | None,
    inside: tuple[float, ...],
    outside: tuple[float, ...],
) -> None:
    rule = limit(**kind)
    for value in inside:
        assert judge("c", "m", rule, value, expected, "").verdict == WITHIN
    for value in (*outside, math.nan, math.inf, -math.inf):
        row = judge("c", "m", rule, value, expected, "")
        assert row.verdict == (WITHIN if value in inside else MISS)
        assert judge_points("c", "m", rule, [value], _as_list(expected), ["p"], "").verdict == MISS


def _as_list(expected: float | None) -> list[float] | None:
    return None if expected is None else [expected]


def test_no_number_is_never_inside() -> None:
    for kind in ({"relative": 1.0}, {"absolute": 1e9}):
        assert not limit(**kind).admits(1.0, math.nan)
        assert not limit(**kind).admits(math.nan, 1.0)
    assert judge("c", "m", limit(at_most=1), math.nan, None, "").value is None


def test_every_point_counts_unless_a_share_is_given() -> None:
    found, expected = [1.0, 1.0, 1.0, 1.2], [1.0] * 4
    places = ["a", "b", "c", "d"]
    strict, lenient = limit(relative=0.1), limit(relative=0.1, share=0.75)
    assert judge_points("c", "m", strict, found, expected, places, "").verdict == MISS
    assert judge_points("c", "m", lenient, found, expected, places, "").verdict == WITHIN
    found[0] = 0.8
    assert judge_points("c", "m", lenient, found, expected, places, "").verdict == MISS


def test_agreement_in_numbers() -> None:
    summary = Agreement.of(limit(relative=0.05), [1.1, 1.96], [1.0, 2.0], ["low", "high"])
    assert (summary.bias, summary.worst) == pytest.approx((0.04, 0.1))
    assert summary.spread == pytest.approx(0.06)
    assert (summary.place, summary.inside, summary.n) == ("low", 1, 2)
    words = summary.in_words(limit(relative=0.05))
    assert words == "bias +4 %, spread 6 %, worst +10 % at low; 1 of 2 inside"


def test_farthest_point_of_a_one_sided_limit() -> None:
    summary = Agreement.of(limit(at_least=2), [5.0, 1.0, 3.0], None, ["a", "b", "c"])
    assert (summary.place, summary.inside) == ("b", 2)
    summary = Agreement.of(limit(at_most=2), [5.0, 1.0, 3.0], None, ["a", "b", "c"])
    assert (summary.place, summary.inside) == ("a", 1)
    summary = Agreement.of(limit(at_most=2), [5.0, math.nan, 3.0], None, ["a", "b", "c"])
    assert summary.place == "b"


def test_cause_is_told_of_a_miss_only() -> None:
    rule = limit(at_most=1, cause="friction")
    assert judge("c", "m", rule, 0.5, None, "").cause == ""
    assert judge("c", "m", rule, 2.0, None, "").cause == "friction"


def test_row_in_words() -> None:
    row = judge("c", "m", limit(relative=0.02, unit="bar"), 10.123456, 10.0, "V8")
    assert (row.what, row.expected, row.found, row.limit) == (
        "peak: V8",
        "10 bar",
        "10.12 bar",
        "±2 %",
    )
    assert judge("c", "m", limit(between=[1, 2], unit="deg"), 1.0, None, "").limit == "1 to 2 deg"


@pytest.mark.parametrize(
    "wrong",
    [
        {},
        {"relative": 0.1, "absolute": 1},
        {"between": [2, 1]},
        {"between": [1, 2, 3]},
        {"relative": [0.1, 0.2]},
        {"at_most": math.inf},
        {"at_most": 1, "tolerance": 2},
        {"at_most": 1, "why": "  "},
        {"at_most": 1, "what": ""},
    ],
)
def test_wrong_limits_are_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(EvidenceError, match="here"):
        Limit.read("here", TEXTS | wrong)


def test_expected_value_and_limit_must_go_together() -> None:
    with pytest.raises(EvidenceError, match="do not go together"):
        judge("c", "m", limit(relative=0.1), 1.0, None, "")
    with pytest.raises(EvidenceError, match="do not go together"):
        judge_points("c", "m", limit(at_most=1), [1.0], [1.0], ["p"], "")
    with pytest.raises(EvidenceError, match="2 places"):
        judge_points("c", "m", limit(at_most=1), [1.0], None, ["p", "q"], "")
    with pytest.raises(EvidenceError, match="no points"):
        judge_points("c", "m", limit(at_most=1), [], None, [], "")


def test_numbers_are_short() -> None:
    assert [number(v) for v in (0.0, 1234.56, 0.00012345, math.nan)] == [
        "0",
        "1235",
        "0.0001234",
        "no number",
    ]
