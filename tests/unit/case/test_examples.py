"""Examples: found by name, copied whole with what they name, never over something else."""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path

import pytest

from enginesim import vehicle
from enginesim.base.errors import CaseError
from enginesim.case import examples, load
from enginesim.cli.main import main
from enginesim.study import reading

ROOT = Path(__file__).parents[3]
CASES = ROOT / "cases"
ENGINES = sorted(file.stem for file in CASES.glob("*.toml"))
STUDIES = sorted(file.stem for file in (CASES / "studies").glob("*.toml"))
VEHICLES = sorted(file.stem for file in (CASES / "vehicles").glob("*.toml"))


def files(folder: Path) -> set[str]:
    return {str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file()}


def test_every_engine_study_and_vehicle_has_a_name_of_its_own() -> None:
    assert sorted(examples.examples()) == sorted([*ENGINES, *STUDIES, *VEHICLES])


@pytest.mark.parametrize("name", ENGINES)
def test_engine_loads_by_name(name: str) -> None:
    assert load(f"example:{name}") == load(CASES / f"{name}.toml")


def test_parts_are_found_beside_the_example() -> None:
    swapped = load("example:lake-boat-v8", ["cam=parts/cam-228.toml"])
    assert swapped == load(CASES / "lake-boat-v8.toml", ["cam=parts/cam-228.toml"])


def test_study_and_vehicle_load_by_name() -> None:
    assert vehicle.load("example:estate") == vehicle.load(CASES / "vehicles" / "estate.toml")
    assert reading.load("example:towing").base == load(CASES / "delivery-six.toml")
    options = reading.Options(vary=("cam.lobe_separation=108:112:2",), vehicle="example:estate")
    assert reading.load("example:lake-boat-v8", options).vehicle == vehicle.load("example:estate")


def test_unknown_name_lists_all() -> None:
    with pytest.raises(CaseError, match="lake-boat-v9") as caught:
        load("example:lake-boat-v9")
    text = str(caught.value)
    assert "did you mean lake-boat-v8?" in text.lower().replace("(", "")
    assert all(name in text for name in (*ENGINES, *STUDIES, *VEHICLES))


@pytest.mark.parametrize("name", ["", ".", "../cases/lake-boat-v8", "parts/cam-214", "/etc/passwd"])
def test_a_name_is_no_path(name: str) -> None:
    with pytest.raises(CaseError):
        load(f"example:{name}")


def test_copy_holds_all_that_the_case_names(tmp_path: Path) -> None:
    folder = tmp_path / "boat"
    assert main(["new", "--example", "lake-boat-v8", str(folder)]) == 0
    assert files(folder) == {
        "lake-boat-v8.toml",
        "parts/intake-dual-plane.toml",
        "parts/intake-single-plane.toml",
        "parts/cam-204.toml",
        "parts/cam-214.toml",
        "parts/cam-228.toml",
    }
    assert load(folder / "lake-boat-v8.toml") == load("example:lake-boat-v8")


@pytest.mark.parametrize("name", STUDIES)
def test_copied_study_brings_its_case(name: str, tmp_path: Path) -> None:
    examples.copy(name, tmp_path, "test")
    plan = reading.load(tmp_path / "studies" / f"{name}.toml")
    assert plan.base == reading.load(f"example:{name}").base


def test_nothing_is_replaced_unasked(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    examples.copy("lake-boat-v8", tmp_path, "test")
    mine = tmp_path / "parts" / "cam-214.toml"
    mine.write_text("# mine\n", encoding="utf-8")
    (tmp_path / "parts" / "cam-228.toml").unlink()
    assert main(["new", "--example", "lake-boat-v8", str(tmp_path)]) == 2
    told = capfd.readouterr().err
    assert "lake-boat-v8.toml" in told
    assert "cam-214.toml" in told
    assert mine.read_text(encoding="utf-8") == "# mine\n"
    assert not (tmp_path / "parts" / "cam-228.toml").exists()  # refused as a whole
    assert main(["new", "--example", "lake-boat-v8", str(tmp_path), "--force"]) == 0
    assert mine.read_bytes() == (CASES / "parts" / "cam-214.toml").read_bytes()


def test_two_examples_share_a_part(tmp_path: Path) -> None:
    examples.copy("delivery-six", tmp_path, "test")
    examples.copy("estate", tmp_path, "test")
    written = examples.copy("towing", tmp_path, "test")
    assert {file.name for file in written} == {
        "towing.toml",
        "cam-six-204.toml",
        "cam-six-214.toml",
        "cam-six-224.toml",
    }


def test_a_copy_that_fails_leaves_nothing(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "parts").write_text("in the way", encoding="utf-8")
    assert main(["new", "--example", "lake-boat-v8", str(tmp_path)]) == 2
    assert "cannot be written" in capfd.readouterr().err
    assert files(tmp_path) == {"parts"}


@pytest.mark.parametrize(
    "place, more",
    [
        ("a-file", []),
        ("no/such/folder", []),
        ("boat", ["--bore", "4 in"]),
        ("boat", ["--set", "x=1"]),
    ],
)
def test_refusals(
    place: str, more: list[str], tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "a-file").write_text("", encoding="utf-8")
    assert main(["new", "--example", "lake-boat-v8", str(tmp_path / place), *more]) == 2
    assert "Traceback" not in capfd.readouterr().err
    assert files(tmp_path) == {"a-file"}


def test_wheel_holds_the_examples_where_the_package_looks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Laid out by hand as `pyproject.toml` says; nothing here builds a wheel."""
    with (ROOT / "pyproject.toml").open("rb") as file:
        wheel = tomllib.load(file)["tool"]["hatch"]["build"]["targets"]["wheel"]
    for source, target in wheel["force-include"].items():
        assert (ROOT / source).is_dir()
        shutil.copytree(ROOT / source, tmp_path / target)
    home = tmp_path / "enginesim" / "case" / "examples.py"
    monkeypatch.setattr(examples, "__file__", str(home))
    assert examples.root() == tmp_path / "enginesim" / "cases"
    assert load("example:lake-boat-v8") == load(CASES / "lake-boat-v8.toml")


def test_an_installation_without_examples_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(examples, "__file__", str(tmp_path / "enginesim" / "case" / "examples.py"))
    with pytest.raises(CaseError, match="cases"):
        load("example:lake-boat-v8")
