"""What a name may hold, and that it does no harm on a terminal, in a chart, a table or a store."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import pytest

from enginesim.base.characters import cell, visible
from enginesim.case import amend, loads
from enginesim.cli.main import main

if TYPE_CHECKING:
    from enginesim.case import Case

TEXT = (Path(__file__).parents[1] / "cases" / "minimal.toml").read_text("utf-8")
# Character that a name may not hold, as TOML writes it.
HARMFUL = {
    "ESC": "\\u001b[2J",
    "bell": "\\u0007",
    "C1": "\\u009b31m",
    "CR": "\\r",
    "line break": "\\n",
    "tab": "\\t",
    "DEL": "\\u007f",
    "non-character": "\\uFFFF",
    "non-character of another plane": "\\U0001FFFE",
    "reversed direction": "\\u202e",
    "line separator": "\\u2028",
}
DOLLARS = "Cost $\\frac{1$ or $500 {and} 50 % of $x^"


def named(name: str) -> Case:
    return amend(loads(TEXT), {"name": name})


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "case.toml").write_text(TEXT)
    return tmp_path


def said(arguments: list[str], capfd: pytest.CaptureFixture[str]) -> str:
    """What the program says to a name that it refuses."""
    code = main(arguments)
    out, err = capfd.readouterr()
    assert (code, out) == (2, ""), err
    assert not any(ord(letter) < 32 and letter != "\n" for letter in err)
    return err


@pytest.mark.parametrize("kind", HARMFUL)
def test_a_name_without_control_characters(
    kind: str, folder: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    text = TEXT.replace('"Smallest case"', f'"Small{HARMFUL[kind]}case"')
    assert text != TEXT
    (folder / "case.toml").write_text(text)
    err = said(["check", "case.toml"], capfd)
    assert "case.toml:2: name: found the character U+" in err
    assert "take it out" in err


def test_half_a_character_from_the_command_line(
    folder: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    # What Python makes of a byte that is no UTF-8.
    assert "U+DCFF" in said(["run", "case.toml", "--set", "name=a\udcffb"], capfd)
    assert list(folder.iterdir()) == [folder / "case.toml"]


def test_notes_have_lines() -> None:
    assert amend(loads(TEXT), {"notes": "one\n\ttwo"}).notes == "one\n\ttwo"


@pytest.mark.usefixtures("folder")
def test_notes_have_no_other_control_characters(capfd: pytest.CaptureFixture[str]) -> None:
    assert "U+001B" in said(["check", "case.toml", "--set", "notes=a\x1b[2J"], capfd)


@pytest.mark.usefixtures("folder")
def test_a_value_has_no_control_characters(capfd: pytest.CaptureFixture[str]) -> None:
    option = "intake.layout=divided\x1cplenum"
    assert "U+001C" in said(["check", "case.toml", "--set", option], capfd)


def test_a_long_name_is_refused(folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    (folder / "case.toml").write_text(TEXT.replace('"Smallest case"', f'"{"x" * 1000}"'))
    assert "1000 characters; allowed at most 200" in said(["check", "case.toml"], capfd)


@pytest.mark.parametrize("key", ["name", "notes"])
def test_names_of_studies(key: str, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    vary = '[vary]\n"cam.advance" = "0, 4"\n'
    (folder / "study.toml").write_text(f'case = "case.toml"\n{key} = "a\\u001bb"\n{vary}')
    assert f"study.toml:2: {key}: found the character U+001B" in said(
        ["sweep", "study.toml"], capfd
    )


def test_names_of_vehicles(folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    (folder / "car.toml").write_text('name = "a\\u001bb"\n')
    arguments = ["accelerate", "case.toml", "--vehicle", "car.toml"]
    assert "car.toml:1: name: found the character U+001B" in said(arguments, capfd)


@pytest.mark.parametrize("letter", ["\x1b", "\udcff", "\x9b"])
def test_names_of_files(letter: str, folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    (folder / f"a{letter}.toml").write_text(TEXT)
    err = said(["check", f"a{letter}.toml"], capfd)
    assert "a name with the character U+" in err
    assert "rename the file" in err
    assert letter not in err


def test_what_is_not_refused_is_written_out() -> None:
    assert visible("a\x1b[2J\u202e\ud800") == "a\\x1b[2J\\u202e\\ud800"
    assert visible("naïve Ω 發動機 🏁") == "naïve Ω 發動機 🏁"


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t"])
def test_a_cell_is_no_formula(start: str) -> None:
    assert cell(f"{start}1+cmd|' /C calc'!A0").startswith("'")


def test_a_cell_with_a_number_stays_one() -> None:
    assert [cell(value) for value in (-3.5, "-3.5", "+4", "V8", None)] == [
        -3.5, "-3.5", "+4", "V8", None,
    ]  # fmt: skip


def test_the_table_of_a_store_has_no_formula(tmp_path: Path) -> None:
    from enginesim.study.store import Store
    from enginesim.study.store_export import write_csv
    from enginesim.study.store_rows import Failure
    from enginesim.study.store_upkeep import Choice

    with Store.open(tmp_path / "store.sqlite") as store:
        store.put(named("=1+1"), Failure(3000.0, "broke down", "@SUM(A1)"))
        write_csv(store, tmp_path / "store.csv", Choice())
    row = next(csv.DictReader(io.StringIO((tmp_path / "store.csv").read_text("utf-8"))))
    assert (row["name"], row["reason"]) == ("'=1+1", "'@SUM(A1)")


def test_dollars_in_a_chart_are_dollars(tmp_path: Path) -> None:
    """A curve, a cycle and a page of the bench: each with the name where it stands."""
    from enginesim.performance import Curve
    from enginesim.report.curve_figure import curve_figure
    from enginesim.report.drawing import save
    from enginesim.report.sheet_page import save_page
    from enginesim.report.sheet_spring import spring_page
    from enginesim.workshop.springs import springs
    from tests.unit.study.results import result

    case = named(DOLLARS)
    assert case.name == DOLLARS
    curve = Curve([result(rpm) for rpm in (2000.0, 3000.0)])
    figure = curve_figure(curve, case.name, (DOLLARS,), "us")
    for path in save(figure, tmp_path / "curve"):
        assert path.stat().st_size > 0
    ET.parse(tmp_path / "curve.svg")
    assert save_page(spring_page(springs(case), case, "us"), tmp_path)[0].is_file()


def test_every_chart_draws_texts_as_they_are_written() -> None:
    from importlib import import_module

    import enginesim.report

    folder = Path(enginesim.report.__file__).parent
    names = [path.stem for path in sorted(folder.glob("*_figure.py"))]
    assert len(names) > 10
    for name in names:
        drawn = getattr(import_module(f"enginesim.report.{name}"), name)
        assert drawn.__wrapped__.__name__ == name
