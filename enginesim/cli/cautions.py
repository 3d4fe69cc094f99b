"""What the trade expects to be said beside any prediction."""

from __future__ import annotations

from typing import Final

CAUTIONS: Final = (
    "A prediction is not permission. Piston-to-valve clearance, coil bind and valve float are not "
    "checked here: measure them by hand before the engine is cranked.",
    "Detonation: begin rich, retarded and on good fuel; the knock margin is a model's.",
    "Do not rev beyond the lowest limit of valve float, piston speed, crank and rods.",
    "Test cell: carbon monoxide, hearing and eyes, nobody beside the coupling, fuel shut-off and "
    "fire extinguisher at hand.",
    "For off-road and competition use, or vehicles older than emission controls, unless your "
    "authority approves the part.",
)
