"""
Predict the torque, power and breathing of a piston engine from its dimensions.

The ten functions below are the whole public interface. Each is fetched from its room the first
time that it is asked for, so that ``import enginesim`` costs nothing that is not used.
"""

from __future__ import annotations

from importlib import import_module

TYPE_CHECKING = False  # true to a type checker; importing `typing` would cost ten times the rest
if TYPE_CHECKING:
    from typing import Any

    from enginesim.api import curve, gas_tables, summarise
    from enginesim.case import check, load
    from enginesim.cycle import simulate
    from enginesim.cycle.bench import bench
    from enginesim.network import build
    from enginesim.report import save_figures
    from enginesim.valvetrain import lift_curves

__version__ = "0.1.0"

__all__ = [
    "__version__",
    "bench",
    "build",
    "check",
    "curve",
    "gas_tables",
    "lift_curves",
    "load",
    "save_figures",
    "simulate",
    "summarise",
]

# Public name: its room, and its name there.
_HOMES = {
    "bench": ("enginesim.cycle.bench", "bench"),
    "build": ("enginesim.network", "build"),
    "check": ("enginesim.case", "check"),
    "curve": ("enginesim.api", "curve"),
    "gas_tables": ("enginesim.api", "gas_tables"),
    "lift_curves": ("enginesim.valvetrain", "lift_curves"),
    "load": ("enginesim.case", "load"),
    "save_figures": ("enginesim.report", "save_figures"),
    "simulate": ("enginesim.cycle", "simulate"),
    "summarise": ("enginesim.api", "summarise"),
}


def __getattr__(name: str) -> Any:
    try:
        room, function = _HOMES[name]
    except KeyError:
        raise AttributeError(f"module 'enginesim' has no attribute {name!r}") from None
    return getattr(import_module(room), function)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
