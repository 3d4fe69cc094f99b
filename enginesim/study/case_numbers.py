"""Which numbers does a case decide by itself, without a simulation?"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from enginesim.base.quantity import Quantity
from enginesim.base.units import SI_UNITS
from enginesim.case.facts import fields_of, walk
from enginesim.case.tree import Case

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case.cam import Lobe
    from enginesim.case.facts import Part

INTAKE_GAP: Final = "piston_to_valve_intake"
EXHAUST_GAP: Final = "piston_to_valve_exhaust"
#: What must have been measured on the engine for it: a field of the case.
MEASURED: Final = {
    INTAKE_GAP: "clearances.intake_drop",
    EXHAUST_GAP: "clearances.exhaust_drop",
}


def _trapped_ratio(case: Case) -> float:
    from enginesim.case.derived import derive

    return derive(case).trapped_ratio


def _displacement(case: Case) -> float:
    block = case.block
    return block.n_cylinders * math.pi / 4 * block.bore**2 * block.stroke


def _seat_duration(lobe: Lobe) -> float:
    """Open time of a valve at the lowest height of its card or table. [rad]."""
    if lobe.lift_table is not None:
        return lobe.lift_table.angle[-1] - lobe.lift_table.angle[0]
    return max(duration for _, duration in lobe.durations)


def _overlap(case: Case) -> float:
    from enginesim.valvetrain.card import overlap

    cam = case.cam
    return overlap(_seat_duration(cam.intake), _seat_duration(cam.exhaust), cam.lobe_separation)


def _intake_closes(case: Case) -> float:
    return 0.5 * _seat_duration(case.cam.intake) + case.cam.intake_centreline - math.pi


def _exhaust_opens(case: Case) -> float:
    from enginesim.valvetrain.card import exhaust_centreline

    cam = case.cam
    centre = exhaust_centreline(cam.lobe_separation, cam.intake_centreline)
    return 0.5 * _seat_duration(cam.exhaust) + centre - math.pi


_PLAIN: Final[dict[str, tuple[Quantity, Callable[[Case], float]]]] = {
    "trapped_ratio": (
        Quantity("trapped_ratio", "-", "trapped ratio", "Compression from intake closing."),
        _trapped_ratio,
    ),
    "displacement": (
        Quantity("displacement", "m3", "displacement", "Swept volume of all cylinders."),
        _displacement,
    ),
    "overlap": (
        Quantity("overlap", "rad", "overlap", "Both valves open, at the seat."),
        _overlap,
    ),
    "intake_closes": (
        Quantity("intake_closes", "rad", "intake closes", "After bottom dead centre, at the seat."),
        _intake_closes,
    ),
    "exhaust_opens": (
        Quantity("exhaust_opens", "rad", "exhaust opens", "Before bottom dead centre, at seat."),
        _exhaust_opens,
    ),
}  # fmt: skip

_GAPS: Final = {
    INTAKE_GAP: Quantity(
        INTAKE_GAP, "m", "piston to intake valve", "Nearest approach around gas exchange."
    ),
    EXHAUST_GAP: Quantity(
        EXHAUST_GAP, "m", "piston to exhaust valve", "Nearest approach around gas exchange."
    ),
}


def case_quantities() -> dict[str, Quantity]:
    """
    Every number that the case alone decides, with its unit.

    Returns
    -------
    dict of str to Quantity
        Derived numbers, clearances, and every field of the case that is one number.
    """
    known = {name: meaning for name, (meaning, _) in _PLAIN.items()} | _GAPS
    for path, spot in walk(Case):
        if spot.kind in ("value", "integer") and not spot.optional:
            unit = SI_UNITS[spot.facts.dimension] or "-"
            label = path.rpartition(".")[2].replace("_", " ")
            known[path] = Quantity(path, unit, label, f"{spot.facts.help}.")
    return known


def case_number(case: Case, name: str) -> float:
    """
    One of these numbers.

    Parameters
    ----------
    case : Case
        The engine.
    name : str
        Key of :func:`case_quantities`.

    Returns
    -------
    float
        In SI. [SI]
    """
    if name in _PLAIN:
        return _PLAIN[name][1](case)
    if name in _GAPS:
        return _gap(case, name)
    return float(field_value(case, name))


def field_value(case: Case, path: str) -> Any:
    """
    What stands in a field of a case.

    Parameters
    ----------
    case : Case
        The engine.
    path : str
        Dotted field.

    Returns
    -------
    object
        As the code sees it; None where its part is not there. [SI]
    """
    here: Any = case
    for key in path.split("."):
        if here is None:
            return None
        model: type[Part] = type(here)
        here = getattr(here, fields_of(model)[key].name)
    return here


def _gap(case: Case, name: str) -> float:
    from enginesim.valvetrain.clearance import nearest_approach
    from enginesim.valvetrain.lift import lift_curves

    block, room, curves = case.block, case.clearances, lift_curves(case)
    if name == INTAKE_GAP:
        valve, depth, inclination = curves.intake_motion, room.intake_drop, room.intake_inclination
    else:
        valve, depth = curves.exhaust_motion, room.exhaust_drop
        inclination = room.exhaust_inclination
    return nearest_approach(
        valve,
        math.nan if depth is None else depth,
        block.stroke,
        block.rod_length,
        block.pin_offset,
        inclination,
    ).clearance
