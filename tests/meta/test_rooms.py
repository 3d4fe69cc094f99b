"""Does every room import only what the contracts in pyproject.toml let it?"""

from __future__ import annotations

import ast
import os
import subprocess
import sys

import pytest
from importlinter import cli

from tests.meta.tree import PACKAGE, ROOT, parsed, python_files, room

# Loading a case must not load any of these: `enginesim check` answers in under 0.4 s.
HEAVY = ("numba", "cantera", "scipy", "matplotlib", "pint")


def test_import_contracts(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture) -> None:
    monkeypatch.chdir(ROOT)
    code = cli.lint_imports(config_filename="pyproject.toml", no_cache=True, verbose=False)
    assert code == cli.EXIT_STATUS_SUCCESS, capsys.readouterr().out


@pytest.mark.parametrize("module", ["enginesim", "enginesim.case", "enginesim.cli.main"])
def test_light_modules_load_nothing_heavy(module: str) -> None:
    """The contracts see imports inside functions too; this one sees what really happens."""
    program = f"import sys, {module}; print(*sorted(set({HEAVY!r}) & set(sys.modules)))"
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    shown = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, env=environment, check=True
    )
    assert shown.stdout.split() == []


def test_loops_that_python_calls_are_entries() -> None:
    """Any other kernel would be compiled twice: for kernels, and for Python."""
    kernels = {
        node.name
        for path in python_files(PACKAGE / "kernels")
        for node in parsed(path).body
        if isinstance(node, ast.FunctionDef) and _decorators(node) == {"kernel"}
    }
    called = {
        f"{path.relative_to(PACKAGE)} {alias.name}"
        for path in python_files(PACKAGE)
        # The second process compiles what kernels call, for kernels.
        if room(path) != "kernels" and path.name != "compiling.py"
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("enginesim.kernels")
        for alias in node.names
        if alias.name in kernels
    }
    assert kernels
    assert called == set()


def _decorators(node: ast.FunctionDef) -> set[str]:
    return {ast.unparse(decorator) for decorator in node.decorator_list}
