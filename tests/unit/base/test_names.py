"""Nearest names."""

from __future__ import annotations

from enginesim.base.names import nearest


def test_a_slip_finds_the_name() -> None:
    assert nearest("stroek", ["bore", "stroke"]) == "stroke"


def test_marks_do_not_matter() -> None:
    assert nearest("Lobe-Separation", ["lobe_separation", "advance"]) == "lobe_separation"


def test_nothing_near() -> None:
    assert nearest("xyzzy", ["bore", "stroke"]) is None
