"""From text to SI: every kind of field, bands, references, parts and overrides."""

from __future__ import annotations

import math
import pickle
from dataclasses import FrozenInstanceError
from pathlib import Path

import pytest

from enginesim.base.errors import CaseError
from enginesim.case import Case, amend, assemble, load, loads
from enginesim.case.facts import fields_of, walk
from tests.unit.case.engines import MINIMAL, TEXT, changed, problems

DEG = math.pi / 180
INCH = 0.0254


def flat(value: object) -> list[object]:
    """Leaves of nested tuples."""
    if isinstance(value, tuple):
        return [leaf for item in value for leaf in flat(item)]
    return [value]


def test_the_smallest_case() -> None:
    case = load(MINIMAL)
    assert case.name == "Smallest case"
    assert case.block.bore == pytest.approx(4 * INCH, rel=1e-15)
    assert case.block.n_cylinders == 8
    assert case.cam.lobe_separation == pytest.approx(110 * DEG, rel=1e-15)
    assert case.throttle.flow == pytest.approx(600 * 0.3048**3 / 60, rel=1e-15)
    assert not case.warnings


def test_it_holds_about_twelve_numbers() -> None:
    assert len([path for path in load(MINIMAL).given if path != "name"]) == 14  # 12 and 2 kinds


def test_every_needed_number_is_asked_for() -> None:
    asked = {problem.path for problem in problems(text="name = 'nothing else'\n")}
    given = {path for path in load(MINIMAL).given if path != "name"}
    assert asked == given


@pytest.mark.parametrize(
    "override, path, value",
    [
        ("block.bore=101.6 mm", "block.bore", 0.1016),
        ("block.bore=10.16 cm", "block.bore", 0.1016),
        ("cam.lobe_separation=112", "cam.lobe_separation", 112 * DEG),
        ("cam.lobe_separation=1.9 rad", "cam.lobe_separation", 1.9),
        ("air.temperature=77 F", "air.temperature", 298.15),
        ("air.humidity=40 %", "air.humidity", 0.4),
        ("block.firing_order=1-3-7-2-6-5-4-8", "block.firing_order", (1, 3, 7, 2, 6, 5, 4, 8)),
        ("block.banks=1 2 3 4 / 5 6 7 8", "block.banks", ((1, 2, 3, 4), (5, 6, 7, 8))),
        ("fuel.name=E85", "fuel.name", "e85"),
        ("intake.layout=Single-Plenum", "intake.layout", "single plenum"),
        ("exhaust.crossover=yes", "exhaust.crossover", True),
        ("combustion.base_rpm=2500 rpm", "combustion.base_rpm", 2500.0),
        ("intake.runner_lengths=6 in", "intake.runner_lengths", (6 * INCH,) * 8),
        ("intake.bends=60 deg @ 3 in", "intake.bends", ((60 * DEG, 3 * INCH),)),
        ("intake.runner_stations=2 in @ 0, 1.8 in @ 1", "intake.runner_stations",
         ((0.0, 2 * INCH), (1.0, 1.8 * INCH))),
        ("intake.runner_stations=2 in @ 0", "intake.runner_stations",
         ((0.0, 2 * INCH), (1.0, 2 * INCH))),
        ("mixture.lambda=0.9", "mixture.lambda_", (0.9,)),
        ("mixture.afr=12.8", "mixture.lambda_", (12.8 / 14.6,)),
        ("cam.advance=6", "cam.intake_centreline", 104 * DEG),
        ("throttle.flow=600 cfm @ 3 inHg", "throttle.drop", 3 * 3386.38864),
    ],
)  # fmt: skip
def test_value(override: str, path: str, value: object) -> None:
    node: object = changed(override)
    for name in path.split("."):
        node = getattr(node, name)
    assert flat(node) == [
        pytest.approx(item, rel=1e-9) if isinstance(item, float) else item for item in flat(value)
    ]


def test_a_schedule_is_straight_between_its_points() -> None:
    mixture = changed("mixture.rpm=2000 4000", "mixture.lambda=0.9 0.8").mixture
    assert [mixture.at(rpm) for rpm in (1000, 2000, 3000, 4000, 9000)] == pytest.approx(
        [0.9, 0.9, 0.85, 0.8, 0.8]
    )


