"""One engine, one speed, one periodic cycle; and many speeds."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from enginesim.cycle.curves import curve, simulate
    from enginesim.cycle.record import CycleRecord, Tract

__all__ = ["CycleRecord", "Tract", "curve", "simulate"]

_HOMES = {
    "CycleRecord": "enginesim.cycle.record",
    "Tract": "enginesim.cycle.record",
    "curve": "enginesim.cycle.curves",
    "simulate": "enginesim.cycle.curves",
}


def __getattr__(name: str) -> Any:
    # On demand: to read speeds or a record must not wait for the compiler.
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)
