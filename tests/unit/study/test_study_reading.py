"""From a study file to a study, or to all that is wrong with it at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from enginesim.base.errors import CaseError
from enginesim.study.checks import check_plan
from enginesim.study.reading import Options, load, loads
from enginesim.study.values import Steps, Words
from tests.unit.study.studies import CASES, SINGLE

GOOD = """
name = "Invented"
case = "single.toml"
rpm = "2000:3000:500"
aim = "average torque 2000-3000"
limits = ["overlap <= 60 deg", "residual at idle <= 40 %"]
show = "highest power"

[vary]
cam.lobe_separation = "106:114:4"
"intake.runner_lengths" = "100:300:100 mm"
scale = "0.9:1.1:0.1"

[links]
cam.intake_centreline = "cam.lobe_separation - 4"
"exhaust.primary_lengths" = "150 mm * scale"

[conditions.idle]
rpm = 900
set = ["throttle.opening=0.05"]
"""

BAD = """
nam = "Misspelled"
case = "single.toml"
rpm = "3000:2000:500"
aim = ["average torqe", "highest power", "average torque 500-900"]
limits = ["knock_margin >= 2 mm", "residual at idel <= 40 %"]
samples = -1

[vary]
cam.lobe_seperation = "106:114:4"
"intake.runner_lengths" = "100:300:100"
"exhaust.primary_diameter" = "10:40:10 in"
scale = "0.9:1.1:0.1"

[links]
"cam.intake_centreline" = "separation - 4"
"block.bore" = "3 * scale"

