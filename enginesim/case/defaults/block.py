"""Block: cranks, banks, compression and bearings that were not given."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from enginesim.base.constants import CYCLE_ANGLE
from enginesim.base.units import shown
from enginesim.case.draft import GIVES_WAY, Default, Unresolved
from enginesim.formulas import crank
from enginesim.formulas.areas import circle

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case.draft import Draft

#: Firing intervals may sum to this much more or less than one cycle [rad].
ROUNDING: Final = math.radians(0.5)
#: A ratio and the one that its pieces give may differ by this much. [-]
RATIO_DOUBTFUL: Final = 0.05
#: Cylinders of a bank that a layout of the exhaust needs.
BANK_SIZES: Final = {"4-into-1": 4, "4-into-2-into-1": 4, "3-into-1": 3, "2-into-1": 2}
# Domes and dishes of usual pistons over the usual reliefs: -14 to 28 cc on a 4 in bore (estimate).
_DOME, _DISH = -2.5, 5.0
_BORE_4_IN: Final = 4 * 0.0254
_PIECES: Final = ("chamber_volume", "gasket_bore", "gasket_thickness", "deck_clearance",
                  "dish_volume")  # fmt: skip

_IN_LINE: Final = {
    1: (1,),
    2: (1, 2),
    3: (1, 3, 2),
    4: (1, 3, 4, 2),
    5: (1, 2, 4, 5, 3),
    6: (1, 5, 3, 6, 2, 4),
    8: (1, 6, 2, 5, 8, 3, 7, 4),
}
_VEE: Final = {
    2: (1, 2),
    4: (1, 3, 2, 4),
    6: (1, 2, 3, 4, 5, 6),
    8: (1, 8, 4, 3, 6, 5, 7, 2),
    10: (1, 6, 5, 10, 2, 7, 3, 8, 4, 9),
    12: (1, 7, 5, 11, 3, 9, 6, 12, 2, 8, 4, 10),
}
_FLAT: Final = {2: (1, 2), 4: (1, 3, 2, 4), 6: (1, 6, 2, 4, 3, 5)}


def _arrangement(draft: Draft) -> Default:
    return Default("vee" if draft.get("block.n_cylinders") in (8, 10, 12, 16) else "in-line")


def _firing_order(draft: Draft) -> Default:
    n = draft.get("block.n_cylinders")
    arrangement = draft.get("block.arrangement")
    known = {"in-line": _IN_LINE, "vee": _VEE, "flat": _FLAT}[arrangement]
    if n not in known:
        raise draft.missing("block.firing_order", f"the firing order of the {n} cylinders")
    return Default(known[n], implied=n == 1)


def _firing_intervals(draft: Draft) -> Default:
    n = draft.get("block.n_cylinders")
    return Default((CYCLE_ANGLE / n,) * n, implied=n == 1)


def _banks(draft: Draft) -> Default:
    """Usual banks; where the exhaust's layout joins fewer, each in parts that fire evenly."""
    usual = _usual_banks(draft)
    size = BANK_SIZES.get(draft.maybe("exhaust.layout"), 0)
    lengths = {len(bank) for bank in usual.value}
    if not size or lengths == {size} or sum(map(len, usual.value)) % size:
        return usual
    order = draft.get("block.firing_order")
    parts = []
    whole = any(length % size for length in lengths)
    for bank in (order,) if whole else usual.value:
        firing = [cylinder for cylinder in order if cylinder in bank]
        n_parts = len(firing) // size
        parts += [tuple(sorted(firing[i::n_parts])) for i in range(n_parts)]
    text = " / ".join(" ".join(map(str, bank)) for bank in usual.value)
    return Default(tuple(parts), source=GIVES_WAY.format(text))


