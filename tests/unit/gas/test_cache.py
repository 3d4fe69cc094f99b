"""Is a kept table found, trusted only when whole, and named by all that decides it?"""

from __future__ import annotations

import multiprocessing
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from enginesim.gas import cache, tables, thermodynamics

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("ENGINESIM_CACHE", str(tmp_path))
    return tmp_path / "gas"


@pytest.fixture
def built(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """Every charge for which tables were really made."""
    calls: list[object] = []
    sampled = thermodynamics.sampled

    def counted(charge: object) -> object:
        calls.append(charge)
        return sampled(charge)

    monkeypatch.setattr(thermodynamics, "sampled", counted)
    return calls


def only(folder: Path) -> Path:
    (path,) = folder.iterdir()
    return path


def test_second_request_is_read(folder: Path, built: list[object]) -> None:
    first = tables("ethanol", 0.9)
    second = tables("ethanol", 0.9)
    assert len(built) == 1
    assert only(folder).suffix == ".npz"
    for name in ("energy_coefficients", "du", "dr", "r_gas"):
        assert np.array_equal(getattr(first, name), getattr(second, name))
    assert first.lower_heating_value == second.lower_heating_value


def test_building_twice_gives_the_same_bits(folder: Path, built: list[object]) -> None:
    first = tables("ethanol", 0.9)
    only(folder).unlink()
    second = tables("ethanol", 0.9)
    assert len(built) == 2
    assert np.array_equal(first.du, second.du)
    assert np.array_equal(first.energy_coefficients, second.energy_coefficients)


def empty(path: Path) -> None:
    path.write_bytes(b"")


def truncated(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:20000])


def one_byte_changed(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 0xFF
    path.write_bytes(content)


def text(path: Path) -> None:
    path.write_text("not a table")


def pickled(path: Path) -> None:
    np.savez(path, du=np.array([object()], dtype=object))


def other_arrays(path: Path) -> None:
    np.savez(path, something=np.zeros(3))


def other_shape(path: Path) -> None:
    with np.load(path) as stored:
        arrays = dict(stored)
    np.savez(path, **(arrays | {"du": arrays["du"][:-1]}))


def not_finite(path: Path) -> None:
    with np.load(path) as stored:
        arrays = dict(stored)
    np.savez(path, **(arrays | {"du": np.full_like(arrays["du"], np.nan)}))


@pytest.mark.parametrize(
    "damage",
    [
        empty,
        truncated,
        one_byte_changed,
        text,
        pickled,
        other_arrays,
        other_shape,
        not_finite,
    ],
)
def test_damaged_file_is_made_anew(
    folder: Path, built: list[object], damage: Callable[[Path], None]
) -> None:
    first = tables("ethanol", 0.9)
    damage(only(folder))
    second = tables("ethanol", 0.9)
    assert len(built) == 2
    assert np.array_equal(first.du, second.du)
    tables("ethanol", 0.9)
    assert len(built) == 2, "the repaired file is not read"


@pytest.mark.parametrize(
    "other", [("e85", 0.9, 0.0), ("ethanol", 0.9000000001, 0.0), ("ethanol", 0.9, 0.001)]
)
def test_every_input_is_in_the_name(
    folder: Path, built: list[object], other: tuple[str, float, float]
) -> None:
    tables("ethanol", 0.9)
    tables(*other)
    assert len(built) == len(list(folder.iterdir())) == 2


def test_sources_and_cantera_are_in_the_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = tmp_path / "enginesim" / "gas"
    room.mkdir(parents=True)
    (room.parent / "base").mkdir()
    constants = room.parent / "base" / "constants.py"
    constants.write_text("R = 8.3\n")
    (room / "fuels.py").write_text("heat = 349e3\n")
    package = tmp_path / "site" / "cantera"
    (package / "data").mkdir(parents=True)
    (package / "__init__.py").write_text("")
    data = package / "data" / "nasa_gas.yaml"
    data.write_text("species: []\n")
    installed = package.parent / "cantera-3.2.0.dist-info"
    installed.mkdir()
    monkeypatch.setattr(cache, "_ROOM", room)
    monkeypatch.setattr(
        cache, "find_spec", lambda _: type("Spec", (), {"origin": str(package / "__init__.py")})
    )

    def name() -> str:
        cache._stamp.cache_clear()
        return cache.digest("ethanol")

    try:
        seen = [name()]
        assert name() == seen[0], "nothing changed"
        (room / "fuels.py").write_text("heat = 350e3\n")
        seen.append(name())
        constants.write_text("R = 8.4\n")
        seen.append(name())
        data.write_text("species: [N2]\n")
        seen.append(name())
        installed.rename(package.parent / "cantera-3.3.0.dist-info")
        seen.append(name())
    finally:
        cache._stamp.cache_clear()
    assert len(set(seen)) == len(seen) == 5


def make_tables(arguments: tuple[str, float]) -> bytes:
    return tables(*arguments).du.tobytes()


@pytest.mark.slow
def test_several_writers_at_once(folder: Path) -> None:
    with multiprocessing.get_context("spawn").Pool(4) as pool:
        answers = pool.map(make_tables, [("methanol", 0.95)] * 8, chunksize=1)
    assert len(set(answers)) == 1
    assert only(folder).suffix == ".npz", "a file written aside was left behind"
    assert tables("methanol", 0.95).du.tobytes() == answers[0]


@pytest.mark.skipif(os.name == "nt", reason="a folder's mode binds nobody there")
def test_unusable_folder_costs_time_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, built: list[object]
) -> None:
    """A file where the folder should be: refused to every user, root too."""
    (tmp_path / "blocked").write_text("")
    monkeypatch.setenv("ENGINESIM_CACHE", str(tmp_path / "blocked"))
    assert tables("propane", 1.0).afr_stoich > 15.0
    assert tables("propane", 1.0).afr_stoich > 15.0
    assert len(built) == 2


def test_failed_write_leaves_nothing(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError("no space left")

    monkeypatch.setattr(np, "savez", full)
    assert tables("propane", 1.0).afr_stoich > 15.0
    assert list(folder.iterdir()) == []


def test_oldest_files_go(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cache, "_KEEP", 2)
    folder.mkdir()
    for age in (3, 2, 1):
        path = folder / f"{age}.npz"
        path.write_bytes(b"old")
        then = time.time() - 3600.0 * age
        os.utime(path, (then, then))
    cache.fetched("request", {"a": (2,)}, lambda: {"a": np.ones(2)})
    assert {path.name for path in folder.iterdir()} == {
        "1.npz",
        f"{cache.digest('request')}.npz",
    }


LOADED = """
import sys
from enginesim.gas import tables
tables("ethanol", 0.9)
print(*sorted({"cantera", "scipy", "numba", "yaml"} & set(sys.modules)))
"""


def _modules_loaded(folder: Path) -> list[str]:
    shown = subprocess.run(
        [sys.executable, "-c", LOADED],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), "ENGINESIM_CACHE": str(folder)},
    )
    return shown.stdout.split()


@pytest.mark.slow
def test_cached_tables_load_without_cantera(folder: Path) -> None:
    tables("ethanol", 0.9)
    assert _modules_loaded(folder.parent) == []


@pytest.mark.slow
def test_first_build_loads_cantera_only(tmp_path: Path) -> None:
    loaded = _modules_loaded(tmp_path)
    assert "cantera" in loaded
    assert "numba" not in loaded
