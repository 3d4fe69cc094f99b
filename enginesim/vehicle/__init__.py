"""The vehicle around the engine: pull in each gear, changes up, acceleration times."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from enginesim.vehicle.reading import load, loads
from enginesim.vehicle.tree import Vehicle

if TYPE_CHECKING:
    from enginesim.vehicle.acceleration import Acceleration, accelerate
    from enginesim.vehicle.traction import GearPull, pulls

__all__ = ["Acceleration", "GearPull", "Vehicle", "accelerate", "load", "loads", "pulls"]


def __getattr__(name: str) -> Any:
    # On demand: reading a file must not wait for numpy.
    if name in ("Acceleration", "accelerate"):
        from enginesim.vehicle import acceleration

        return getattr(acceleration, name)
    if name in ("GearPull", "pulls"):
        from enginesim.vehicle import traction

        return getattr(traction, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
