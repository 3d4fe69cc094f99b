"""Rules for what a case leaves out and other fields decide."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from enginesim.case.defaults import block, cam, charge, exhaust, head, intake, valve_gear

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case.draft import Default, Draft

#: Path to the rule for its default.
RULES: dict[str, Callable[[Draft], Default]] = {
    **block.RULES,
    **head.RULES,
    **cam.RULES,
    **intake.RULES,
    **exhaust.RULES,
    **charge.RULES,
    **valve_gear.RULES,
}

#: Path to what becomes of a given value.
COMPLETIONS: dict[str, Callable[[Draft, Any], Any]] = {
    **block.COMPLETIONS,
    **cam.COMPLETIONS,
    **intake.COMPLETIONS,
}

__all__ = ["COMPLETIONS", "RULES"]
