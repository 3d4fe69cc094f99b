"""`enginesim validate`: thin, and plain where there is nothing to run."""

from __future__ import annotations

from pathlib import Path

import pytest

import enginesim.cli.validate as command
from enginesim.cli.main import main


def test_lists_the_checks(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["validate", "--list"]) == 0
    assert "riemann_problems" in capsys.readouterr().out


def test_wrong_name(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["validate", "--only", "riemann"]) == 2
    assert "no check 'riemann'" in capsys.readouterr().err


def test_without_sources_it_says_where_to_go(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As from an installed package, in a folder of cases."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(command, "__file__", str(tmp_path / "a" / "b" / "c.py"))
    assert main(["validate"]) == 1
    error = capsys.readouterr().err
    assert "found no folder of checks" in error
    assert "Traceback" not in error
