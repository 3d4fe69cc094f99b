"""The questions of `new`: each answer checked where it is typed, and no good one asked twice."""

from __future__ import annotations

from pathlib import Path

import pytest

from enginesim.base.readings import unquoted
from enginesim.case import load
from enginesim.cli.main import main
from tests.wiring.terminal import ROOT, on_terminal
from tests.wiring.test_check_and_new import OPTIONS, TWELVE

MINIMAL = ROOT / "tests" / "cases" / "minimal.toml"
ALL = {"name": "", "cylinders": "", **TWELVE}  # an empty answer takes what stands in brackets


def asked(file: Path, *arguments: str, code: int = 0, **answers: str | list[str]) -> str:
    """What is shown when these answers are given in place of those of the smallest case."""
    typed: list[str] = []
    for name, usual in ALL.items():
        answer = answers.get(name.replace("-", "_"), usual)
        typed += [answer] if isinstance(answer, str) else answer
    return on_terminal(["new", str(file), *arguments], *typed, code=code)


def test_the_smallest_case(tmp_path: Path) -> None:
    file = tmp_path / "my-eight.toml"
    text = asked(file, bore=["40.3 in", "4.00 in"])  # a slip, said at once and asked again
    assert "did you mean 4.03 in or 40.3 mm?" in text
    assert "Number of cylinders [8]:" in text
    case = load(file)
    assert case.digest == load(MINIMAL).digest
    assert case.name == "my-eight"
    # 8 x pi/4 x 4.00^2 x 3.50 = 351.9 cu in = 5.766 L
    assert text.splitlines()[-1] == f"written: {file}: V8, 352 cu in (5.77 L), 9.5:1"


def test_the_owner_of_a_four_gets_a_four(tmp_path: Path) -> None:
    file = tmp_path / "case.toml"
    text = asked(file, name="My four", cylinders=["four", "4"], compression_ratio="10:1")
    assert "four: allowed is a whole number" in text
    assert text.splitlines()[-1].endswith(": in-line four, 176 cu in (2.88 L), 10.0:1")
    assert (load(file).name, load(file).block.n_cylinders) == ("My four", 4)


def test_what_stands_after_at_is_checked_where_it_is_typed(tmp_path: Path) -> None:
    file = tmp_path / "case.toml"
    text = asked(file, intake_flow=["150 cfm @ 28", "150 cfm @ 28 lb", "150 cfm @ 28 inH2O"])
    assert "28 without a unit after @: allowed is a pressure with its unit (write " in text
    assert '(write "150 cfm @ 28 inH2O")' in text
    assert "28 lb, a mass after @: allowed is a pressure" in text
    assert text.count("Lobe separation") == 1
    assert load(file).head.intake.sheet.depression == pytest.approx(28 * 249.08891, rel=1e-9)


def test_what_shows_at_the_end_asks_for_that_field_alone(tmp_path: Path) -> None:
    file = tmp_path / "case.toml"
    text = on_terminal(
        ["new", str(file)],
        *{**ALL, "cylinders": "4", "exhaust": "3-into-1"}.values(),
        "4-into-1",
    )
    assert "  exhaust.layout: found 3-into-1 on a bank of 4" in text
    assert "[3-into-1]:" in text
    assert text.count("Bore, with its unit") == 1
    assert load(file).exhaust.layout == "4-into-1"


def test_a_field_that_no_question_is_about(tmp_path: Path) -> None:
    file = tmp_path / "case.toml"
    text = on_terminal(
        ["new", str(file), "--set", "exhaust.collector_diameter=1 in"], *ALL.values(), "3 in"
    )
    assert "narrower than a primary" in text
    assert load(file).exhaust.collector_diameter == pytest.approx(0.0762)


def test_an_answer_that_a_new_one_makes_needless_is_dropped(tmp_path: Path) -> None:
    """Banks of an in-line five do not pair; a log, which takes their place, has no primaries."""
    file = tmp_path / "case.toml"
    log = {**ALL, "cylinders": "5", "exhaust": "2-into-1", "primary-diameter": "1.5 in"}
    text = on_terminal(["new", str(file)], *log.values(), "log")
    assert load(file).exhaust.layout == "log"
    assert "exhaust.primary_diameter" not in load(file).given, text


