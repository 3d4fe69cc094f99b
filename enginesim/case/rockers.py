"""
Other rockers on the same cam: the lobe stays, so the valve's lift goes with the ratio.

A lift that was given goes along; a lift table keeps the ratio with which it was measured, and
`valvetrain.lift` makes the lift of it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import TYPE_CHECKING

from enginesim.base.errors import Problem
from enginesim.base.readings import read
from enginesim.base.units import shown, unit
from enginesim.case.draft import Unresolved

if TYPE_CHECKING:
    from enginesim.case.document import Document
    from enginesim.case.draft import Draft

_SIDES = ("cam.intake", "cam.exhaust")


def is_touched(path: str) -> bool:
    """
    Say whether a field is a rocker ratio.

    Parameters
    ----------
    path : str
        Dotted field.

    Returns
    -------
    bool
        Whether lifts go along with it.
    """
    return path.endswith(".rocker_ratio") and path.removesuffix(".rocker_ratio") in _SIDES


def change(
    document: Document,
    text: str,
    named: Collection[str],
    place: str,
    draft: Callable[[Document], Draft],
) -> None:
    """
    Take in a ``path=value`` text that changes a rocker ratio; the lobe stays as it is.

    Parameters
    ----------
    document : Document
        What was given so far; gets the text, and a note for each lift that went along.
    text : str
        The change.
    named : collection of str
        All fields that are changed at once: a lift among them is taken at its word.
    place : str
        Where it stands, for messages.
    draft : callable
        Makes a draft of a document.
    """
    side = _path(text).removesuffix(".rocker_ratio")
    lift, lobe = f"{side}.valve_lift", f"{side}.lobe_lift"
    is_held = (
        not {lift, lobe} & set(named) and lift in document.entries and lobe not in document.entries
    )
    is_measured = _has_table(document, side) and not any(
        name.startswith(f"{side}.lift_table") for name in named
    )
    old = _lift_and_ratio(document, side, draft) if is_held or is_measured else None
    is_known = f"{side}.rocker_ratio" in document.entries
    document.override([text], place)
    new = _lift_and_ratio(document, side, draft) if old else None
    if not (old and new and new[1] != old[1]):
        return
    if is_measured:
        _keep_ratio(document, side, place, old[1], new[1], is_known=is_known)
    if is_held:
        _move(document, lift, place, old[0], old[0] * new[1] / old[1])


def _has_table(document: Document, side: str) -> bool:
    """Whether a lift table was given that says nothing of its rockers."""
    table = f"{side}.lift_table."
    given = [path for path in document.entries if path.startswith(table)]
    return bool(given) and f"{table}rocker_ratio" not in given


def _keep_ratio(
    document: Document, side: str, place: str, old: float, new: float, *, is_known: bool
) -> None:
    """Hold the ratio of a lift table, or say that it must be given: a default is not measured."""
    path = f"{side}.lift_table.rocker_ratio"
    if not is_known:
        hint = f"if with {old:g}, say so as well: --set {path}={old:g}"
        found = f"nothing, while the rockers go to {new:g}"
        allowed = "the rocker ratio with which the lift table was measured"
        document.problems.append(Problem(place, path, found, allowed, hint))
        return
    document.entries[path] = old
    document.places[path] = place
    found = f"a lift table measured with rockers of {old:g}, now {new:g}"
    hint = "other rockers on the same lobe; the lift follows, at the same lash"
    document.notes.append(Problem(place, f"{side}.lift_table", found, hint=hint))


def _path(text: str) -> str:
    return text.partition("=")[0].strip()


def _lift_and_ratio(
    document: Document, side: str, draft: Callable[[Document], Draft]
) -> tuple[float, float] | None:
    """Valve lift [m] and rocker ratio; None in a case that is told to be wrong anyway."""
    made = draft(document)
    try:
        return made.get(f"{side}.valve_lift"), made.get(f"{side}.rocker_ratio")
    except Unresolved:
        return None


def _move(document: Document, path: str, place: str, old: float, new: float) -> None:
    reading = read(str(document.entries[path]))
    name = reading.unit_text
    text = f"{unit(name).from_si(new):.9g} {name}"
    if reading.band is not None:
        text += f" +- {reading.band:g} {reading.band_unit}".rstrip()
    document.entries[path] = text
    document.overridden.add(path)
    document.places[path] = place
    document.notes.append(
        Problem(
            place,
            path,
            f"{shown(new, name)} instead of {shown(old, name)}",
            hint="other rockers on the same lobe; give valve_lift as well if the lift is to stay",
        )
    )
