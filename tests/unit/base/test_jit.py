"""Do compiled kernels follow their sources, all of them?"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import numba
import pytest

import enginesim
from enginesim.base.jit import source_stamp

SHIPPED = Path(enginesim.__file__).parent

LEAF = """
from enginesim.base.jit import kernel

@kernel
def leaf(x):
    return {factor} * x
"""
ONE = """
from enginesim.base.formula import formula

@formula
def one():
    return {value}
"""
MARCH = """
from enginesim.base.jit import kernel
from enginesim.formulas.one import one
from enginesim.kernels.leaf import leaf

@kernel
def march(x):
    return leaf(x) + one()
"""
RUN = """
from enginesim.base.jit import is_cached
before = is_cached()
from enginesim.kernels.march import march
print(march(1.0), before, sum(march.stats.cache_hits.values()), is_cached())
"""


@pytest.fixture
def package(tmp_path: Path) -> Path:
    """The shipped decorator, above two kernels in two files."""
    root = tmp_path / "enginesim"
    for name in ("base/jit.py", "base/formula.py", "base/folders.py", "base/constants.py"):
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(SHIPPED / name, root / name)
    for room in ("formulas", "kernels"):
        (root / room).mkdir()
    for folder in (root, root / "base", root / "formulas", root / "kernels"):
        (folder / "__init__.py").write_text("")
    (root / "kernels" / "leaf.py").write_text(LEAF.format(factor=10.0))
    (root / "kernels" / "march.py").write_text(MARCH)
    (root / "formulas" / "one.py").write_text(ONE.format(value=1.0))
    return root


def answer(package: Path) -> tuple[float, str, int, str]:
    """What a new process gets: value, cached before, hits of the cache, cached after."""
    environment = os.environ | {
        "ENGINESIM_CACHE": str(package.parent / "cache"),
        "PYTHONPATH": str(package.parent),
        "PYTHONDONTWRITEBYTECODE": "1",
    }
    done = subprocess.run(
        [sys.executable, "-c", RUN],
        capture_output=True,
        text=True,
        env=environment,
        cwd=package.parent,
        check=True,
    )
    value, before, hits, after = done.stdout.split()
    return float(value), before, int(hits), after


@pytest.mark.slow
def test_edit_of_a_callee_reaches_the_caller(package: Path) -> None:
    assert answer(package) == (11.0, "False", 0, "True")
    # The second process compiles nothing: without that the test would prove nothing.
    assert answer(package) == (11.0, "True", 1, "True")
    (package / "kernels" / "leaf.py").write_text(LEAF.format(factor=20.0))
    assert answer(package) == (21.0, "False", 0, "True")
    # And back: the first state's machine code still lies under its own stamp.
    (package / "kernels" / "leaf.py").write_text(LEAF.format(factor=10.0))
    value, before, _, _ = answer(package)
    assert (value, before) == (11.0, "True")
    # A formula is inlined into its caller: the same holds for it.
    (package / "formulas" / "one.py").write_text(ONE.format(value=3.0))
    assert answer(package) == (13.0, "False", 0, "True")


@pytest.mark.slow
def test_stale_stamps_are_swept_away(package: Path) -> None:
    stamps = package.parent / "cache" / "kernels"
    day = 24 * 3600.0
    for name, age in (("old", 8 * day), ("young", 6 * day)):
        (stamps / name / "inside").mkdir(parents=True)
        os.utime(stamps / name, (time.time() - age,) * 2)
    answer(package)
    left = {folder.name for folder in stamps.iterdir()}
    assert "old" not in left
    assert "young" in left
    assert source_stamp(package) in left


def test_stamp_is_that_of_the_sources_only(package: Path) -> None:
    first = source_stamp(package)
    os.utime(package / "kernels" / "leaf.py", (1e9, 1e9))
    (package / "kernels" / "notes.md").write_text("no source")
    (package / "base" / "folders.py").write_text("no kernel reads this")
    assert source_stamp(package) == first


@pytest.mark.parametrize(
    "name",
    [
        "formulas/one.py",
        "kernels/leaf.py",
        "kernels/march.py",
        "base/constants.py",
        "base/formula.py",
        "base/jit.py",
    ],
)
def test_stamp_changes_with_each_source(package: Path, name: str) -> None:
    first = source_stamp(package)
    with (package / name).open("a") as file:
        file.write("# edited\n")
    assert source_stamp(package) != first


def test_stamp_changes_with_a_new_kernel_and_with_numba(
    package: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = source_stamp(package)
    monkeypatch.setattr(numba, "__version__", "999.0")
    newer = source_stamp(package)
    assert newer != first
    monkeypatch.undo()
    (package / "kernels" / "more.py").write_text("")
    assert source_stamp(package) not in (first, newer)
