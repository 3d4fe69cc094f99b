"""
How near do the valves come to the pistons, and how far may the cam be moved?

Source: geometry; least values as the trade's usage gives them (`valvetrain.clearance`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from enginesim.formulas.crank import piston_travel
from enginesim.valvetrain import lift_curves
from enginesim.valvetrain.clearance import (
    ALUMINIUM_ROD,
    LEAST_EXHAUST,
    LEAST_INTAKE,
    nearest_approach,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case import Case
    from enginesim.valvetrain.motion import ValveMotion

Floats = NDArray[np.float64]

#: Changes of the cam's timing that are worked out, advance positive. [rad]
CHANGES: Final = tuple(math.radians(degrees) for degrees in (-8, -6, -4, -2, 0, 2, 4, 6, 8))
_FARTHEST: Final = math.radians(40)
_SHOWN: Final = math.radians(60)


@dataclass(frozen=True, slots=True)
class ValveRoom:
    """
    One valve against its piston around the top dead centre of gas exchange.

    Attributes
    ----------
    side : str
        ``intake`` or ``exhaust``.
    least : float
        Customary minimum for these rods. [m]
    lift : float
        Net valve lift. [m]
    drop : float or None
        Measured room with the valve shut and the piston at the top, along the stem. [m]
    angle : float
        Crank angle of the nearest approach, after top dead centre. [rad]
    needed_drop : float
        Room that the customary minimum needs. [m]
    clearance : float or None
        At the nearest approach; negative where they would meet. [m]
    change_left : float or None
        How far the cam may be moved the wrong way (intake: advanced; exhaust: retarded) until the
        minimum is reached; negative: how far it must be moved back. Not a number if not found
        within 40 degrees. [rad]
    changes : tuple of float
        Room needed at each of `CHANGES` of the timing. [m]
    theta, path : ndarray, shape (n,)
        Crank angle after top dead centre [rad] and how much of the room the valve and the piston
        take from each other there [m].
    """

    side: str
    least: float
    lift: float
    drop: float | None
    angle: float
    needed_drop: float
    clearance: float | None
    change_left: float | None
    changes: tuple[float, ...]
    theta: Floats
    path: Floats


def piston_room(case: Case) -> tuple[ValveRoom, ValveRoom]:
    """
    Intake and exhaust valve against the piston.

    Parameters
    ----------
    case : Case
        A loaded case; `clearances` as far as they were measured.

    Returns
    -------
    tuple of ValveRoom
        Intake and exhaust.

    Raises
    ------
    CaseError
        If no lobe can have the numbers given.
    """
    curves, given = lift_curves(case), case.clearances
    extra = ALUMINIUM_ROD if given.rods == "aluminium" else 0.0
    return (
        _room(case, "intake", curves.intake_motion, LEAST_INTAKE + extra, given.intake_drop,
              given.intake_inclination, 1.0),
        _room(case, "exhaust", curves.exhaust_motion, LEAST_EXHAUST + extra, given.exhaust_drop,
              given.exhaust_inclination, -1.0),
    )  # fmt: skip


def _room(
    case: Case,
    side: str,
    motion: ValveMotion,
    least: float,
    drop: float | None,
    inclination: float,
    wrong_way: float,
) -> ValveRoom:
    block = case.block

    def taken(change: float) -> tuple[float, float]:
        """Room taken at the nearest approach with the cam advanced by a change, and where."""
        moved = replace(motion, centre=motion.centre - change)
        near = nearest_approach(
            moved, 0.0, block.stroke, block.rod_length, block.pin_offset, inclination
        )
        return -near.clearance, near.angle

    theta = np.linspace(-_SHOWN, _SHOWN, 481)
    down = np.array(
        [piston_travel(float(a), block.stroke, block.rod_length, block.pin_offset) for a in theta]
    )
    needed, angle = taken(0.0)
    left = None
    if drop is not None:
        left = _change_left(lambda change: taken(wrong_way * change)[0], drop - least)
    return ValveRoom(
        side=side,
        least=least,
        lift=motion.peak,
        drop=drop,
        angle=angle,
        needed_drop=needed + least,
        clearance=None if drop is None else drop - needed,
        change_left=left,
        changes=tuple(taken(change)[0] for change in CHANGES),
        theta=theta,
        path=np.asarray(motion.lift(2 * math.pi + theta) - down * math.cos(inclination)),
    )


def _change_left(taken: Callable[[float], float], room: float) -> float:
    """Change at which the room taken, which grows with it, equals the room there is."""
    low, high = -_FARTHEST, _FARTHEST
    if not taken(low) <= room <= taken(high):
        return math.nan
    while high - low > math.radians(0.02):
        middle = 0.5 * (low + high)
        if taken(middle) > room:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)
