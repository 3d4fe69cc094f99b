"""The commands `new` and `check`, from the words typed to the words shown."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from enginesim.case import load
from enginesim.cli.cautions import CAUTIONS
from enginesim.cli.main import COMMANDS, main
from tests.wiring.terminal import on_terminal

ROOT = Path(__file__).parents[2]
MINIMAL = ROOT / "tests" / "cases" / "minimal.toml"

TWELVE = {
    "bore": "4.00 in",
    "stroke": "3.50 in",
    "compression-ratio": "9.5",
    "intake-flow": "210 cfm @ 28 inH2O",
    "lobe-separation": "110",
    "intake-duration": "214 @ 0.050 in",
    "exhaust-duration": "220 @ 0.050 in",
    "intake-lift": "0.450 in",
    "exhaust-lift": "0.460 in",
    "manifold": "divided plenum",
    "throttle": "carburettor",
    "throttle-flow": "600 cfm",
    "exhaust": "4-into-1",
    "primary-diameter": "1.525 in",
}
OPTIONS = [word for name, value in TWELVE.items() for word in (f"--{name}", value)]


def shown(arguments: list[str], capfd: pytest.CaptureFixture[str]) -> str:
    assert main(arguments) == 0
    out, err = capfd.readouterr()
    assert err == ""
    return " ".join(out.split())


class TestCheck:
    def test_derived_numbers(self, capfd: pytest.CaptureFixture[str]) -> None:
        text = shown(["check", str(MINIMAL)], capfd)
        assert "displacement 351.9 in3 (5.766 L)" in text
        assert "compression ratio 9.50" in text
        # IO 1 IC 33 EO 44 EC -4, overlap -3: 214/220, separation 110, centreline 106.
        assert "0.05 in 214.0 220.0 1.0 33.0 44.0 -4.0 -3.0" in text
        assert "0.006 in 260.0 266.0 24.0 56.0 67.0 19.0 43.0" in text
        assert "forged, heavy duty: 4000 ft/min at 6857 rpm" in text

    def test_everything_assumed_is_shown_with_its_source(
        self, capfd: pytest.CaptureFixture[str]
    ) -> None:
        text = shown(["check", str(MINIMAL)], capfd)
        for item in load(MINIMAL).assumed:
            assert item.path in text
            assert " ".join(item.source.split()) in text

    def test_cautions(self, capfd: pytest.CaptureFixture[str]) -> None:
        text = shown(["check", str(MINIMAL), "--brief"], capfd)
        for caution in CAUTIONS:
            assert caution in text
        assert "values assumed" in text
        assert "block.rod_length" not in text

    def test_units_and_override(self, capfd: pytest.CaptureFixture[str]) -> None:
        arguments = ["check", str(MINIMAL), "--units", "si", "--set", "cam.lobe_separation=112"]
        text = shown(arguments, capfd)
        assert "101.6 mm x 88.9 mm" in text
        assert re.search(r"displacement [\d.]+ L bore", text)  # once, not "5.766 L (5.766 L)"
        assert "centreline 108" in text
        assert " in " not in text.split("Assumed")[0].replace("in the", "")

    def test_warnings(self, capfd: pytest.CaptureFixture[str]) -> None:
        text = shown(["check", str(MINIMAL), "--set", "block.rod_length=9 in"], capfd)
        assert "Warnings - --set: block.rod_length: found 2.57 x stroke" in text

    def test_pieces_of_the_clearance(
        self, tmp_path: Path, capfd: pytest.CaptureFixture[str]
    ) -> None:
        case = tmp_path / "case.toml"
        text = MINIMAL.read_text("utf-8")
        case.write_text(text.replace("compression_ratio = 9.5", 'chamber_volume = "68 cc"'))
        said = shown(["check", str(case)], capfd)
        assert "of which chamber 68 cc" in said
        assert "of which gasket 8.5" in said

    def test_nothing_is_written(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
    ) -> None:
        monkeypatch.chdir(tmp_path)
        shown(["check", str(MINIMAL)], capfd)
        assert list(tmp_path.iterdir()) == []


class TestNew:
    def test_twelve_numbers_make_the_smallest_case(
        self, tmp_path: Path, capfd: pytest.CaptureFixture[str]
    ) -> None:
        file = tmp_path / "case.toml"
        said = shown(["new", str(file), *OPTIONS, "--name", "Smallest case"], capfd)
        assert "values assumed and listed in the file" in said
        made = load(file)
        assert made.digest == load(MINIMAL).digest
        assert made.name == "Smallest case"
        assert [p.name for p in tmp_path.iterdir()] == ["case.toml"]

    def test_every_assumption_stands_in_the_file_with_source_and_band(
        self, tmp_path: Path, capfd: pytest.CaptureFixture[str]
    ) -> None:
        file = tmp_path / "case.toml"
        shown(["new", str(file), *OPTIONS], capfd)
        text = file.read_text("utf-8")
        for item in load(file).assumed:
            assert f"{item.path.rpartition('.')[2]} = " in text
            assert item.source in text
            assert not item.band or f"1 sigma {item.band}" in text

    def test_force_replaces(self, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
        file = tmp_path / "case.toml"
        file.write_text("mine")
        shown(["new", str(file), *OPTIONS, "--force"], capfd)
        assert load(file).block.n_cylinders == 8

    def test_other_fields(self, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
        file = tmp_path / "case.toml"
        more = ["--cylinders", "4", "--set", "fuel.name=e10", "--set", "spark.mode=best"]
        shown(["new", str(file), *OPTIONS, *more], capfd)
        made = load(file)
        assert (made.block.n_cylinders, made.fuel.name, made.spark.mode) == (4, "e10", "best")

    def test_a_failed_write_leaves_nothing(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
    ) -> None:
        def full(*_: object) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(Path, "replace", full)
        assert main(["new", str(tmp_path / "case.toml"), *OPTIONS]) == 2
        assert "No space left" in capfd.readouterr().err
        assert list(tmp_path.iterdir()) == []


def test_tables_are_ruled_on_a_terminal() -> None:
    text = on_terminal(["check", str(MINIMAL), "--brief"])
    assert "─" in text
    assert "351.9 in3" in text


class TestStart:
    """What is loaded decides how long a command takes to answer."""

    def loaded(self, *arguments: str) -> set[str]:
        program = (
            "import sys, contextlib, io\n"
            "from enginesim.cli.main import main\n"
            "with contextlib.redirect_stdout(io.StringIO()):\n"
            f"    main({list(arguments)!r})\n"
            "print(*sys.modules)"
        )
        done = subprocess.run(
            [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
        )
        return set(done.stdout.split())

    def test_help_loads_nothing_but_click(self) -> None:
        heavy = {"numpy", "rich", "scipy", "numba", "cantera", "matplotlib"}
        assert not heavy & self.loaded("--help")

    def test_check_loads_nothing_heavy(self) -> None:
        # numpy it may: without the lobe, check could not say that no flat face follows it
        heavy = {"rich", "scipy", "numba", "cantera", "matplotlib", "pint", "tomli_w"}
        assert not heavy & self.loaded("check", str(MINIMAL))

    @pytest.mark.bench
    @pytest.mark.parametrize(
        "arguments, limit", [(["--help"], 0.2), (["check", str(MINIMAL)], 0.4)]
    )
    def test_time_to_answer(self, arguments: list[str], limit: float) -> None:
        # Time of the processor, best of five: a busy machine only adds to it.
        def once() -> float:
            before = os.times()
            subprocess.run(
                [sys.executable, "-m", "enginesim.cli.main", *arguments],
                cwd=ROOT,
                stdout=subprocess.DEVNULL,
                check=True,
            )
            after = os.times()
            return (
                after.children_user
                + after.children_system
                - before.children_user
                - before.children_system
            )

        assert min(once() for _ in range(5)) < limit


def test_help_lists_every_command(capfd: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    text = capfd.readouterr().out
    for name, what in COMMANDS.items():
        assert name in text
        assert what in text


def test_version(capfd: pytest.CaptureFixture[str]) -> None:
    import enginesim

    assert main(["--version"]) == 0
    assert enginesim.__version__ in capfd.readouterr().out


def test_an_interruption_is_130(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("enginesim.case.check", stopped)
    assert main(["check", str(MINIMAL)]) == 130
    assert "Traceback" not in capfd.readouterr().err


def test_our_own_mistakes_are_not_hidden(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("enginesim.case.check", broken)
    with pytest.raises(ZeroDivisionError):
        main(["check", str(MINIMAL)])


def test_help_of_new_lists_what_a_field_may_be(capsys: pytest.CaptureFixture[str]) -> None:
    from enginesim.case.facts import walk
    from enginesim.case.tree import Case
    from enginesim.cli.questions import CHOICES, QUESTIONS

    fields = dict(walk(Case))
    assert {
        name: fields[path].choices for name, (path, _) in QUESTIONS.items() if fields[path].choices
    } == CHOICES
    assert main(["new", "--help"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    for words in CHOICES.values():
        assert ", ".join(words) in shown.replace("- ", "-")
