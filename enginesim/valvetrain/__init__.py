"""Cam cards, lobes, valve lifts, clearances and springs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from enginesim.valvetrain.lift import LiftCurves, lift_curves

__all__ = ["LiftCurves", "lift_curves"]


def __getattr__(name: str) -> Any:
    # On demand: cam-card arithmetic must not wait for numpy.
    if name in __all__:
        from enginesim.valvetrain import lift

        return getattr(lift, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
