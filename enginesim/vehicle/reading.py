"""From a vehicle file to a vehicle, or to the list of everything that is wrong with it."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Final

from enginesim.base.characters import quoted
from enginesim.base.errors import CaseError
from enginesim.case.document import Document
from enginesim.case.draft import Default, Draft, Unresolved
from enginesim.case.examples import located
from enginesim.case.reading import assumptions, finished
from enginesim.vehicle.tree import Vehicle

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

_SIZE: Final = re.compile(
    r"\s*(?:P|LT)?(\d{3})\s*/\s*(\d{2,3})\s*-?\s*Z?[RBD]?\s*(\d{1,2}(?:\.5)?)"
)


def load(path: str | Path, overrides: Iterable[str] = ()) -> Vehicle:
    """
    Vehicle of a file.

    Parameters
    ----------
    path : str or Path
        TOML file, or ``example:NAME`` of one that comes with the program.
    overrides : iterable of str
        Texts ``path=value`` that replace what the file says, such as ``gearbox.axle=3.9``.

    Returns
    -------
    Vehicle
        Complete, in SI.

    Raises
    ------
    CaseError
        With every problem, if there is any.
    """
    path = located(path)
    document = Document(str(path), path.parent, Vehicle)
    document.add_file(path)
    if not document.problems or document.entries:
        document.override(overrides, "--set")
    return _vehicle(document)


def loads(text: str, *, label: str = "vehicle") -> Vehicle:
    """
    Vehicle of a text.

    Parameters
    ----------
    text : str
        TOML.
    label : str
        What messages call the text.

    Returns
    -------
    Vehicle
        Complete, in SI.

    Raises
    ------
    CaseError
        With every problem, if there is any.
    """
    document = Document(label, Path(), Vehicle)
    document.add_text(text, label)
    return _vehicle(document)


def _vehicle(document: Document) -> Vehicle:
    if document.problems and not document.entries:
        raise CaseError(document.problems)
    draft = Draft(document, RULES, {})
    draft.resolve_all()
    for check in _CHECKS:
        try:
            check(draft)
        except Unresolved:
            continue
    return Vehicle(**finished(draft), assumed=assumptions(draft))


def tyre_diameter(size: str) -> float | None:
    """
    Outside diameter of a tyre of a named size.

    Parameters
    ----------
    size : str
        Width in millimetres, height in per cent of it, rim in inches: ``225/60 R15``.

    Returns
    -------
    float or None
        Rim and twice the height of the wall; None for a text that is no size. [m]

    Examples
    --------
    >>> print(f"{tyre_diameter('225/60 R15') / 0.0254:.2f} in")
    25.63 in
    """
    match = _SIZE.fullmatch(size.rstrip())
    if match is None:
        return None
    width, aspect, rim = (float(number) for number in match.groups())
    return rim * 0.0254 + 2 * 1e-3 * width * aspect / 100


def _drag_area(draft: Draft) -> Default:
    parts = ("body.drag_coefficient", "body.frontal_area")
    if not any(draft.given(part) for part in parts):
        raise draft.missing("body.drag_area")
    for part in parts:
        if not draft.given(part):
            raise draft.missing(part, "coefficient and frontal area, or drag_area alone")
    return Default(draft.get(parts[0]) * draft.get(parts[1]), implied=True)


def _diameter(draft: Draft) -> Default:
    size = draft.maybe("tyres.size")
    if size is None:
        raise draft.missing("tyres.diameter")
    diameter = tyre_diameter(size)
    if diameter is None or not 0.2 <= diameter <= 2.5:
        allowed = "width in mm / height in % R rim in inches, such as 225/60 R15"
        draft.report("tyres.size", quoted(size), allowed, "or give tyres.diameter")
        raise Unresolved
    return Default(diameter, implied=True)


def _rolling_radius(draft: Draft) -> Default:
    return Default(0.97 * 0.5 * draft.get("tyres.diameter"))


def _engine_inertia(draft: Draft) -> Default:
    return Default(0.0025 * draft.get("body.mass") * draft.get("tyres.rolling_radius") ** 2)


RULES: Final[dict[str, Callable[[Draft], Default]]] = {
    "body.drag_area": _drag_area,
    "tyres.diameter": _diameter,
    "tyres.rolling_radius": _rolling_radius,
    "gearbox.engine_inertia": _engine_inertia,
}


def _gears_fall(draft: Draft) -> None:
    gears = draft.get("gearbox.gears")
    for i, (lower, higher) in enumerate(pairwise(gears), 1):
        if higher >= lower:
            found = f"{lower:g} in gear {i} and {higher:g} in gear {i + 1}"
            draft.report("gearbox.gears", found, "ratios that fall, first gear first")
            return


def _shift_speeds(draft: Draft) -> None:
    speeds, changes = draft.maybe("gearbox.shift_speed"), len(draft.get("gearbox.gears")) - 1
    if speeds is not None and len(speeds) not in (1, changes):
        found = f"{len(speeds)} speeds for {changes} changes up"
        draft.report("gearbox.shift_speed", found, "one for all, or one for each change")
    highest = draft.maybe("gearbox.highest_speed")
    if speeds is not None and highest is not None and max(speeds) > highest:
        found = f"{max(speeds):g} rpm"
        draft.report("gearbox.shift_speed", found, f"up to highest_speed, {highest:g} rpm")


def _one_drag(draft: Draft) -> None:
    parts = [draft.maybe(f"body.{name}") for name in ("drag_coefficient", "frontal_area")]
    area = draft.maybe("body.drag_area")
    if area is None or None in parts:
        return
    implied = parts[0] * parts[1]
    if abs(area - implied) > 0.02 * implied:
        found = f"{area:.3g} m2, while coefficient x frontal area give {implied:.3g} m2"
        draft.report("body.drag_area", found, "one of the two, or both alike within 2 %")


def _one_diameter(draft: Draft) -> None:
    size, given = draft.maybe("tyres.size"), draft.maybe("tyres.diameter")
    implied = tyre_diameter(size) if size is not None else None
    if given is None or implied is None:
        return
    if abs(given / implied - 1) > 0.03:
        found = f"{given / 0.0254:.1f} in, while the size gives {implied / 0.0254:.1f} in"
        draft.report("tyres.diameter", found, "one of the two, or both alike within 3 %")


_CHECKS: Final = (_gears_fall, _shift_speeds, _one_drag, _one_diameter)
