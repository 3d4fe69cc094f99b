"""Input that nobody would type in earnest: refused in words, at once, and briefly."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from enginesim.base.text_file import LARGEST
from enginesim.cli.main import main
from tests.patience import PATIENCE

CASE = (Path(__file__).parents[1] / "cases" / "minimal.toml").read_text("utf-8")
VEHICLE = (Path(__file__).parents[2] / "cases" / "vehicles" / "estate.toml").read_text("utf-8")
_LONGEST = 20_000  # characters of all that may be said: 20 problems, each of a few lines


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "case.toml").write_text(CASE)
    (tmp_path / "vehicle.toml").write_text(VEHICLE)
    return tmp_path


def refused(arguments: list[str], capfd: pytest.CaptureFixture[str]) -> str:
    """What the program says to wrong input: code 2, nothing on the screen but the reason."""
    code = main(arguments)
    out, err = capfd.readouterr()
    assert (code, out) == (2, ""), err[-2000:]
    assert "Traceback" not in err
    assert len(err) < _LONGEST
    return err


def refused_by_process(arguments: list[str], folder: Path) -> str:
    """The same from a process of its own, which may be ended if it hangs."""
    done = subprocess.run(
        [sys.executable, "-m", "enginesim.cli.main", *arguments],
        cwd=folder, capture_output=True, timeout=PATIENCE, check=False, stdin=subprocess.DEVNULL,
        env=os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])},
    )  # fmt: skip
    said = done.stderr.decode()
    assert (done.returncode, done.stdout) == (2, b""), said[-2000:]
    assert "Traceback" not in said
    assert len(said) < _LONGEST
    return said


NINES = "9" * 5000

# Name: what is replaced in the sound case, by what, and what the message must contain.
TEXTS: dict[str, tuple[str, str, list[str]]] = {
    "integer of 5000 digits": ("= 9.5", f"= {NINES}", ["more than 64 bits"]),
    "hexadecimal of 5000 digits": ("= 9.5", "= 0x" + "f" * 5000, ["compression_ratio", "64 bits"]),
    "whole number of 65 bits": ("= 9.5", f"= {2**64}", ["block.compression_ratio", "64 bits"]),
    "such a number in a list": (
        "bore =", "firing_order = [1, 0x" + "f" * 5000 + "]\nbore =", ["firing_order", "64 bits"],
    ),
    "text of 5000 digits": ('"4.00 in"', f'"{NINES} in"', ["block.bore", "30 digits"]),
    "fraction that overflows": ('"4.00 in"', f'"{NINES}/3 in"', ["block.bore", "30 digits"]),
    "fraction of a small part": ('"4.00 in"', f'"1/{NINES} in"', ["block.bore", "30 digits"]),
    "power that overflows": ('"4.00 in"', '"4 in^999"', ["block.bore", "power above 9"]),
    "power of 5000 digits": ('"4.00 in"', f'"4 in^{"1" * 5000}"', ["block.bore"]),
    "powers that overflow": ('"4.00 in"', '"4 ' + "*".join(["mi^9"] * 12) + '"', ["not a unit"]),
    "exponent of 5 digits": ('"4.00 in"', '"4e99999 in"', ["block.bore", "too large a number"]),
    "digits of another script": ('"4.00 in"', '"\u0664 in"', ["block.bore", "write 0 to 9"]),
    "wide digits": ('"4.00 in"', '"\uff14 in"', ["block.bore", "write 0 to 9"]),
    "digits in a firing order": ("bore =", 'firing_order = "\u0661-2"\nbore =', ["firing_order"]),
    "band without end": ('"4.00 in"', '"4 in +- 1e999 in"', ["block.bore", "band"]),
    "band of 1e308": ('"4.00 in"', '"4 in +- 1e308 in"', ["block.bore", "a band"]),
    "band wider than the range": ('"4.00 in"', '"4 in +- 20 in"', ["block.bore", "a band"]),
    "deep key": ("bore =", "a." * 200_000 + "a = 1\nbore =", ["32 levels"]),
    "deep table": ("[throttle]", f"[{'a.' * 5000}a]\n[throttle]", ["32 levels"]),
    "deep list": ("= 9.5", f"= {'[' * 400}1{']' * 400}", ["32 levels"]),
    "deep inline tables": ("= 9.5", f"= {'{a=' * 400}1{'}' * 400}", ["32 levels"]),
    "quoted deep key": ("bore =", '"a".' * 50 + "a = 1\nbore =", ["32 levels"]),
    "@ after @": ('"4.00 in"', '"4 in' + " @ 3 in" * 3000 + '"', ["more than one @"]),
}  # fmt: skip


@pytest.mark.parametrize("name", TEXTS)
def test_a_number_or_key_too_long_is_refused_in_words(
    name: str, folder: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    old, new, words = TEXTS[name]
    assert old in CASE
    (folder / "case.toml").write_text(CASE.replace(old, new, 1))
    said = refused(["check", "case.toml"], capfd)
    assert [word for word in words if word not in said] == [], said
    assert "case.toml" in said


# Name: text of the case, built so that a reader whose time grows with the square takes minutes.
LONG: dict[str, str] = {
    "list of 60,000 lines": "block.banks = [\n" + "1,\n" * 60_000 + "]\n",
    "pairs of 60,000 lines": "[cam.intake]\ndurations = [\n" + '"2 @ 1 in",\n' * 60_000 + "]\n",
    "word 140,000 times": f'intake.layout = "{"intake " * 140_000}"\n',
    "60,000 unknown keys": "".join(f"k{i} = 1\n" for i in range(60_000)),
    "unknown key of 900,000 letters": f'{"bore" * 225_000} = "4 in"\n',
    "number of 900,000 digits": f'block.bore = "{"9" * 900_000} in"\n',
    "900,000 blanks": f'block.bore = "4{" " * 900_000}in @ x"\n',
    "no end of a string": 'block.bore = """' + '\\"' * 450_000,
    "900,000 quotes": "block.bore = " + '"' * 900_000,
    "60,000 lines of a string": 'notes = """\n' + "x\n" * 60_000 + '"""\n',
    "60,000 tables": "".join(f"[t{i}]\n" for i in range(60_000)),
}


