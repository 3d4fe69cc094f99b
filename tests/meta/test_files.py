"""Are the files small, well named and in their places, and free of what does not belong?"""

from __future__ import annotations

import ast
import statistics
import sys
from pathlib import Path

import pytest

from tests.meta.tree import PACKAGE, ROOT, TESTS, parsed, python_files, room, tracked_files

TOP = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "enginesim",
    "tests",
    "cases",
    "validation",
    "docs",
}
EMPTY_NAMES = {"common", "helper", "helpers", "misc", "util", "utils", "tools", "stuff"}


def lines(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


@pytest.mark.parametrize("folder", [PACKAGE, TESTS], ids=["enginesim", "tests"])
def test_files_stay_small(folder: Path) -> None:
    sizes = {str(path.relative_to(ROOT)): lines(path) for path in python_files(folder)}
    assert {name: n for name, n in sizes.items() if n >= 400} == {}
    assert statistics.median(sizes.values()) <= 200


def test_files_are_named_with_nouns_of_the_trade() -> None:
    names = [p for folder in (PACKAGE, TESTS) for p in folder.rglob("*") if p.suffix in ("", ".py")]
    assert [str(p) for p in names if p.stem.removeprefix("test_") in EMPTY_NAMES] == []


def test_no_file_hides_a_standard_module() -> None:
    clashes = [p for p in python_files(PACKAGE) if p.stem in sys.stdlib_module_names]
    assert [str(p.relative_to(ROOT)) for p in clashes] == []


def test_nothing_new_at_the_top() -> None:
    tracked = tracked_files()
    if tracked is None:
        pytest.skip("not a clone: nothing says which files belong to the project")
    top = {name.split("/")[0] for name in tracked}
    assert {name for name in top if not name.startswith(".")} - TOP == set()


def test_package_neither_prints_nor_asserts() -> None:
    """`python -O` removes an assertion; a library that prints cannot be used by another."""
    found = []
    for path in python_files(PACKAGE):
        for node in ast.walk(parsed(path)):
            is_print = (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Name)
                and node.func.id in ("print", "breakpoint")
                and room(path) != "cli"
            )
            if is_print or isinstance(node, ast.Assert):
                found.append(f"{path.relative_to(ROOT)}:{node.lineno}")
    assert found == []
