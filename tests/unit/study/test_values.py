"""Values, links, measures and limits as people write them."""

from __future__ import annotations

import math

import pytest

from enginesim.case.quantities import Unfit
from enginesim.study import limits, links, measures
from enginesim.study.fields import resolved
from enginesim.study.limits import Constraint
from enginesim.study.values import Span, Steps, Words, parse


@pytest.mark.parametrize(
    "text, expected",
    [
        ("8:10:0.5 in", Steps((8.0, 8.5, 9.0, 9.5, 10.0), "in")),
        ("106:116:4", Steps((106.0, 110.0, 114.0, 116.0))),  # the last step is shorter
        ("0:0.3:0.1", Steps((0.0, 0.1, 0.2, 0.3))),  # and not 0.30000000000000004
        ("-4:4:4 deg", Steps((-4.0, 0.0, 4.0), "deg")),
        ("8:20 in", Span(8.0, 20.0, "in")),
        ("8, 10 12 in", Steps((8.0, 10.0, 12.0), "in")),
        (["8 in", "10 in"], Steps((8.0, 10.0), "in")),
        ([8, 10.5], Steps((8.0, 10.5))),
        (12, Steps((12.0,))),
        (["8 in", "200 mm"], Words(("8 in", "200 mm"))),
        (["7 5 5 7 in", "6 6 6 6 in"], Words(("7 5 5 7 in", "6 6 6 6 in"))),
    ],
)
def test_numbers(text: object, expected: object) -> None:
    assert parse(text, is_numeric=True) == expected


def test_words() -> None:
    assert parse("log, 4-into-1", is_numeric=False) == Words(("log", "4-into-1"))
    assert parse(["a.toml"], is_numeric=False) == Words(("a.toml",))


@pytest.mark.parametrize(
    "text, why",
    [
        ("20:8:1 in", "the last value must be above the first"),
        ("8:20:0 in", "the step must be above 0"),
        ("8:20:-1 in", "the step must be above 0"),
        ("8:20:0.001 in", "a larger step"),
        ("8:20:1 inn", "unknown unit 'inn'"),
        ("8:20:1:4", ""),
        ("a:b", ""),
        ("1e400:2e400", ""),
        ("8, 8 in", ""),
        ([], ""),
        ([True, [1]], ""),
        (None, ""),
        (True, ""),
        ("a, , b", "one of the values is empty"),
    ],
)
def test_what_is_no_list_of_values(text: object, why: str) -> None:
    with pytest.raises(Unfit) as error:
        parse(text, is_numeric=True)
    assert why in error.value.hint
    assert error.value.found
    assert error.value.allowed


def test_link() -> None:
    link = links.parse("cam.intake_centreline", "cam.lobe_separation - 5 deg")
    assert link.value(math.radians(110)) == pytest.approx(math.radians(105), rel=1e-12)
    scaled = links.parse("intake.runner_lengths", "12 in * scale + 1 in")
    assert scaled.value(0.5) == pytest.approx(7 * 0.0254, rel=1e-12)
    assert links.parse("a", "-1*x").value(3.0) == -3.0
    # A difference of temperatures has no offset of a scale.
    assert links.parse("a", "t + 10 degC").value(300.0) == pytest.approx(310.0, rel=1e-12)


@pytest.mark.parametrize("text", ["", "5", "x*2", "x +", "2 * 3 * x", "x + 5 parsec", "x y"])
def test_what_is_no_link(text: str) -> None:
    with pytest.raises(Unfit):
        links.parse("a", text)


def test_spelling_of_fields() -> None:
    assert resolved("intake.runner.length") == "intake.runner_lengths"
    assert resolved("cam.lobe-separation") == "cam.lobe_separation"
    assert resolved("cam") == "cam"
    assert resolved("intake.runner.colour") is None


POINTS = {2000.0: 100.0, 3000.0: 120.0, 4000.0: 80.0}


