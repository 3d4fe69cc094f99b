"""What a command writes never lies over what it reads, or over what else it writes."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from enginesim.cli.main import main

CASES = Path(__file__).parents[2] / "cases"
MINIMAL = (Path(__file__).parents[1] / "cases" / "minimal.toml").read_text("utf-8")
FILES = {
    "case.toml": MINIMAL,
    "part.toml": 'kind = "carburettor"\nflow = "650 cfm"\n',
    "study.toml": 'case = "case.toml"\nvary."cam.lobe_separation" = "108, 112"\nrpm = "3000"\n',
    "vehicle.toml": (CASES / "vehicles" / "estate.toml").read_text("utf-8"),
    "lap.csv": "2000, 1\n3000, 1\n",
}
SWAP = ["--swap", "cam.lobe_separation=112"]
RUN = ["run", "case.toml", "--rpm", "2000,3000"]
COMPARE = ["compare", "case.toml", *SWAP, "--rpm", "2000,3000"]
SWEEP = ["sweep", "study.toml"]
ACCELERATE = ["accelerate", "case.toml", "--vehicle", "vehicle.toml"]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("ENGINESIM_STORE", raising=False)
    for name, text in FILES.items():
        (tmp_path / name).write_text(text)
    return tmp_path


def refused(arguments: list[str], folder: Path, capfd: pytest.CaptureFixture[str]) -> str:
    """What the program says; no file is changed or made, so that nothing was run either."""
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    code = main(arguments)
    out, err = capfd.readouterr()
    assert (code, out) == (2, ""), err
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before
    return err


@pytest.mark.parametrize(
    "arguments, option, name",
    [
        (RUN, "--json", "case.toml"),
        (RUN, "--csv", "case.toml"),
        (RUN, "--store", "case.toml"),
        ([*RUN, "--set", "throttle=part.toml"], "--json", "part.toml"),
        ([*RUN, "--set", "throttle=part.toml"], "--csv", "part.toml"),
        (COMPARE, "--json", "case.toml"),
        (COMPARE, "--csv", "case.toml"),
        (["compare", "case.toml", "--swap", "throttle=part.toml"], "--json", "part.toml"),
        ([*COMPARE, "--weights", "lap.csv"], "--csv", "lap.csv"),
        (SWEEP, "--csv", "study.toml"),
        (SWEEP, "--log", "study.toml"),
        (SWEEP, "--log", "case.toml"),
        (SWEEP, "--store", "case.toml"),
        (["search", "study.toml", "--aim", "average torque"], "--csv", "case.toml"),
        (["sweep", "case.toml", "--vary", "throttle=part.toml"], "--log", "part.toml"),
        ([*SWEEP, "--vehicle", "vehicle.toml"], "--csv", "vehicle.toml"),
        (ACCELERATE, "--store", "vehicle.toml"),
        (["sheet", "case.toml", "--kind", "cam"], "--store", "case.toml"),
    ],
)
def test_an_output_that_is_an_input(
    arguments: list[str], option: str, name: str, folder: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    said = refused([*arguments, option, name], folder, capfd)
    assert f"{option}: {name} would be written over a file that this command reads" in said


@pytest.mark.parametrize("link", ["hard", "symbolic", "folder"])
def test_an_output_that_is_an_input_by_another_name(
    link: str, folder: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    name = "other.json"
    if link == "hard":
        os.link("case.toml", name)
    elif link == "symbolic":
        Path(name).symlink_to("case.toml")
    else:
        Path("here").symlink_to(".", target_is_directory=True)
        name = "here/case.toml"
    assert f"{name} would be written over" in refused([*RUN, "--json", name], folder, capfd)


def test_a_study_is_not_replaced_by_the_study_that_is_written(
    folder: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    said = refused([*SWEEP, "--set", "cam.advance=2", "--out", "."], folder, capfd)
    assert "--out: study.toml would be written over a file that this command reads" in said


@pytest.mark.parametrize(
    "arguments, one, two",
    [
        ([*RUN, "--json", "a", "--csv", "a"], "--json", "--csv"),
        ([*RUN, "--json", "a", "--csv", "./A"], "--json", "--csv"),
        ([*RUN, "--json", "out/result.csv", "--out", "out"], "--json", "--out"),
        ([*RUN, "--json", "a", "--store", "a"], "--store", "--json"),
        ([*RUN, "--csv", "a-wal", "--store", "a"], "--store", "--csv"),
        ([*RUN, "--json", "enginesim-results.sqlite"], "the store", "--json"),
        ([*COMPARE, "--json", "a", "--csv", "a"], "--json", "--csv"),
        ([*SWEEP, "--csv", "a", "--log", "a"], "--csv", "--log"),
        ([*SWEEP, "--log", "out/study.toml", "--out", "out"], "--log", "--out"),
        ([*SWEEP, "--csv", "a", "--store", "a"], "--store", "--csv"),
    ],
)
def test_two_outputs_that_are_one_file(
    arguments: list[str], one: str, two: str, folder: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    assert f"{one} and {two}: both would write " in refused(arguments, folder, capfd)


def test_the_name_that_is_proposed_works(folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    said = refused([*RUN, "--csv", "case.toml"], folder, capfd)
    proposal = said.partition("such as ")[2].split()
    assert proposal == ["--csv", "case-result.csv"]


def test_a_store_is_not_exported_over_itself(
    folder: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    said = refused(["store", "export", "a.csv", "--store", "a.csv"], folder, capfd)
    assert "--store and FILE: both would write a.csv" in said


LONG = "x" * 300


@pytest.mark.parametrize(
    "arguments",
    [
        [*RUN, "--json", LONG],
        [*RUN, "--csv", LONG],
        [*RUN, "--out", LONG],
        [*RUN, "--store", LONG],
        [*RUN, "--set", f"cam={LONG}"],
        ["run", LONG],
        ["check", LONG],
        ["compare", "case.toml", LONG],
        [*COMPARE, "--weights", LONG],
        [*SWEEP, "--log", LONG],
        [*SWEEP, "--csv", LONG],
        [*SWEEP, "--vehicle", LONG],
        ["sweep", LONG],
        ["sweep", "case.toml", "--vary", f"cam={LONG}"],
        ["accelerate", "case.toml", "--vehicle", LONG],
        ["sheet", "case.toml", "--kind", "cam", "--out", LONG],
        ["store", "list", "--store", LONG],
        ["store", "merge", "--store", "a.sqlite", LONG],
        ["store", "export", f"{LONG}.csv"],
        ["new", LONG],
        ["bench", "--json", LONG],
    ],
    ids=lambda words: "-".join(word[:12] for word in words),
)
def test_a_name_that_no_file_can_have(
    arguments: list[str], folder: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    said = refused(arguments, folder, capfd)
    assert "300 bytes" in said or "304 bytes" in said or "too long" in said
    assert "x" * 201 not in said


@pytest.mark.parametrize("option", ["--json", "--csv", "--out", "--store"])
@pytest.mark.parametrize("letter", ["\x1b[2J", "\r", "\udcff", "\x9b"])
def test_a_name_that_would_steer_a_terminal(
    option: str, letter: str, folder: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    said = refused([*RUN, option, f"a{letter}b"], folder, capfd)
    assert "the character U+" in said
    assert letter not in said


class TestNoStore:
    """A file that is no store is looked at, not written to."""

    @pytest.mark.parametrize("words", [["list"], ["verify"], ["prune", "--damaged", "--yes"]])
    def test_an_empty_file(
        self, words: list[str], folder: Path, capfd: pytest.CaptureFixture[str]
    ) -> None:
        (folder / "empty").touch()
        said = refused(["store", *words, "--store", "empty"], folder, capfd)
        assert "empty: found an empty file; allowed a store of results" in said

    def test_merging_from_an_empty_file_makes_no_store(
        self, folder: Path, capfd: pytest.CaptureFixture[str]
    ) -> None:
        (folder / "empty").touch()
        said = refused(["store", "merge", "empty", "--store", "new.sqlite"], folder, capfd)
        assert "empty: found an empty file" in said

    def test_merging_into_an_empty_file(
        self, folder: Path, capfd: pytest.CaptureFixture[str]
    ) -> None:
        from enginesim.study.store import Store

        Store.open(folder / "full.sqlite").close()
        (folder / "empty").touch()
        said = refused(["store", "merge", "full.sqlite", "--store", "empty"], folder, capfd)
        assert "empty: found an empty file" in said

    def test_another_programs_empty_database(
        self, folder: Path, capfd: pytest.CaptureFixture[str]
    ) -> None:
        import sqlite3

        with sqlite3.connect(folder / "other.db") as connection:
            connection.execute("PRAGMA user_version = 1")
        connection.close()
        said = refused(["store", "list", "--store", "other.db"], folder, capfd)
        assert "another program's database" in said