def test_spark_schedule() -> None:
    spark = changed("spark.rpm=1000 3000", "spark.advance=10 34").spark
    assert spark.mode == "schedule"
    assert spark.at(2000) == pytest.approx(22 * DEG)


def test_a_band_is_kept_and_does_not_move_the_value() -> None:
    case = changed("block.bore=4.00 in +- 0.005")
    assert case.bands == {"block.bore": pytest.approx(0.005 * INCH)}
    assert case.block == load(MINIMAL).block
    assert case.digest == load(MINIMAL).digest


def test_lists_and_native_numbers_of_toml() -> None:
    extra = TEXT.replace(
        'compression_ratio = 9.5',
        'compression_ratio = 9.5\nfiring_order = [1, 8, 4, 3, 6, 5, 7, 2]\n'
        'banks = [[1, 3, 5, 7], [2, 4, 6, 8]]\n'
        'firing_intervals = [90, 90, 90, 90, 90, 90, 90, 90]',
    )  # fmt: skip
    assert loads(extra).block == load(MINIMAL).block


class TestParts:
    def test_a_part_by_file_is_the_same_case(self, tmp_path: Path) -> None:
        head, cam_and_rest = TEXT.split("[cam]")
        cam, rest = cam_and_rest.split("[intake]")
        (tmp_path / "parts").mkdir()
        cam = cam.replace("[cam.", "[")
        (tmp_path / "parts" / "mild.toml").write_text(cam)
        case = tmp_path / "case.toml"
        case.write_text('cam = "parts/mild.toml"\n' + head + "[intake]" + rest)
        assert load(case) == load(MINIMAL)

    def test_a_nested_part(self, tmp_path: Path) -> None:
        (tmp_path / "port.toml").write_text('peak_flow = "210 cfm @ 28 inH2O"\n')
        case = tmp_path / "case.toml"
        text = TEXT.replace('[head.intake]\npeak_flow = "210 cfm @ 28 inH2O"', "")
        case.write_text('head.intake = "port.toml"\n' + text)
        assert load(case) == load(MINIMAL)

    def test_a_problem_in_a_part_names_the_part_and_its_line(self, tmp_path: Path) -> None:
        part = tmp_path / "cam.toml"
        part.write_text('lobe_separation = 110\n[intake]\nvalve_lift = "0.45"\n')
        case = tmp_path / "case.toml"
        case.write_text('cam = "cam.toml"\n')
        with pytest.raises(CaseError) as caught:
            load(case)
        places = {problem.path: problem.place for problem in caught.value.problems}
        assert places["cam.intake.valve_lift"] == f"{part}:3"
        assert places["cam.exhaust.valve_lift"] == str(part)

    def test_a_part_is_swapped_by_override_and_then_overridden(self, tmp_path: Path) -> None:
        cam = TEXT.split("[cam]")[1].split("[intake]\nlayout")[0].replace("[cam.", "[")
        (tmp_path / "wide.toml").write_text(cam.replace("= 110", "= 114"))
        case = tmp_path / "case.toml"
        case.write_text(TEXT)
        swapped = load(case, ["cam=wide.toml"])
        assert swapped.cam.lobe_separation == pytest.approx(114 * DEG)
        assert load(case, ["cam=wide.toml", "cam.lobe_separation=108"]).cam.lobe_separation == (
            pytest.approx(108 * DEG)
        )

    def test_a_part_of_the_command_line_may_be_named_from_where_the_user_stands(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        cam = TEXT.split("[cam]")[1].split("[intake]\nlayout")[0].replace("[cam.", "[")
        for folder, separation in (("cases", 114), (".", 116)):
            (tmp_path / folder).mkdir(exist_ok=True)
            (tmp_path / folder / f"wide-{separation}.toml").write_text(
                cam.replace("= 110", f"= {separation}")
            )
        case = tmp_path / "cases" / "case.toml"
        case.write_text(TEXT)
        monkeypatch.chdir(tmp_path)
        for name, separation in (
            ("wide-114.toml", 114),  # beside the case
            ("cases/wide-114.toml", 114),  # as the shell completes it
            ("wide-116.toml", 116),
        ):
            separated = load(case, [f"cam={name}"]).cam.lobe_separation
            assert separated == pytest.approx(separation * DEG)

    def test_a_missing_part_is_one_problem_not_thirty(self, tmp_path: Path) -> None:
        case = tmp_path / "case.toml"
        (tmp_path / "touring.toml").write_text("lobe_separation = 112\n")
        cut = TEXT.split("[cam]")[0] + "[intake]" + TEXT.split("[intake]")[1]
        case.write_text('cam = "tourin.toml"\n' + cut)
        with pytest.raises(CaseError) as caught:
            load(case)
        (problem,) = caught.value.problems
        assert problem.path == "cam"
        assert "touring.toml" in problem.hint


class TestAmend:
    def test_a_float_is_si(self) -> None:
        case = amend(load(MINIMAL), {"block.bore": 0.1, "cam.lobe_separation": 2.0})
        assert (case.block.bore, case.cam.lobe_separation) == (0.1, 2.0)

    def test_defaults_follow(self) -> None:
        case = amend(load(MINIMAL), {"block.stroke": "4 in"})
        assert case.block.rod_length == pytest.approx(1.64 * 4 * INCH)

    def test_nothing_changed_is_the_same_case(self) -> None:
        assert amend(load(MINIMAL), {}) == load(MINIMAL)

    def test_a_wrong_change_is_said(self) -> None:
        with pytest.raises(CaseError, match=r"block\.bore: found .* allowed 20 mm to 300 mm"):
            amend(load(MINIMAL), {"block.bore": 4.0})


def test_assembled_from_what_was_given() -> None:
    assert assemble(load(MINIMAL).given) == load(MINIMAL)


_TYPES = {
    "value": lambda v: isinstance(v, float),
    "values": lambda v: isinstance(v, tuple) and all(isinstance(x, float) for x in v),
    "pairs": lambda v: all(len(x) == 2 and all(isinstance(y, float) for y in x) for x in v),
    "integer": lambda v: type(v) is int,
    "integers": lambda v: all(type(x) is int for x in v),
    "groups": lambda v: all(type(x) is int for group in v for x in group),
    "text": lambda v: isinstance(v, str),
    "switch": lambda v: isinstance(v, bool),
}


def test_what_the_reader_made_has_the_declared_types() -> None:
    case, seen = load(MINIMAL), set()
    for path, spot in walk(Case):
        part = case
        for name in path.split(".")[:-1]:
            part = part and getattr(part, fields_of(type(part))[name].name)
        value = part and getattr(part, spot.name)
        if value is None:
            assert part is None or spot.optional, path
        elif spot.kind == "choice":
            assert value in spot.choices, path
        elif spot.kind == "part":
            assert type(value) is spot.part, path
        else:
            assert _TYPES[spot.kind](value), (path, value)
        seen.add(spot.kind)
    assert seen >= {"value", "values", "pairs", "integer", "integers", "text", "choice", "part"}


def test_a_case_is_immutable() -> None:
    with pytest.raises(FrozenInstanceError):
        load(MINIMAL).block.bore = 1.0  # type: ignore[misc]


def test_digest_ignores_name_and_spelling_but_no_number() -> None:
    case = load(MINIMAL)
    assert changed("name=other", "block.bore=101.6 mm").digest == case.digest
    assert changed("block.bore=101.7 mm").digest != case.digest
    rod = case.block.rod_length  # the default, given
    assert amend(case, {"block.rod_length": rod}).digest == case.digest


@pytest.mark.parametrize("text", ["90", "90 90 90 90 90 90 90 90.2", "90 deg"])
def test_firing_intervals_are_scaled_to_one_cycle(text: str) -> None:
    intervals = changed(f"block.firing_intervals={text}").block.firing_intervals
    assert len(intervals) == 8
    assert math.fsum(intervals) == pytest.approx(4 * math.pi, rel=1e-15)


def test_a_case_goes_to_another_process_and_back() -> None:
    case = load(MINIMAL)
    again = pickle.loads(pickle.dumps(case))
    assert again == case
    assert again.digest == case.digest
    assert hash(again) == hash(case)


def test_quotes_of_a_file_are_not_in_the_way_of_an_override() -> None:
    assert changed('block.bore="4-1/16 in"').block.bore == pytest.approx(4.0625 * INCH)
