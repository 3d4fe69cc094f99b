"""Marks tests by the folder that they lie in, and sets what all of them share."""

from __future__ import annotations

import itertools
import os
from pathlib import Path

import hypothesis
import pytest

HERE = Path(__file__).parent

# Folder or file under tests/: the marks of everything in it. `slow` is left out of the quick
# loop; a single test over two seconds elsewhere carries it by hand.
MARKS = {
    "verification": ("verification",),
    "bench": ("bench", "slow"),
    "test_validation.py": ("validation", "slow"),
}

# The first call of a kernel compiles it: a deadline per example would measure the compiler.
# In CI the examples are the same every time, so that a red run can be repeated.
hypothesis.settings.register_profile("local", deadline=None)
hypothesis.settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") else "local")


_STORES = itertools.count()


@pytest.fixture(scope="session")
def store_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("stores")


@pytest.fixture(autouse=True)
def own_store(monkeypatch: pytest.MonkeyPatch, store_folder: Path) -> None:
    """No test finds the results of another, nor leaves any in the current folder."""
    monkeypatch.setenv("ENGINESIM_STORE", str(store_folder / f"{next(_STORES)}.sqlite"))


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for item in items:
        if HERE in item.path.parents:
            for mark in MARKS.get(item.path.relative_to(HERE).parts[0], ()):
                item.add_marker(mark)
    # A measurement of speed would say nothing on a busy machine, and a large battery takes an hour:
    # both are run when asked for, a measurement by its name too.
    asked = (config.option.markexpr or "") + (" bench" if config.option.keyword else "")
    unasked = [mark for mark in ("bench", "battery") if mark not in asked]
    left_out = {item for item in items if any(map(item.get_closest_marker, unasked))}
    if left_out:
        config.hook.pytest_deselected(items=[item for item in items if item in left_out])
        items[:] = [item for item in items if item not in left_out]
