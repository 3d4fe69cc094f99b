"""Cross-checks: the sentence a person reads when two numbers cannot both be right."""

from __future__ import annotations

import pytest

from enginesim.base.errors import CaseError
from enginesim.case import assemble, load, loads
from tests.unit.case.engines import MINIMAL, TEXT, changed, problems

SHEET = "head.intake.sheet.lift=0.1 0.2 0.3 0.4 0.5 in"
SHEET_210 = ("head.intake.peak_flow=210 cfm @ 28 inH2O",)


def said(*overrides: str) -> str:
    return "\n".join(str(problem) for problem in problems(*overrides))


def warned(*overrides: str) -> str:
    return "\n".join(str(warning) for warning in changed(*overrides).warnings)


def test_the_likely_cause_of_a_far_value() -> None:
    assert "did you mean 4.03 in or 40.3 mm?" in said("block.bore=40.3 in")


def test_the_likely_unit_of_a_bare_number() -> None:
    assert '"4.03 in"' in said("block.bore=4.03")


def test_a_printed_event_that_the_rest_contradicts() -> None:
    # The published card: 268/280, separation 110, centreline 106; EO 76 printed, 74 implied.
    card = (
        "cam.intake.durations=268 @ 0.006 in, 214 @ 0.050 in",
        "cam.exhaust.durations=280 @ 0.006 in, 224 @ 0.050 in",
        "cam.intake_centreline=106",
        "cam.events.height=0.006 in",
        "cam.events.intake_opens=28",
        "cam.events.intake_closes=60",
        "cam.events.exhaust_closes=26",
    )
    assert changed(*card)
    text = said(*card, "cam.events.exhaust_opens=76")
    assert "EO 76 printed, 74 implied" in text
    assert text.count("\n") == 0


def test_one_degree_of_rounding_is_no_contradiction() -> None:
    events = ("cam.events.intake_opens=0", "cam.events.intake_closes=34")
    assert changed(*events, "cam.intake_centreline=106")


def test_a_centreline_follows_from_printed_events() -> None:
    case = changed("cam.events.intake_opens=-1", "cam.events.intake_closes=35")
    assert case.cam.intake_centreline == pytest.approx(1.8849556)  # 108 deg


