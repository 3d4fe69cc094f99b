"""Does every room import only what the contracts in pyproject.toml let it?"""

from __future__ import annotations

import os
import subprocess
import sys

import pytest
from importlinter import cli

from tests.meta.tree import ROOT

# Loading a case must not load any of these: `enginesim check` answers in under 0.4 s.
HEAVY = ("numba", "cantera", "scipy", "matplotlib", "pint", "typst")


def test_import_contracts(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture) -> None:
    monkeypatch.chdir(ROOT)
    code = cli.lint_imports(config_filename="pyproject.toml", no_cache=True, verbose=False)
    assert code == cli.EXIT_STATUS_SUCCESS, capsys.readouterr().out


@pytest.mark.parametrize(
    "module", ["enginesim", "enginesim.case", "enginesim.formulas.crank", "enginesim.cli.main"]
)
def test_light_modules_load_nothing_heavy(module: str) -> None:
    """The contracts see imports inside functions too; this one sees what really happens."""
    program = f"import sys, {module}; print(*sorted(set({HEAVY!r}) & set(sys.modules)))"
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    shown = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, env=environment, check=True
    )
    assert shown.stdout.split() == []