def _usual_banks(draft: Draft) -> Default:
    n, arrangement = draft.get("block.n_cylinders"), draft.get("block.arrangement")
    cylinders = tuple(range(1, n + 1))
    halves = (cylinders[: n // 2], cylinders[n // 2 :])
    odd_even = (cylinders[::2], cylinders[1::2])
    if arrangement == "in-line":
        return Default(halves if n in (6, 8) else (cylinders,), implied=n == 1)
    if n <= 2:
        return Default((cylinders,))
    if n in (12, 16) or (arrangement == "flat" and n == 6):
        return Default(halves)
    return Default(odd_even)


def _rod_length(draft: Draft) -> Default:
    return Default(1.64 * draft.get("block.stroke"))


def clearance_volume(draft: Draft) -> float:
    """
    Volume above the piston at top dead centre, from its pieces.

    Parameters
    ----------
    draft : Draft
        With a chamber volume.

    Returns
    -------
    float
        Chamber, gasket, deck, dish and crevice. [m3]

    Notes
    -----
    Geometry: no source needed.
    """
    return _above_crown(draft) + float(draft.get("block.dish_volume"))


def _above_crown(draft: Draft) -> float:
    """The same without what the piston's crown takes or gives. [m3]."""
    gasket = circle(draft.get("block.gasket_bore"))
    deck = circle(draft.get("block.bore"))
    return float(
        draft.get("block.chamber_volume")
        + gasket * draft.get("block.gasket_thickness")
        + deck * draft.get("block.deck_clearance")
        + draft.get("block.crevice_volume")
    )


def _dish(draft: Draft) -> Default:
    """The usual one; where ratio and chamber were given, the one that makes them agree."""
    if not draft.given("block.chamber_volume"):
        return Default(None)
    usual = 5.5e-6 * (float(draft.get("block.bore")) / _BORE_4_IN) ** 3
    ratio = draft.maybe("block.compression_ratio")
    if ratio is None:
        return Default(usual)
    swept, above = swept_volume(draft), _above_crown(draft)
    if above + usual > 0 and abs(1 + swept / (above + usual) - ratio) <= RATIO_DOUBTFUL:
        return Default(usual)
    fitting = swept / (ratio - 1) - above
    if not _DOME * usual <= fitting <= _DISH * usual:
        return Default(usual)
    chamber = shown(draft.get("block.chamber_volume"), "cc")
    found = f"a ratio of {ratio:.2f} and a chamber of {chamber}, without the piston's dish"
    hint = f"{shown(fitting, 'cc')} make them agree and are assumed; usual would be "
    draft.warn("block.dish_volume", found, "a measured one", hint + shown(usual, "cc"))
    return Default(fitting, source=GIVES_WAY.format(shown(usual, "cc")))


def swept_volume(draft: Draft) -> float:
    """
    Displacement of one cylinder.

    Parameters
    ----------
    draft : Draft
        With bore and stroke.

    Returns
    -------
    float
        Bore area times stroke. [m3]
    """
    return crank.swept_volume(draft.get("block.bore"), draft.get("block.stroke"))


def _compression_ratio(draft: Draft) -> Default:
    if not draft.given("block.chamber_volume"):
        if any(draft.given(f"block.{piece}") for piece in _PIECES):
            raise draft.missing("block.chamber_volume", "the chamber volume, or compression_ratio")
        raise draft.missing("block.compression_ratio", "the ratio, or at least chamber_volume")
    clearance = clearance_volume(draft)
    if clearance <= 0:
        draft.report("block.chamber_volume", f"{clearance * 1e6:.1f} cc above the piston",
                     "a positive volume", "is the dome too large?")  # fmt: skip
        raise Unresolved
    ratio = 1 + swept_volume(draft) / clearance
    if not 4 <= ratio <= 20:
        hint = f"{swept_volume(draft) * 1e6:.0f} cc swept, {clearance * 1e6:.1f} cc left over"
        draft.report("block.chamber_volume", f"pieces that give {ratio:.2f}", "4 to 20", hint)
        raise Unresolved
    return Default(ratio, implied=True)


def _piece(work_out: Callable[[Draft], float]) -> Callable[[Draft], Default]:
    """Default of a piece, wanted only where the ratio comes from the pieces."""

    def rule(draft: Draft) -> Default:
        if draft.given("block.chamber_volume"):
            return Default(work_out(draft))
        return Default(None)

    return rule


def _of_bore(factor: float) -> Callable[[Draft], Default]:
    return lambda draft: Default(factor * draft.get("block.bore"))


def _n_main_bearings(draft: Draft) -> Default:
    n = draft.get("block.n_cylinders")
    throws = n // 2 if draft.get("block.arrangement") == "vee" and n > 1 else n
    return Default(max(throws + 1, 2))


def _n_cam_bearings(draft: Draft) -> Default:
    kind = draft.get("head.valvetrain")
    if kind == "ohv":
        return Default(draft.get("block.n_main_bearings"))
    n_banks = 1 if draft.get("block.arrangement") == "in-line" else 2
    a_bank = math.ceil(draft.get("block.n_cylinders") / n_banks)
    return Default((a_bank + 1) * n_banks * (2 if kind == "dohc" else 1))


def _rounded_sum(_: Draft, intervals: tuple[float, ...]) -> tuple[float, ...]:
    """Intervals that were rounded to print, scaled to one cycle exactly."""
    total = math.fsum(intervals)
    if abs(total - CYCLE_ANGLE) > ROUNDING:
        return intervals
    return tuple(interval * (CYCLE_ANGLE / total) for interval in intervals)


RULES: Final[dict[str, Callable[[Draft], Default]]] = {
    "block.arrangement": _arrangement,
    "block.firing_order": _firing_order,
    "block.firing_intervals": _firing_intervals,
    "block.banks": _banks,
    "block.rod_length": _rod_length,
    "block.compression_ratio": _compression_ratio,
    "block.gasket_bore": _piece(lambda d: float(d.get("block.bore")) + 0.07 * 0.0254),
    "block.gasket_thickness": _piece(lambda _: 0.040 * 0.0254),
    "block.deck_clearance": _piece(lambda _: 0.020 * 0.0254),
    "block.dish_volume": _dish,
    "block.main_bearing_diameter": _of_bore(0.61),
    "block.main_bearing_length": _of_bore(0.20),
    "block.n_main_bearings": _n_main_bearings,
    "block.rod_bearing_diameter": _of_bore(0.53),
    "block.rod_bearing_length": _of_bore(0.20),
    "block.n_cam_bearings": _n_cam_bearings,
}

COMPLETIONS: Final[dict[str, Callable[[Draft, Any], Any]]] = {
    "block.firing_intervals": _rounded_sum,
}