@pytest.mark.parametrize(
    "overrides, path, words",
    [
        (["block.firing_order=1-8-4-3-6-5-7-7"], "block.firing_order", "missing: 2"),
        (["block.firing_intervals=90 90 90 90 90 90 90 80"], "block.firing_intervals", "710 deg"),
        (["block.firing_intervals=90 90 90"], "block.firing_intervals", "3 intervals"),
        (["block.banks=1 3 5 7 / 2 4 6"], "block.banks", "missing: 8"),
        (["block.rod_length=3.6 in"], "block.rod_length", "would meet the crank"),
        (["block.compression_ratio=9.5", "block.chamber_volume=64 cc", "block.dish_volume=5.5 cc"],
         "block.compression_ratio",
         "9.50 given"),
        (["block.compression_ratio=9.5", "block.chamber_volume=95 cc"], "block.compression_ratio",
         "9.50 given"),
        (["block.compression_ratio=8.8", "block.chamber_volume=70 cc",
          "block.gasket_bore=3.9 in"], "block.gasket_bore", "smaller than the bore"),
        (["head.intake.valve_diameter=2.4 in", "head.exhaust.valve_diameter=1.9 in"],
         "head.intake.valve_diameter", "the bore of 4 in"),
        (["head.intake.stem_diameter=0.7 in", "head.intake.valve_diameter=1.3 in"],
         "head.intake.stem_diameter", "half"),
        ([SHEET, "head.intake.sheet.flow=65 125 170 200 cfm"], "head.intake.sheet.flow", "4 flows"),
        ([SHEET.replace("0.3 0.4", "0.4 0.3"),
          "head.intake.sheet.flow=65 125 170 200 205 cfm"], "head.intake.sheet.lift", "rise"),
        ([SHEET, "head.intake.sheet.flow=65 125 0 200 210 cfm"], "head.intake.sheet.flow",
         "no flow at 0.3 in"),
        ([SHEET, "head.intake.sheet.flow=65 125 170 180 185 cfm", "head.intake.peak_flow=210 cfm"],
         "head.intake.peak_flow", "185 cfm"),
        (["cam.intake.durations=214 @ 0.050 in, 220 @ 0.200 in"], "cam.intake.durations",
         "fall as the height rises"),
        (["cam.intake.durations=214 @ 0.050 in, 215 @ 0.050 in"], "cam.intake.durations",
         "two durations"),
        (["cam.intake.durations=120 @ 0.200 in"], "cam.intake.durations", "lowest checking"),
        (["cam.intake.durations=214 @ 0.050 in, 20 @ 0.4 in"], "cam.intake.durations", "60 deg"),
        (["cam.intake.durations=268 @ 0.006 in, 168 @ 0.010 in, 160 @ 0.25 in"],
         "cam.intake.durations", "one smooth rising flank"),
        (["cam.intake.lobe_lift=0.320 in", "cam.intake.rocker_ratio=1.5",
          "cam.intake.valve_lift=0.450 in"],
         "cam.intake.valve_lift", "0.48 in implied"),
        (["cam.intake.valve_lift=1.1 in"], "cam.intake.valve_lift", "0.5 x diameter"),
        (["cam.advance=2", "cam.intake_centreline=106"], "cam.advance", "4 implied"),
        (["cam.lifter=bucket", "head.valvetrain=ohv"], "cam.lifter", "push rod"),
        (["intake.runner_lengths=5 5 5 5 in"], "intake.runner_lengths", "4 runner lengths"),
        (["intake.plenum_groups=1 2 3 4 5 6 7 8"], "intake.plenum_groups", "two or more"),
        (["intake.layout=single plenum", "intake.plenum_groups=1 2 3 4 / 5 6 7 8"],
         "intake.plenum_groups", "divided plenum?"),
        (["intake.runner_stations=2 in @ 0, 1.9 in @ 0.5"], "intake.runner_stations", "1 (head)"),
        (["throttle.kind=throttle body"], "throttle.drop", "28 inH2O"),
        (["throttle.kind=none"], "throttle.kind", "with a size"),
        (["intake.layout=open stacks"], "throttle.kind", "none with open stacks"),
        (["throttle.diameter=1 in", "throttle.flow=600 cfm @ 1.5 inHg"], "throttle.flow",
         "bores' area"),
        (["exhaust.layout=3-into-1"], "exhaust.layout", "banks of 3"),
        (["exhaust.collector_diameter=1.2 in"], "exhaust.collector_diameter", "narrower"),
        (["mixture.lambda=0.9 0.8"], "mixture.rpm", "2 speeds"),
        (["mixture.rpm=4000 2000", "mixture.lambda=0.9 0.8"], "mixture.rpm", "ascending"),
        (["mixture.afr=12.8", "mixture.lambda=0.95"], "mixture.afr", "one of the two"),
        (["mixture.afr=12.8", "fuel.name=methanol"], "mixture.afr", "6.47"),
        (["spark.mode=schedule"], "spark.advance", "the advance of the schedule"),
        (["fuel.octane_research=90", "fuel.octane_motor=95"], "fuel.octane_motor", "exchanged"),
        (["numerics.min_cycles=50"], "numerics.min_cycles", "max_cycles"),
    ],
)  # fmt: skip
def test_contradiction(overrides: list[str], path: str, words: str) -> None:
    found = problems(*overrides)
    assert path in {problem.path for problem in found}
    assert any(words in str(problem) for problem in found if problem.path == path), found