[conditions.idle]
rpm = "slow"
"""


def problems(text: str) -> list[str]:
    with pytest.raises(CaseError) as error:
        loads(text, CASES)
    return [str(problem) for problem in error.value.problems]


def test_a_study() -> None:
    study = loads(GOOD, CASES).study
    assert [v.name for v in study.variables] == [
        "cam.lobe_separation",
        "intake.runner_lengths",
        "scale",
    ]
    assert study.variables[0].values == Steps((106.0, 110.0, 114.0), "deg")
    assert study.every_speed == (2000.0, 2500.0, 3000.0)
    assert [m.text for m in study.measures] == [
        "average torque 2000-3000",
        "highest power",
        "overlap",
        "residual at idle",
    ]
    assert study.combinations() == 27


def test_every_problem_at_once() -> None:
    found = problems(BAD)
    for place, words in (
        ("study:2", "nam: found an unknown key"),
        ("study:4", "the last speed must be above the first"),
        ("study:5", "did you mean torque?"),
        ("study:6", "a limit in a unit of angle, such as deg"),
        ("study:7", "samples: found -1; allowed a whole number"),
        ("study:10", "did you mean cam.lobe_separation?"),
        ("study:11", "100 without a unit"),
        ("study:12", "exhaust.primary_diameter: found 10 in"),
        ("study:16", "no variable separation"),
        ("study:17", "block.bore"),
        ("study:19", "conditions.idle.rpm: found 'slow'"),
    ):
        assert any(line.startswith(place) and words in line for line in found), (place, words)


def test_a_wrong_case_is_part_of_it() -> None:
    text = GOOD.replace('case = "single.toml"', 'case = "singel.toml"').replace("lobe_", "lob_")
    found = problems(text)
    assert any("no file" in line and "single.toml" in line for line in found)
    assert any("lob_separation" in line for line in found)


@pytest.mark.parametrize(
    "change, words",
    [
        (("2000-3000", "500-900"), "ask for more speeds"),
        (('"0.9:1.1:0.1"', '["a", "b"]'), "scale"),
        (("150 mm * scale", "150 * scale"), "factor times variable is a ratio"),
        (("150 mm * scale", "150 mm * cam.lobe_separation"), "factor times variable"),
        (("lobe_separation - 4", "lobe_separation - 4 mm"), "an offset of -4 mm"),
        (("opening=0.05", "opning=0.05"), "did you mean throttle.opening?"),
        (("overlap <= 60 deg", "piston_to_valve_intake >= 2 mm"), "clearances.intake_drop"),
        (("rpm = 900", "rpm = 900\nspeed = 3"), "an unknown key"),
        (("[conditions.idle]", "[conditions.idling]"), "did you mean idling?"),
        (('show = "highest power"', 'show = "to_60_mph"'), "a vehicle file"),
        (
            ('"average torque 2000-3000"', '["power at 2000", "power at 3000", "power at 2500"]'),
            "3 aims",
        ),
        (('name = "Invented"', "name = 3"), "a text in quotes"),
        (("[vary]", "[[vary]]"), "a table"),
        (("[vary]", "[vary"), "broken TOML"),
        (("scale =", "numerics.fidelity ="), "numerics.fidelity"),
        (("scale =", "exhaust.primary_lengths ="), ""),
    ],
)
def test_one_fault(change: tuple[str, str], words: str) -> None:
    assert change[0] in GOOD
    assert any(words in line for line in problems(GOOD.replace(*change)))


def test_no_study_at_all() -> None:
    assert any("nothing to vary" in line for line in problems('case = "single.toml"'))
    assert any("the name of a case file" in line for line in problems('[vary]\ncam = "a.toml"'))


def test_case_and_options() -> None:
    found = load(
        SINGLE,
        Options(
            vary=("cam.lobe_separation=106:114:4", "intake.entry=sharp, radiused"),
            link=("cam.intake_centreline=cam.lobe_separation - 2 deg",),
            aim=("highest power",),
            overrides=("numerics.fidelity=filling",),
            rpm="2500",
            samples=5,
        ),
    )
    study = found.study
    assert study.variables[1].values == Words(("sharp", "radiused"))
    assert (study.samples, study.speeds, study.case) == (5, (2500.0,), "single.toml")
    assert found.base.numerics.fidelity == "filling"


def test_options_stand_in_place_of_the_file(tmp_path: Path) -> None:
    file = tmp_path / "study.toml"
    file.write_text(GOOD.replace("single.toml", str(SINGLE)))
    study = load(
        file,
        Options(vary=("cam.lobe_separation=100:104:2",), limit=("overlap <= 9",), rpm="2000,3000"),
    ).study
    assert study.variables[0].values == Steps((100.0, 102.0, 104.0), "deg")
    assert len(study.constraints) == 3
    assert study.every_speed == (2000.0, 3000.0)


@pytest.mark.parametrize(
    "vary, words",
    [
        ("cam.lobe_separation", "FIELD=VALUES"),
        ("=3", "FIELD=VALUES"),
        ("intake.entry=sharp,blunt", "one of:"),
        ("block.n_cylinders=1.5:3.5:1", ""),
        ("cam=parts/none.toml", "no file"),
        ("frobnicate.x=1:2:1", "a field or part of the case"),
    ],
)
def test_wrong_option(vary: str, words: str) -> None:
    with pytest.raises(CaseError) as error:
        load(SINGLE, Options(vary=(vary,)))
    assert any(words in str(problem) for problem in error.value.problems)
    assert all("--vary" in problem.place for problem in error.value.problems)


def test_file_that_cannot_be_read(tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_bytes(b"\xff\xfe\x00")
    for path in (tmp_path, tmp_path / "studdy.toml", tmp_path / "study.toml"):
        with pytest.raises(CaseError):
            load(path)


def test_a_grid_needs_steps_and_a_search_an_aim() -> None:
    study = load(SINGLE, Options(vary=("intake.runner_lengths=100:300 mm",))).study
    sweep, search = (check_plan("x", study, is_search=way) for way in (False, True))
    assert sweep is not None
    assert search is not None
    assert "first:last:step, such as 100:300:25 mm" in str(sweep)
    assert "one or two aims" in str(search)


def test_a_range_with_a_dash_is_told_how_it_is_written() -> None:
    for written in ("106-116", "106 - 116", "106 to 116", "106..116"):
        with pytest.raises(CaseError, match=r'did you mean "106:116"\?'):
            load(CASES / SINGLE, Options(vary=(f"cam.lobe_separation={written}",)))


def test_of_a_broken_file_only_that_is_said(tmp_path: Path) -> None:
    path = tmp_path / "study.toml"
    path.write_text('case = "x.toml"\n[vary\ncam.lobe_separation = "106:116:2"\n', "utf-8")
    with pytest.raises(CaseError) as caught:
        load(path)
    (problem,) = caught.value.problems
    assert problem.found.startswith("broken TOML")