@pytest.mark.parametrize(
    "text, expected",
    [
        # Trapezium: (100 + 120) / 2 and (120 + 80) / 2, each over half of the window.
        ("average torque", 105.0),
        ("mean torque 2000-3000", 110.0),
        ("peak torque", 120.0),
        ("lowest torque 2000-3000", 100.0),
        ("torque at 4000", 80.0),
        # (100 x 1 + 80 x 3) / 4
        ("average torque 2000*1 4000*3", 85.0),
        ("average torque 2000 rpm * 25 %, 4000 rpm * 75 %", 85.0),
    ],
)
def test_measure(text: str, expected: float) -> None:
    measure = measures.parse(text)
    assert measure.of_points(POINTS) == pytest.approx(expected, rel=1e-12)
    assert measures.parse(measure.text) == measure


@pytest.mark.parametrize(
    "text",
    [
        "torque at 2500",
        "average torque 1500-3000",
        "average torque 2000*1 5000*1",
        "lowest torque 2000-4500",
    ],
)
def test_measure_that_lacks_a_speed_is_no_number(text: str) -> None:
    assert math.isnan(measures.parse(text).of_points(POINTS))


@pytest.mark.parametrize(
    "text, hint",
    [
        ("average torqe", "did you mean torque?"),
        ("torque", "say which"),
        ("average overlap", "it is one number for the whole engine"),
        ("average torque 4000-2000", ""),
        ("highest torque 2000*3", ""),
        ("average torque at 3000", ""),
        ("average torque 2000*0 3000*0", ""),
        ("average torque 2000*1 2000*2", ""),
        ("average torque 2000*x", ""),
        ("", ""),
    ],
)
def test_what_is_no_measure(text: str, hint: str) -> None:
    with pytest.raises(Unfit) as error:
        measures.parse(text)
    assert hint in error.value.hint


def test_limits() -> None:
    limit = limits.constraint("knock_margin >= 2 deg")
    assert limit.measure.word == "lowest"
    assert limit.excess(math.radians(1.0)) == pytest.approx(math.radians(1.0), rel=1e-12)
    assert limit.excess(math.radians(3.0)) < 0.0
    assert limit.excess(math.radians(2.0)) == 0.0
    assert limit.excess(math.nan) == math.inf
    warm = limits.constraint("egt <= 1400 degF")
    assert warm.measure.word == "highest"
    assert warm.excess(1033.15) == pytest.approx(0.0, abs=1e-9)  # 1400 degF
    for text in ("residual at idle <= 35 %", "overlap <= 40", "bsfc <= 300 g/kW/h"):
        found: Constraint = limits.constraint(text)
        assert limits.constraint(found.text) == found


@pytest.mark.parametrize(
    "text",
    [
        "knock_margin",
        "knock_margin >= 2 mm",
        "power >= 100",
        "overlap <= 1 2 deg",
        "knock_margin >= 2 deg +- 1",
        7,
    ],
)
def test_what_is_no_limit(text: object) -> None:
    with pytest.raises(Unfit):
        limits.constraint(text)


def test_aims() -> None:
    assert limits.aim("average torque").cost(3.0) == -3.0
    assert limits.aim("least average bsfc").cost(3.0) == 3.0
    assert limits.aim(limits.aim("least average bsfc").text) == limits.aim("least average bsfc")
    with pytest.raises(Unfit, match="to_60_mph"):
        limits.aim("to_60_mph")  # nobody wants most of it


@pytest.mark.parametrize(
    "text",
    ["average bsfc", "peak bsfc", "lowest bsfc", "bsfc at 3000", "average bsfc 2000*1 3000*1"],
)
def test_a_speed_without_such_a_number_is_not_passed_over(text: str) -> None:
    """An engine that gives no power at a speed is not the better for it."""
    points = {2000.0: 8e-8, 3000.0: math.nan, 4000.0: 9e-8}
    assert math.isnan(measures.parse(text).of_points(points))


def test_a_speed_without_such_a_number_outside_the_window_does_not_count() -> None:
    points = {2000.0: math.nan, 3000.0: 8e-8, 4000.0: 9e-8}
    assert measures.parse("average bsfc 3000-4000").of_points(points) == pytest.approx(8.5e-8)