@pytest.mark.parametrize("name", LONG)
def test_a_long_file_is_refused_at_once_and_briefly(name: str, folder: Path) -> None:
    (folder / "case.toml").write_text(LONG[name])
    assert "case.toml" in refused_by_process(["check", "case.toml"], folder)


def test_of_many_problems_twenty_are_told_and_the_rest_counted(
    folder: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    (folder / "case.toml").write_text("".join(f"k{i:02} = 1\n" for i in range(30)) + CASE)
    said = refused(["check", "case.toml"], capfd)
    lines = said.splitlines()
    assert lines[0] == "30 problems:"
    assert "k00" in lines[1]
    assert "k19" in lines[20]
    assert lines[21].strip() == "... and 10 more"


def test_what_was_typed_is_repeated_to_sixty_characters(
    folder: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    said = refused(["check", "case.toml", "--set", f"block.bore={'four ' * 20_000}"], capfd)
    assert "'" + ("four " * 20)[:57] + "...'" in said
    assert ("four " * 20)[:62] not in said
    said = refused(["check", "case.toml", "--units", "z" * 50_000], capfd)
    assert "zzz...'" in said
    assert "z" * 62 not in said


class TestFiles:
    @pytest.mark.parametrize("option", ["--weights", "--vehicle", "--set", "--swap"])
    def test_a_pipe_is_not_waited_for(self, option: str, folder: Path) -> None:
        os.mkfifo(folder / "pipe")
        arguments = {
            "--weights": ["compare", "case.toml", "--swap", "cam.advance=4", "--weights", "pipe"],
            "--vehicle": ["accelerate", "case.toml", "--vehicle", "pipe"],
            "--set": ["check", "case.toml", "--set", "cam=pipe"],
            "--swap": ["compare", "case.toml", "--swap", "cam=pipe"],
        }[option]
        assert "no ordinary file" in refused_by_process(arguments, folder)

    def test_a_pipe_is_no_study(self, folder: Path) -> None:
        os.mkfifo(folder / "pipe")
        assert "no ordinary file" in refused_by_process(["sweep", "pipe"], folder)

    @pytest.mark.parametrize(
        "arguments",
        [
            ["check", "big"],
            ["check", "case.toml", "--set", "cam=big"],
            ["sweep", "big"],
            ["accelerate", "case.toml", "--vehicle", "big"],
            ["compare", "case.toml", "--swap", "cam.advance=4", "--weights", "big"],
        ],
        ids=["case", "part", "study", "vehicle", "weights"],
    )
    def test_a_large_file_is_not_read(
        self, arguments: list[str], folder: Path, capfd: pytest.CaptureFixture[str]
    ) -> None:
        (folder / "big").write_text("#" * (LARGEST + 1))
        assert "big, which is larger than 1000000 bytes" in refused(arguments, capfd)

    @pytest.mark.skipif(not Path("/dev/zero").exists(), reason="needs a Unix")
    def test_a_device_is_not_read(self, capfd: pytest.CaptureFixture[str]) -> None:
        assert "no ordinary file" in refused(["check", "/dev/zero"], capfd)


class TestSpeeds:
    @pytest.mark.usefixtures("folder")
    @pytest.mark.parametrize(
        "spec",
        [
            "2000:1e15",
            "2000:" + "9" * 400,
            "9" * 400,
            "2000:3000:0." + "0" * 400 + "1",
            "\u0662\u0660\u0660\u0660",
        ],
    )
    def test_rpm(self, spec: str, capfd: pytest.CaptureFixture[str]) -> None:
        assert "--rpm: found" in refused(["run", "case.toml", "--rpm", spec], capfd)

    @pytest.mark.usefixtures("folder")
    @pytest.mark.parametrize("span", ["2000:" + "9" * 400, "nan:inf", "2000:1e999"])
    def test_window(self, span: str, capfd: pytest.CaptureFixture[str]) -> None:
        swap = ["--swap", "cam.advance=4"]
        said = refused(["compare", "case.toml", *swap, "--window", span], capfd)
        assert "--window: found" in said

    @pytest.mark.parametrize("row", ["2000,nan", "inf,1", "2000," + "9" * 400, "1e999,1"])
    def test_weights(self, row: str, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
        (folder / "lap.csv").write_text(f"2000,1\n{row}\n3000,1\n")
        swap = ["--swap", "cam.advance=4"]
        said = refused(["compare", "case.toml", *swap, "--weights", "lap.csv"], capfd)
        assert "lap.csv:2: found" in said


# Options of a study, and what the message must contain.
STUDIES: dict[str, tuple[list[str], list[str]]] = {
    "values of 400 digits": (["--vary", "cam.advance=0:" + "9" * 400], ["30 digits"]),
    "digits of another script": (["--vary", "cam.advance=\u0660,\u0664"], ["write 0 to 9"]),
    "formula of 400 digits": (
        ["--vary", "cam.advance=0,4", "--link", f"cam.lobe_separation={'9' * 400} * cam.advance"],
        ["--link", "30 digits"],
    ),
    "formula of a great power": (
        ["--vary", "cam.advance=0,4", "--link", "block.bore=1 in^999 * cam.advance"],
        ["--link", "power above 9"],
    ),
    "limit of 400 digits": (
        ["--vary", "cam.advance=0,4", "--limit", f"overlap <= {'9' * 400} deg"], ["30 digits"],
    ),
    "limit of 100,000 blanks": (
        ["--vary", "cam.advance=0,4", "--limit", f"overlap{' ' * 100_000}x"], ["50000 characters"],
    ),
    "aim of 400 digits": (
        ["--vary", "cam.advance=0,4", "--aim", f"torque at {'9' * 400}"], ["30 digits"],
    ),
    "name as a variable": (["--vary", "name=a,b"], ["name", "changes no result"]),
    "notes as a variable": (["--vary", "notes=a,b"], ["notes", "changes no result"]),
}  # fmt: skip


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("name", STUDIES)
def test_study(name: str, capfd: pytest.CaptureFixture[str]) -> None:
    options, words = STUDIES[name]
    said = refused(["sweep", "case.toml", "--rpm", "3000", *options], capfd)
    assert [word for word in words if word not in said] == [], said


def test_a_deep_study_is_refused(folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    (folder / "study.toml").write_text(f'case = "case.toml"\nvary.{"a." * 5000}a = 1\n')
    assert "study.toml:2: found broken TOML" in refused(["sweep", "study.toml"], capfd)


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize(
    "arguments",
    [
        ["sheet", "case.toml", "--kind", "injector", "--duty", "nan"],
        ["sheet", "case.toml", "--kind", "injector", "--duty", "inf"],
        ["sheet", "case.toml", "--kind", "injector", "--duty", "\u0660.\u0668"],
        ["run", "case.toml", "--jobs", "\u0663"],
        ["run", "case.toml", "--jobs", NINES],
        ["sweep", "case.toml", "--vary", "cam.advance=0,4", "--time-limit", "nan"],
        ["sweep", "case.toml", "--vary", "cam.advance=0,4", "--time-limit", "1e400"],
        ["sweep", "case.toml", "--vary", "cam.advance=0,4", "--seed", NINES],
        ["sweep", "case.toml", "--vary", "cam.advance=0,4", "--seed", "1_000"],
    ],
    ids=lambda words: "-".join(word[:12] for word in words[-2:]),
)
def test_a_number_among_the_options(
    arguments: list[str], capfd: pytest.CaptureFixture[str]
) -> None:
    said = refused(arguments, capfd)
    assert f"Invalid value for '{arguments[-2]}': found " in said
