"""Other rockers on the same cam: the lobe stays, so the valve's lift goes with the ratio."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from enginesim.base.errors import CaseError, Problem
from enginesim.base.readings import read
from enginesim.base.units import shown, unit

if TYPE_CHECKING:
    from enginesim.case.document import Document
    from enginesim.case.tree import Case

_SIDES = ("cam.intake", "cam.exhaust")


def override(
    document: Document, texts: Iterable[str], place: str, build: Callable[[Document], Case]
) -> None:
    """
    Take in ``path=value`` texts; where one changes a rocker ratio, the lobe stays as it is.

    Parameters
    ----------
    document : Document
        What was given so far; gets the texts, and a note for each lift that went along.
    texts : iterable of str
        The later one wins. A lift among them is taken at its word.
    place : str
        Where they stand, for messages.
    build : callable
        Makes a case of a document, or raises CaseError.
    """
    texts = list(texts)
    named = {_path(text) for text in texts}
    for text in texts:
        side = _path(text).removesuffix(".rocker_ratio")
        lift, lobe = f"{side}.valve_lift", f"{side}.lobe_lift"
        is_held = (
            side in _SIDES
            and not {lift, lobe} & named
            and lift in document.entries
            and lobe not in document.entries
        )
        old = _lift_and_ratio(document, side, build) if is_held else None
        document.override([text], place)
        new = _lift_and_ratio(document, side, build) if old else None
        if old and new and new[1] != old[1]:
            _move(document, lift, place, old[0], old[0] * new[1] / old[1])


def _path(text: str) -> str:
    return text.partition("=")[0].strip()


def _lift_and_ratio(
    document: Document, side: str, build: Callable[[Document], Case]
) -> tuple[float, float] | None:
    """Valve lift [m] and rocker ratio; None in a case that is told to be wrong anyway."""
    try:
        cam = build(document).cam
    except CaseError:
        return None
    shaft = cam.intake if side.endswith("intake") else cam.exhaust
    return shaft.valve_lift, shaft.rocker_ratio


def _move(document: Document, path: str, place: str, old: float, new: float) -> None:
    reading = read(str(document.entries[path]))
    name = reading.unit_text
    text = f"{unit(name).from_si(new):.9g} {name}"
    if reading.band is not None:
        text += f" +- {reading.band:g} {reading.band_unit}".rstrip()
    document.entries[path] = text
    document.places[path] = place
    document.notes.append(
        Problem(
            place,
            path,
            f"{shown(new, name)} instead of {shown(old, name)}",
            hint="other rockers on the same lobe; give valve_lift as well if the lift is to stay",
        )
    )
