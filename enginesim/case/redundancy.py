"""
What a changed field stands in place of: some things about an engine can be said in two ways.

A cam's place is its intake centerline or its advance, a compression ratio is a number or its
pieces, a mixture is an air-fuel ratio or lambda. Where a case says the one and a change says the
other, the change replaces what it contradicts; what is held meanwhile is told.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection
from typing import TYPE_CHECKING, Final

from enginesim.base.errors import Problem
from enginesim.base.readings import read
from enginesim.base.units import UnitError
from enginesim.case.defaults.port_fit import LEAST_FLANGE, LEAST_MEAN
from enginesim.case.draft import Unresolved
from enginesim.case.quantities import Unfit
from enginesim.case.values import convert
from enginesim.formulas.areas import circle

if TYPE_CHECKING:
    from enginesim.case.document import Document
    from enginesim.case.draft import Draft

#: Three numbers of which two place the cam.
CAM: Final = ("cam.lobe_separation", "cam.intake_centreline", "cam.advance")
_PIECES: Final = ("gasket_bore", "gasket_thickness", "deck_clearance", "dish_volume")
_EVENTS: Final = tuple(
    f"cam.events.{side}_{event}" for side in ("intake", "exhaust") for event in ("opens", "closes")
)


def _either_way() -> dict[str, tuple[str, ...]]:
    found = {
        "cam.advance": ("cam.intake_centreline",),
        "cam.intake_centreline": ("cam.advance",),
        "block.compression_ratio": ("block.chamber_volume",),
        "block.chamber_volume": ("block.compression_ratio",),
        "mixture.afr": ("mixture.lambda",),
        "mixture.lambda": ("mixture.afr",),
        "throttle.flow": ("throttle.diameter", "throttle.count"),
        "throttle.diameter": ("throttle.flow", "throttle.drop"),
        "intake.layout": ("intake.plenum_groups",),
    }
    for side in ("intake", "exhaust"):
        sheet, lobe, spring = f"head.{side}.sheet", f"cam.{side}", f"valve_gear.{side}"
        found |= {
            f"head.{side}.peak_flow": (f"{sheet}.lift", f"{sheet}.flow"),
            f"{sheet}.flow": (f"head.{side}.peak_flow",),
            f"{lobe}.valve_lift": (f"{lobe}.lobe_lift",),
            f"{lobe}.lobe_lift": (f"{lobe}.valve_lift",),
            f"{spring}.rate": (f"{spring}.open_load",),
            f"{spring}.open_load": (f"{spring}.rate",),
        }
    return found


#: Field to those that it stands in place of, whatever both say.
EITHER_WAY: Final = _either_way()


def replace(
    document: Document,
    path: str,
    value: str,
    named: Collection[str],
    place: str,
    draft: Callable[[Document], Draft],
) -> None:
    """
    Remove what a field is about to stand in place of, and note it.

    Parameters
    ----------
    document : Document
        What was given so far.
    path, value : str
        Field that is about to be changed, and its new value as typed.
    named : collection of str
        All fields that are changed at once: a contradiction among these is the user's own.
    place : str
        Where the change stands, for messages.
    draft : callable
        Makes a draft of a document.
    """
    if path.endswith(".durations"):
        _tell_heights(document, path, value, place)
    others = (*_replaced(document, path, value), *_of_port(document, path, value, draft))
    gone = [
        other for other in others
        if other in document.entries and other not in named
    ]  # fmt: skip
    if not gone:
        return
    for kept in _pinned(path):
        if kept not in document.entries and kept not in named:
            _pin(document, kept, draft)
    for other in gone:
        old = document.entries.pop(other)
        document.overridden.discard(other)
        if not other.startswith("cam.") or other.endswith("_lift"):
            found = f"{value}, which replaces {other} = {old}"
            document.notes.append(Problem(place, path, found, hint="both say the same thing"))


def _tell_heights(document: Document, path: str, value: str, place: str) -> None:
    """Say that durations at other heights are gone: the card has those that are given, no more."""
    old = document.entries.get(path)
    before = len(old) if isinstance(old, list) else str(old or "").count("@")
    if before > value.count("@"):
        found = f"{value}, where the card had durations at {before} heights"
        hint = "the others are gone, and the seat's follows by rule; give them all to keep them"
        document.notes.append(Problem(place, path, found, hint=hint))


def _replaced(document: Document, path: str, value: str) -> tuple[str, ...]:
    """Fields that the change stands in place of, given or not."""
    found = EITHER_WAY.get(path, ())
    if path in CAM or path.endswith(".durations"):
        found += _EVENTS
    if path.removeprefix("block.") in _PIECES and "block.chamber_volume" in document.entries:
        found += ("block.compression_ratio",)
    side = path.removesuffix(".rocker_ratio")
    if side != path and f"{side}.lobe_lift" in document.entries:
        found += (f"{side}.valve_lift",)
    table, _, column = path.partition(".")
    if table in ("spark", "mixture") and column in ("advance", "lambda", "afr") and _is_one(value):
        found += (f"{table}.rpm",)
    if path == "spark.advance" and document.entries.get("spark.mode") != "schedule":
        found += ("spark.mode",)
    if path.startswith("exhaust.muffler_") and document.entries.get("exhaust.muffler") == "none":
        found += ("exhaust.muffler",)
    return found


def _of_port(
    document: Document, path: str, value: str, draft: Callable[[Document], Draft]
) -> tuple[str, ...]:
    """Size of a port that the new one contradicts: a mean or an opening below the smallest."""
    port, _, name = path.rpartition(".")
    sizes = ("port_volume", "port_length", "port_area_min", "port_flange_diameter")
    if port not in ("head.intake", "head.exhaust") or name not in sizes:
        return ()
    made = draft(document)
    known = {size: made.maybe(f"{port}.{size}") for size in sizes}
    try:
        known[name] = convert(made.field(path), value).value
    except Unfit:
        return ()  # it is refused for itself
    volume, length, area, flange = (known[size] for size in sizes)
    is_narrow = area is not None and (
        (volume is not None and length is not None and volume / length < LEAST_MEAN * area)
        or (flange is not None and circle(flange) < LEAST_FLANGE * area)
    )
    if not is_narrow:
        return ()
    if name == "port_area_min":
        return f"{port}.port_volume", f"{port}.port_flange_diameter"
    return (f"{port}.port_area_min",)


def _pinned(path: str) -> tuple[str, ...]:
    """Fields that must keep the value that follows from what is removed."""
    if path.removeprefix("block.") in _PIECES:
        return () if path == "block.dish_volume" else ("block.dish_volume",)
    if path.endswith((".valve_lift", ".lobe_lift")):
        return (f"{path.rpartition('.')[0]}.rocker_ratio",)
    if path == "cam.lobe_separation" or path.endswith(".durations"):
        return () if path in ("cam.advance", "cam.intake_centreline") else CAM[1:2]
    return ()


def _pin(document: Document, path: str, draft: Callable[[Document], Draft]) -> None:
    made = draft(document)
    try:
        value = made.get(path)
    except Unresolved:
        return
    if path == "cam.intake_centreline" and "cam.advance" in document.entries:
        return  # it follows from that
    if value is not None:
        from enginesim.case.text import in_si

        document.entries[path] = in_si(made.field(path), value)
        document.places[path] = document.place(path)


def _is_one(value: str) -> bool:
    try:
        return len(read(value).numbers) == 1
    except UnitError:
        return False


def timing(document: Document, draft: Callable[[Document], Draft]) -> tuple[float, ...] | None:
    """
    Separation, intake centerline and advance of a cam.

    Parameters
    ----------
    document : Document
        What was given so far.
    draft : callable
        Makes a draft of a document.

    Returns
    -------
    tuple of float or None
        In degrees; None where one is missing or wrong. [deg]
    """
    made = draft(document)
    try:
        separation, centre = (math.degrees(made.get(path)) for path in CAM[:2])
    except Unresolved:
        return None
    return separation, centre, separation - centre


def tell_timing(
    document: Document,
    named: Collection[str],
    place: str,
    before: tuple[float, ...],
    after: tuple[float, ...],
) -> None:
    """
    Note what of a cam's timing is held and what moves, where one of its three numbers was changed.

    Parameters
    ----------
    document : Document
        Gets the note.
    named : collection of str
        Fields that were changed at once.
    place : str
        Where the changes stand.
    before, after : tuple of float
        Separation, intake centerline and advance. [deg]
    """
    changed = [path for path in CAM if path in named]
    if len(changed) != 1 or all(abs(a - b) < 1e-6 for a, b in zip(before, after, strict=True)):
        return
    separation, centre, advance = (f"{value:.4g}" for value in after)
    (path,) = changed
    if path == "cam.lobe_separation" and abs(before[1] - after[1]) < 1e-6:
        found = f"{separation} deg, the intake centerline held at {centre} deg"
        hint = (
            f"only the exhaust lobe moves, and the advance goes from {before[2]:.4g} to {advance} "
            f"deg; to hold it give cam.advance={before[2]:.4g} as well"
        )
    elif path == "cam.lobe_separation":
        found = f"{separation} deg, the advance held at {advance} deg"
        hint = f"both lobes move; the intake centerline goes from {before[1]:.4g} to {centre} deg"
    else:
        found = f"{advance} deg of advance, the lobe separation held at {separation} deg"
        hint = f"both lobes move; the intake centerline goes from {before[1]:.4g} to {centre} deg"
    document.notes.append(Problem(place, path, found, hint=hint))
