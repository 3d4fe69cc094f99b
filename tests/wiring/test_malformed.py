"""Wrong input of every kind: exit 2, every problem named, no traceback, nothing written."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from enginesim.base.errors import CaseError
from enginesim.case import load
from enginesim.cli.main import main

MINIMAL = Path(__file__).parents[1] / "cases" / "minimal.toml"
TEXT = MINIMAL.read_text("utf-8")

# Name: what is replaced, by what, and what the message must contain (path, cause).
WRONG_TEXT: dict[str, tuple[str, str, list[str]]] = {
    "unit missing": ('"4.00 in"', "4.00", ["block.bore", "without a unit", '"4 in"']),
    "unit missing in text": ('"4.00 in"', '"4.00"', ["block.bore", "without a unit"]),
    "wrong dimension": ('"4.00 in"', '"4.00 psi"', ["block.bore", "a pressure", "a length"]),
    "unknown unit": ('"4.00 in"', '"4.00 inn"', ["block.bore", "did you mean 'in'"]),
    "no number": ('"4.00 in"', '"four inches"', ["block.bore", "does not begin with a number"]),
    "empty text": ('"4.00 in"', '""', ["block.bore", "does not begin with a number"]),
    "two decimal points": ('"4.00 in"', '"4..0 in"', ["block.bore"]),
    "two numbers": ('"4.00 in"', '"4 3 in"', ["block.bore", "2 numbers stand here"]),
    "decimal point lost": ('"4.00 in"', '"40.3 in"', ["block.bore", "4.03 in or 40.3 mm"]),
    "below zero": ('"4.00 in"', '"-4.00 in"', ["block.bore", "20 mm to 300 mm"]),
    "zero": ('"4.00 in"', '"0 in"', ["block.bore", "20 mm to 300 mm"]),
    "far too large": ('"4.00 in"', '"1e12 in"', ["block.bore", "20 mm to 300 mm"]),
    "too large for a float": ('"4.00 in"', '"1e999 in"', ["block.bore", "too large"]),
    "nan in text": ('"4.00 in"', '"nan in"', ["block.bore", "does not begin with a number"]),
    "inf": ("= 9.5", "= inf", ["block.compression_ratio", "a finite number"]),
    "nan": ("= 9.5", "= nan", ["block.compression_ratio", "a finite number"]),
    "huge integer": ("= 9.5", "= " + "9" * 400, ["block.compression_ratio"]),
    "true for a length": ('"4.00 in"', "true", ["block.bore", "a length"]),
    "list for a length": ('"4.00 in"', '["4 in"]', ["block.bore", "a length"]),
    "table for a length": ('"4.00 in"', "{ value = 4 }", ["block.bore", "a length"]),
    "date for a length": ('"4.00 in"', "1999-01-01", ["block.bore", "a length"]),
    "band of another dimension": ('"4.00 in"', '"4 in +- 3 K"', ["block.bore", "the band"]),
    "band without number": ('"4.00 in"', '"4 in +- x"', ["block.bore", "no number after"]),
    "reference where none belongs": ('"4.00 in"', '"4 in @ 3 in"', ["block.bore", "follow @"]),
    "ratio with a unit": ("= 9.5", '= "9.5 in"', ["block.compression_ratio", "a length"]),
    "ratio out of range": ("= 9.5", "= 95", ["block.compression_ratio", "did you mean 9.5?"]),
    "unknown key": ("bore =", "boer =", ["block.boer", "did you mean bore?", "block.bore"]),
    "unknown table": ("[exhaust]", "[exhuast]", ["exhuast", "did you mean exhaust?"]),
    "unknown choice": ("divided plenum", "divded plenum", ["did you mean 'divided plenum'?"]),
    "number for a choice": ('"carburettor"', "4", ["throttle.kind", "one of"]),
    "number for a table": ("[throttle]", "[t]", ["unknown key", "throttle.kind"]),
    "number for a name": ('"Smallest case"', "7", ["name", "a text"]),
    "wrong reference unit": ("@ 28 inH2O", "@ 28 in", ["head.intake.peak_flow", "a pressure"]),
    "reference out of range": ("@ 28 inH2O", "@ 280 inH2O", ["80 inH2O", "28 inH2O"]),
    "mass flow for cfm": ('"600 cfm"', '"600 lb/h"', ["throttle.flow", "a mass flow"]),
    "height missing": ("214 @ 0.050 in", "214 deg", ["cam.intake.durations", "pairs with @"]),
    "height without unit": ("214 @ 0.050 in", "214 @ 0.050", ["cam.intake.durations", "0.05"]),
    "height is an angle": ("214 @ 0.050 in", "214 @ 50 deg", ["cam.intake.durations", "a length"]),
    "height above the lift": ("214 @ 0.050 in", "260 @ 0.006 in, 90 @ 0.4 in",
                              ["cam.intake.durations", "below the lift"]),
    "durations that rise": ("214 @ 0.050 in", "214 @ 0.050 in, 230 @ 0.2 in",
                            ["cam.intake.durations", "fall as the height rises"]),
    "duration in inches": ("214 @ 0.050 in", "214 in @ 0.050 in", ["a length", "an angle"]),
    "lift missing": ('valve_lift = "0.450 in"', "", ["cam.intake.valve_lift", "nothing"]),
    "lift in the wrong unit": ('"0.450 in"', '"0.450 mm"', ["cam.intake.valve_lift", "0.45 in"]),
    "throttle size missing": ('flow = "600 cfm"', "", ["throttle.flow", "650 cfm @ 1.5 inHg"]),
    "header size missing": ('primary_diameter = "1.525 in"', "", ["exhaust.primary_diameter"]),
    "broken: no quote": ('"4.00 in"', '"4.00 in', [":5", "broken TOML"]),
    "broken: bare unit": ('"4.00 in"', "4.00 in", [":5", "broken TOML", "in quotes"]),
    "broken: no value": ('"4.00 in"', "", [":5", "broken TOML"]),
    "broken: key twice": ('bore = "4.00 in"', 'bore = "4 in"\nbore = "4 in"', ["broken TOML"]),
    "broken: table twice": ("[exhaust]", "[block]\n[exhaust]", ["broken TOML"]),
    "broken: open bracket": ("[exhaust]", "[exhaust", ["broken TOML"]),
    "array of tables": ("[throttle]", "[[throttle]]", ["throttle", "a table"]),
    "part is missing": ("[cam.intake]", 'intake = "no.toml"\n[cam.x]', ["cam.intake", "no file"]),
}  # fmt: skip

# Name: overrides of the sound case, and what the message must contain.
WRONG_OVERRIDE: dict[str, tuple[list[str], list[str]]] = {
    "unknown path": (["cam.lobe_seperation=112"], ["--set", "did you mean cam.lobe_separation?"]),
    "last name alone": (["bore=4 in"], ["--set", "did you mean block.bore?"]),
    "no value": (["cam.lobe_separation"], ["--set", "path=value"]),
    "empty value": (["cam.lobe_separation="], ["--set", "path=value"]),
    "part file missing": (["cam=parts/none.toml"], ["--set", "cam", "no file", "no folder"]),
    "not a permutation": (["block.firing_order=1-8-4-3-6-5-7-7"],
                          ["block.firing_order", "missing: 2; more than once: 7"]),
    "cylinder that is not there": (["block.firing_order=1-8-4-3-6-5-7-9"], ["no such cylinder: 9"]),
    "firing order of words": (["block.firing_order=one two"], ["block.firing_order", "1-3-4-2"]),
    "half a cylinder": (["block.n_cylinders=7.5"], ["block.n_cylinders", "a whole number"]),
    "no cylinder": (["block.n_cylinders=0"], ["block.n_cylinders", "1 to 16"]),
    "no usual firing order": (["block.n_cylinders=9"], ["block.firing_order", "the 9 cylinders"]),
    "intervals that do not sum": (["block.firing_intervals=90 90 90 90 90 90 90 91"], ["721 deg"]),
    "banks that overlap": (["block.banks=1 2 3 4 / 4 5 6 7"], ["more than once: 4", "missing: 8"]),
    "ratio against pieces": (["block.compression_ratio=9.5", "block.chamber_volume=64 cc",
                              "block.dish_volume=5.5 cc",
                              "block.gasket_thickness=0.040 in", "block.deck_clearance=0.015 in"],
                             ["9.50 given", "implied by chamber"]),
    "dome larger than the chamber": (["block.compression_ratio=9.5", "block.chamber_volume=20 cc",
                                      "block.dish_volume=-50 cc"], ["block."]),
    "valves that do not fit": (["head.intake.valve_diameter=2.5 in",
                                "head.exhaust.valve_diameter=1.6 in"],
                               ["head.intake.valve_diameter", "the bore of 4 in"]),
    "four valves that do not fit": (["head.intake.n_valves=2", "head.intake.valve_diameter=2.1 in"],
                                    ["two intake valves of 4.2 in"]),
    "stem thicker than the valve": (["head.exhaust.stem_diameter=0.79 in",
                                     "head.exhaust.valve_diameter=1.5 in"], ["stem_diameter"]),
    "sheet unsorted": (["head.intake.sheet.lift=0.1 0.3 0.2 0.4 in",
                        "head.intake.sheet.flow=65 125 170 200 cfm"], ["sheet.lift", "unsorted"]),
    "sheet of two lengths": (["head.intake.sheet.lift=0.1 0.3 0.4 in",
                              "head.intake.sheet.flow=65 125 170 200 cfm"], ["4 flows for 3"]),
    "sheet without flow": (["head.intake.sheet.lift=0.1 0.3 in"], ["sheet.flow", "nothing"]),
    "sheet below zero": (["head.intake.sheet.lift=0.1 0.3 in",
                          "head.intake.sheet.flow=-65 125 cfm"], ["sheet.flow", "0 cfm"]),
    "printed events contradict": (["cam.events.exhaust_opens=76", "cam.intake_centreline=106"],
                                  ["EO 76 printed, 44 implied"]),
    "lift against lobe": (["cam.intake.valve_lift=0.450 in", "cam.intake.lobe_lift=0.350 in",
                            "cam.intake.rocker_ratio=1.5"],
                          ["0.525 in implied", "a ratio of 1.29 would agree"]),
    "separation in millimetres": (["cam.lobe_separation=110 mm"], ["a length", "an angle"]),
    "separation of radians": (["cam.lobe_separation=1.92"], ["80 deg to 140 deg", "1.92 rad"]),
    "runner list": (["intake.runner_lengths=5 5 5 in"], ["3 runner lengths", "8"]),
    "schedule lengths": (["mixture.rpm=1000 2000 3000", "mixture.lambda=0.9 0.8"],
                         ["2 values for 3 speeds"]),
    "speeds fall": (["spark.rpm=3000 1000", "spark.advance=30 10"], ["ascending speeds"]),
    "humidity of forty": (["air.humidity=40"], ["air.humidity", "0.4"]),
    "pressure at the moon": (["air.pressure=1 Pa"], ["air.pressure", "50 kPa to 110 kPa"]),
    "below absolute zero": (["air.temperature=-500 degC"], ["air.temperature"]),
    "unknown fuel": (["fuel.name=gasoline 92"], ["fuel.name", "did you mean 'gasoline 9"]),
    "layout against banks": (["exhaust.layout=2-into-1", "block.banks=1 3 5 7 / 2 4 6 8"],
                             ["banks of 2"]),
    "switch of words": (["exhaust.crossover=maybe"], ["true or false"]),
    "cell of a kilometre": (["numerics.cell_size=1000 m"], ["numerics.cell_size"]),
}  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def refused(arguments: list[str], folder: Path, capfd: pytest.CaptureFixture[str]) -> str:
    """What the program says; it must refuse with code 2 and leave the folder alone."""
    before = sorted(path.name for path in folder.iterdir())
    code = main(arguments)
    out, err = capfd.readouterr()
    assert code == 2
    assert out == ""
    assert "Traceback" not in err
    assert sorted(path.name for path in folder.iterdir()) == before
    return err


def test_there_are_enough_of_them() -> None:
    assert len(WRONG_TEXT) + len(WRONG_OVERRIDE) >= 80


@pytest.mark.parametrize("name", WRONG_TEXT)
def test_wrong_text(name: str, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    old, new, words = WRONG_TEXT[name]
    assert old in TEXT
    (folder / "case.toml").write_text(TEXT.replace(old, new, 1))
    said = refused(["check", "case.toml"], folder, capfd)
    assert [word for word in words if word not in said] == [], said
    assert "case.toml" in said


@pytest.mark.parametrize("name", WRONG_OVERRIDE)
def test_wrong_override(name: str, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    overrides, words = WRONG_OVERRIDE[name]
    (folder / "case.toml").write_text(TEXT)
    arguments = [word for override in overrides for word in ("--set", override)]
    said = refused(["check", "case.toml", *arguments], folder, capfd)
    assert [word for word in words if word not in said] == [], said


def test_all_problems_at_once_each_with_its_line(
    folder: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    text = TEXT
    for old, new in [
        ('"4.00 in"', '"40.3 in"'),
        ('"3.50 in"', "3.50"),
        ("divided plenum", "devided plenum"),
        ("primary_diameter", "primary_diametre"),
        ("lobe_separation = 110", "lobe_separation = 11"),
    ]:
        text = text.replace(old, new)
    (folder / "case.toml").write_text(text)
    said = refused(["check", "case.toml", "--set", "air.humidity=2"], folder, capfd)
    for key in ("bore", "stroke", "layout", "primary_diametre", "lobe_separation"):
        where = [i + 1 for i, row in enumerate(text.splitlines()) if row.startswith(key)]
        assert any(f"case.toml:{line}: " in said for line in where), key
    assert "--set: air.humidity" in said
    assert said.startswith("7 problems")  # the seventh: the primary diameter is not given


GIVES_WAY = {
    "pieces of the ratio": (["block.compression_ratio=9.5", "block.chamber_volume=64 cc"],
                            "block.dish_volume", "8.147 cc"),
    "the other valve": (["head.intake.valve_diameter=2.5 in"], "head.exhaust.valve_diameter",
                        "1.58 in"),
    "banks": (["exhaust.layout=2-into-1"], "block.banks", "1 5 / 3 7 / 6 8 / 2 4"),
}  # fmt: skip


@pytest.mark.parametrize("name", GIVES_WAY)
def test_a_default_gives_way_to_what_was_given(
    name: str, folder: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    overrides, field, value = GIVES_WAY[name]
    (folder / "case.toml").write_text(TEXT)
    arguments = [word for override in overrides for word in ("--set", override)]
    assert main(["check", "case.toml", *arguments]) == 0
    (row,) = [
        line for line in capfd.readouterr().out.splitlines() if line.strip().startswith(field)
    ]
    assert value in row
    assert "gives way to what was given; usual would be" in row


class TestFiles:
    def test_missing(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        (folder / "boat.toml").write_text(TEXT)
        said = refused(["check", "baot.toml"], folder, capfd)
        assert "no file baot.toml" in said
        assert "did you mean boat.toml?" in said

    @pytest.mark.parametrize("name", ["nope.toml", "notes.toml", "engine-9.toml"])
    def test_missing_with_no_name_near(
        self, name: str, folder: Path, capfd: pytest.CaptureFixture[str]
    ) -> None:
        """Another file in the folder is no help where it is not the same but for a slip."""
        for other in ("pyproject.toml", "parts.toml", "case-of-today.toml"):
            (folder / other).write_text(TEXT)
        for command in (["check", name], ["sweep", name, "--vary", "cam.lobe_separation=1:2:1"]):
            said = refused(command, folder, capfd)
            assert f"no file {name}" in said
            assert "did you mean" not in said

    def test_missing_folder(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        assert "there is no folder" in refused(["check", "no/case.toml"], folder, capfd)

    def test_folder(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        assert "a folder" in refused(["check", "."], folder, capfd)

    def test_empty(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        (folder / "case.toml").write_text("")
        assert "an empty file" in refused(["check", "case.toml"], folder, capfd)

    def test_comments_only(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        (folder / "case.toml").write_text("# nothing\n\n")
        assert "an empty file" in refused(["check", "case.toml"], folder, capfd)

    def test_binary(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        (folder / "case.toml").write_bytes(bytes(range(256)))
        assert "no UTF-8 text" in refused(["check", "case.toml"], folder, capfd)

    def test_zero_bytes(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        (folder / "case.toml").write_bytes(b"\0" * 100)
        assert "broken TOML" in refused(["check", "case.toml"], folder, capfd)

    def test_utf_16(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        (folder / "case.toml").write_bytes(TEXT.encode("utf-16"))
        assert "no UTF-8 text" in refused(["check", "case.toml"], folder, capfd)

    def test_far_too_large(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        (folder / "case.toml").write_text("#" * 2_000_000)
        assert "larger than" in refused(["check", "case.toml"], folder, capfd)

    def test_deeply_nested(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        (folder / "case.toml").write_text("a = " + "[" * 50_000)
        assert "broken TOML" in refused(["check", "case.toml"], folder, capfd)

    def test_no_ordinary_file(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        os.mkfifo(folder / "case.toml")
        assert "no ordinary file" in refused(["check", "case.toml"], folder, capfd)

    @pytest.mark.skipif(not Path("/proc/self/mem").exists(), reason="needs Linux")
    def test_unreadable(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        # Permissions do not stop root; reading this file from its start fails for everybody.
        assert "cannot be read" in refused(["check", "/proc/self/mem"], folder, capfd)

    @pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
    def test_forbidden(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        (folder / "case.toml").write_text(TEXT)
        (folder / "case.toml").chmod(0)
        assert "cannot be read" in refused(["check", "case.toml"], folder, capfd)

    def test_name_too_long(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        assert "cannot be read" in refused(["check", "x" * 5000], folder, capfd)

    def test_name_with_a_zero_byte(self) -> None:
        # No command line can carry one; a caller from Python can.
        with pytest.raises(CaseError, match="a name with the character U"):
            load("a\0b")

    def test_part_that_names_itself(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        (folder / "case.toml").write_text('block = "case.toml"\n')
        assert "block.block: found an unknown key" in refused(["check", "case.toml"], folder, capfd)


class TestCommands:
    def test_unknown_command(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        assert "did you mean 'check'?" in refused(["chek", "case.toml"], folder, capfd)

    def test_no_case(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        assert "Missing argument" in refused(["check"], folder, capfd)

    def test_unknown_units(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        said = refused(["check", "case.toml", "--units", "imperial"], folder, capfd)
        assert "'us', 'si'" in said

    def test_new_with_a_wrong_number(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        said = refused(["new", "case.toml", "--bore", "40.3 in"], folder, capfd)
        assert "did you mean 4.03 in or 40.3 mm?" in said
        assert "exhaust.primary_diameter" in said

    def test_new_does_not_replace(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        (folder / "case.toml").write_text("mine")
        said = refused(["new", "case.toml"], folder, capfd)
        assert "--force" in said
        assert (folder / "case.toml").read_text() == "mine"

    def test_new_in_no_folder(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        assert "no folder" in refused(["new", "no/case.toml"], folder, capfd)

    def test_new_over_a_folder(self, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        (folder / "case").mkdir()
        assert "is a folder" in refused(["new", "case", "--force"], folder, capfd)