@pytest.mark.parametrize(
    "overrides, words",
    [
        # 28 inH2O drive 141 cfm through each square inch, and at 0.1 in lift the curtain of a 2 in
        # valve has 0.628: 400 cfm, 116 of them there by the usual shape, need 1.3 of it.
        (["head.intake.peak_flow=400 cfm @ 28 inH2O"], "a discharge coefficient of 1.3"),
        (["block.rod_length=9.5 in"], "usually 1.35 to 2.5"),
        (["block.stroke=2.1 in"], "are both in the unit that is meant?"),
        (["head.exhaust.valve_diameter=2.02 in", "head.intake.valve_diameter=1.6 in",
          "head.intake.peak_flow=140 cfm", "cam.exhaust.valve_lift=0.5 in"], "exchanged?"),
        (["cam.intake.valve_lift=0.85 in"], "usually 0.2 to 0.35"),
        (["cam.intake.lash=0.010 in"], "0 with a hydraulic lifter"),
        (["cam.intake_centreline=90"], "within 8 deg"),
        # The lobe of 0.36 in over these durations moves a lifter at 0.463 in for each radian: half
        # the face, less 0.020 in.
        (["cam.intake.durations=260 @ 0.006 in, 214 @ 0.050 in", "cam.intake.valve_lift=0.54 in"],
         "takes one of 0.966 in, or a roller"),
        (["cam.lifter=hydraulic roller", "cam.face_diameter=0.9 in"], "has no flat face"),
        (["cam.intake.lobe_lift=0.305 in", "cam.intake.rocker_ratio=1.5",
          "cam.intake.valve_lift=0.450 in"],
         "a ratio of 1.48 would agree"),
        ([SHEET.replace("0.3 0.4 0.5", "0.3"), "head.intake.sheet.flow=70 140 200 cfm",
          "head.intake.peak_flow=200 cfm"], "the flow sheet ends at"),
        (["exhaust.muffler_volume=10 L", "exhaust.muffler=none"], "no effect"),
        (["exhaust.muffler_back_pressure=2 psi", "exhaust.muffler=volume"], "no effect"),
        (["spark.advance=30", "spark.mode=best"], "only begins there"),
        (["cam.events.height=0.1 in", "cam.events.intake_opens=1"], "to have them compared"),
        (["block.compression_ratio=9.05", "block.chamber_volume=72 cc",
          "block.dish_volume=5.5 cc"], "9.00 implied"),
    ],
)  # fmt: skip
def test_doubt(overrides: list[str], words: str) -> None:
    assert words in warned(*overrides)


def test_a_volume_counts_behind_a_back_pressure_too() -> None:
    """The muffler's volume stands before its loss: it moves the torque of a V8 by 1.4 %."""
    found = changed("exhaust.muffler=back-pressure", "exhaust.muffler_volume=10 L")
    assert not [w for w in found.warnings if w.path == "exhaust.muffler_volume"]
    assumed = {item.path for item in changed("exhaust.muffler=back-pressure").assumed}
    assert "exhaust.muffler_volume" in assumed


def test_a_measured_lift_table_takes_the_place_of_durations() -> None:
    angles = " ".join(str(a) for a in range(-130, 140, 10))
    lifts = " ".join(f"{0.45 * max(0.0, 1 - (a / 120) ** 2):.4f}" for a in range(-130, 140, 10))
    cut = TEXT.replace('durations = "214 @ 0.050 in"\nvalve_lift = "0.450 in"', "")
    overrides = (f"cam.intake.lift_table.angle={angles}", f"cam.intake.lift_table.lift={lifts} in")
    case = loads(cut, overrides)
    assert case.cam.intake.durations == ()
    assert case.cam.intake.valve_lift == pytest.approx(0.45 * 0.0254)
    with pytest.raises(CaseError, match="beside a lift table"):
        loads(TEXT, overrides)
    with pytest.raises(CaseError, match=r"lift_table\.lift: found nothing"):
        loads(cut, overrides[:1])


def test_the_smallest_case_raises_no_doubt() -> None:
    assert load(MINIMAL).warnings == ()


def test_a_sheet_that_the_port_cannot_pass() -> None:
    """210 cfm at 28 inH2O need a nozzle of 1.48 in2 (147 cfm a square inch, less what air of
    68 degF is denser), and with the port's friction more: through 1.5 in2 they do not go, and
    `run` would refuse them.
    """
    for area in ("1.2 in2", "1.5 in2"):
        text = said(f"head.intake.port_area_min={area}", *SHEET_210)
        assert "--set: head.intake.sheet: found" in text
        assert f"({area}) can pass" in text
    assert said("head.intake.port_area_min=1.6 in2", *SHEET_210) == ""


def test_a_given_port_too_small_by_volume_and_length() -> None:
    """Nobody gave the section: the message names what it follows from."""
    given = ("head.intake.port_volume=140 cc", "head.intake.port_length=5.4 in")
    text = said(*given, "head.intake.peak_flow=250 cfm")
    assert "(250 cfm) at" in text
    assert "volume over length is 1.582 in2" in text
    assert said(*given, "head.intake.peak_flow=200 cfm") == ""


def test_single_pipes_that_meet_need_a_pipe_behind() -> None:
    words = said("exhaust.layout=single", "exhaust.crossover=true")
    assert "exhaust.crossover" in words
    assert 'tail_length = "60 in"' in words


@pytest.mark.parametrize(
    "path", ["intake.runner_stations", "intake.runner_lengths", "exhaust.primary_lengths"]
)
def test_an_empty_list_is_told_and_breaks_nothing(path: str) -> None:
    entries = dict(changed().given)
    with pytest.raises(CaseError, match=path):
        assemble({**entries, path: ""})
