"""The smallest case, and ways to change it."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from enginesim.base.errors import CaseError, Problem
from enginesim.case import Case, loads

MINIMAL = Path(__file__).parents[2] / "cases" / "minimal.toml"
TEXT = MINIMAL.read_text("utf-8")


def changed(*overrides: str) -> Case:
    """The smallest case with some fields given."""
    return loads(TEXT, overrides)


def problems(*overrides: str, text: str = TEXT) -> tuple[Problem, ...]:
    """What is said against it."""
    try:
        loads(text, overrides)
    except CaseError as error:
        return error.problems
    return ()


def table() -> dict[str, Any]:
    """The smallest case as TOML gives it."""
    return tomllib.loads(TEXT)