def test_options_that_contradict_each_other(tmp_path: Path) -> None:
    """Open stacks have no throttle: once that is answered, its size is needless too."""
    file = tmp_path / "case.toml"
    options = ["--name", "x", "--cylinders", "8", *OPTIONS, "--manifold", "open stacks"]
    text = on_terminal(["new", str(file), *options], "none")
    assert "What does not fit is asked again" in text
    assert text.count("Throttle; one of") == 1
    assert "throttle.flow" not in load(file).given


def test_a_ratio_that_is_answered_again_stays_beside_the_pieces(tmp_path: Path) -> None:
    """The ratio that a person answers stays, though the pieces alone would do."""
    file = tmp_path / "case.toml"
    options = ["--name", "x", "--cylinders", "8", *OPTIONS, "--set", "block.chamber_volume=95 cc"]
    text = on_terminal(["new", str(file), *options], "7.4")
    assert "remove compression_ratio" in text
    assert text.splitlines()[-1].endswith(" 7.4:1")
    assert load(file).given["block.compression_ratio"] == "7.4"


def test_a_wrong_option_is_asked_for(tmp_path: Path) -> None:
    file = tmp_path / "case.toml"
    options = ["--name", "x", "--cylinders", "8", *OPTIONS, "--bore", "4"]
    text = on_terminal(["new", str(file), *options], "4 in")
    assert "4 without a unit" in text
    assert text.count("Bore, with its unit") == 1
    assert load(file).digest == load(MINIMAL).digest


def test_what_is_set_is_not_asked_for(tmp_path: Path) -> None:
    file = tmp_path / "case.toml"
    answers = {key: value for key, value in ALL.items() if key != "compression-ratio"}
    on_terminal(["new", str(file), "--set", "block.chamber_volume=68 cc"], *answers.values())
    assert "block.compression_ratio" not in load(file).given


def test_a_wrong_name_of_a_field_is_said_before_the_first_question(tmp_path: Path) -> None:
    text = on_terminal(["new", str(tmp_path / "case.toml"), "--set", "cam.sparation=110"], code=2)
    assert "did you mean cam.lobe_separation?" in text
    assert "Bore" not in text


def test_a_question_that_makes_no_sense_is_not_asked(tmp_path: Path) -> None:
    file = tmp_path / "case.toml"
    answers = {**ALL, "manifold": "open stacks", "exhaust": "log"}
    for name in ("throttle", "throttle-flow", "primary-diameter"):
        del answers[name]
    on_terminal(["new", str(file)], *answers.values())
    assert load(file).throttle.kind == "none"


def test_words_of_the_trade_and_quotes(tmp_path: Path) -> None:
    file = tmp_path / "case.toml"
    asked(
        file, stroke='"3-1/2 in"', manifold="dual plane", throttle="carb", compression_ratio="9.5:1"
    )
    assert load(file).digest == load(MINIMAL).digest
    assert 'layout = "divided plenum"' in file.read_text("utf-8")


def test_quotes_in_what_is_set(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "case.toml"
    more = ["--stroke", '"3-1/2 in"', "--set", "fuel.name='e10'"]
    assert main(["new", str(file), *OPTIONS, *more]) == 0, capfd.readouterr().err
    assert load(file).fuel.name == "e10"


def test_without_a_terminal_all_problems_at_once(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "case.toml"
    assert main(["new", str(file), *OPTIONS, "--bore", "4", "--cylinders", "four"]) == 2
    said = capfd.readouterr().err
    assert "2 problems" in said
    assert "no terminal to ask on" in said
    assert not file.exists()


@pytest.mark.parametrize(
    "typed, text",
    [
        ('"3-1/2 in"', "3-1/2 in"),
        (" '4 in' ", "4 in"),
        ('4 "', '4 "'),
        ('"', '"'),
        ('""4""', '"4"'),
        ("'4\"", "'4\""),
    ],
)
def test_one_pair_of_quotes(typed: str, text: str) -> None:
    assert unquoted(typed) == text
