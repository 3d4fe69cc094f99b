"""Exhaust: pipes and muffler that were not given."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from enginesim.base.units import to_si
from enginesim.case.defaults.block import swept_volume
from enginesim.case.draft import Default

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case.draft import Draft

_INCH: Final = 0.0254
_BORE_4_IN: Final = 4 * _INCH
_AIR_DENSITY: Final = 1.157  # SAE J1349 day [kg/m3]


def _is(draft: Draft, layout: str) -> bool:
    return bool(draft.get("exhaust.layout") == layout)


def _scale(draft: Draft) -> float:
    return float(draft.get("block.bore")) / _BORE_4_IN


def _primary_lengths(draft: Draft) -> Default:
    inches = {"log": 3.0, "4-into-2-into-1": 16.0}.get(draft.get("exhaust.layout"), 34.0)
    return Default((inches * _INCH * _scale(draft),) * draft.get("block.n_cylinders"))


def _primary_diameter(draft: Draft) -> Default:
    if not draft.given("exhaust.layout") or not _is(draft, "log"):
        raise draft.missing("exhaust.primary_diameter")
    return Default(1.5 * _INCH * _scale(draft))


def _secondary_length(draft: Draft) -> Default:
    return Default(16 * _INCH, implied=not _is(draft, "4-into-2-into-1"))


def _secondary_diameter(draft: Draft) -> Default:
    diameter = 1.2 * draft.get("exhaust.primary_diameter")
    return Default(diameter, implied=not _is(draft, "4-into-2-into-1"))


def _collector_length(draft: Draft) -> Default:
    if _is(draft, "single"):
        return Default(0.0, implied=True)
    return Default((6.0 if _is(draft, "log") else 14.0) * _INCH)


def _collector_diameter(draft: Draft) -> Default:
    if _is(draft, "single"):
        return Default(draft.get("exhaust.primary_diameter"), implied=True)
    if _is(draft, "log"):
        return Default(1.35 * draft.get("exhaust.log_diameter"))
    return Default(1.75 * draft.get("exhaust.primary_diameter"))


def _merge_volume(draft: Draft) -> Default:
    return Default(0.25 * math.pi * draft.get("exhaust.collector_diameter") ** 3)


def _tail_length(draft: Draft) -> Default:
    has_tail = draft.get("exhaust.muffler") != "none"
    return Default(60 * _INCH) if has_tail else Default(0.0, band="")


def _tail_diameter(draft: Draft) -> Default:
    collector = draft.get("exhaust.collector_diameter")
    narrowed = draft.get("exhaust.muffler") != "none" and not _is(draft, "log")
    return Default((0.85 if narrowed and not _is(draft, "single") else 1.0) * collector)


def _log_diameter(draft: Draft) -> Default:
    if not _is(draft, "log"):
        return Default(draft.get("exhaust.primary_diameter"), implied=True)
    return Default(1.5 * _INCH * _scale(draft))


def _log_segment_length(draft: Draft) -> Default:
    return Default(1.1 * draft.get("block.bore"), implied=not _is(draft, "log"))


def _bends(draft: Draft) -> Default:
    radius = 1.75 * draft.get("exhaust.primary_diameter")
    return Default(((math.radians(90), radius),) * (1 if _is(draft, "log") else 2))


def _muffler(draft: Draft) -> Default:
    if draft.given("exhaust.muffler_back_pressure"):
        return Default("back-pressure", implied=True)
    if draft.given("exhaust.muffler_volume"):
        return Default("volume", implied=True)
    return Default("back-pressure" if _is(draft, "log") else "none")


def _shared(draft: Draft) -> int:
    """Number of mufflers."""
    return 1 if draft.get("exhaust.crossover") else len(draft.get("block.banks"))


def _back_pressure(draft: Draft) -> Default:
    return Default(to_si(2.5, "psi"), implied=draft.get("exhaust.muffler") != "back-pressure")


def _muffler_flow(draft: Draft) -> Default:
    displacement = draft.get("block.n_cylinders") * swept_volume(draft)
    flow = 0.85 * _AIR_DENSITY * displacement * 5000 / 120 / _shared(draft)
    return Default(flow, implied=draft.get("exhaust.muffler") != "back-pressure")


def _muffler_volume(draft: Draft) -> Default:
    displacement = draft.get("block.n_cylinders") * swept_volume(draft)
    has_none = draft.get("exhaust.muffler") == "none"
    return Default(2 * displacement / _shared(draft), implied=has_none)


def _wall_temperature_primary(draft: Draft) -> Default:
    return Default(273.15 + (480.0 if _is(draft, "log") else 550.0))


RULES: Final[dict[str, Callable[[Draft], Default]]] = {
    "exhaust.primary_lengths": _primary_lengths,
    "exhaust.primary_diameter": _primary_diameter,
    "exhaust.secondary_length": _secondary_length,
    "exhaust.secondary_diameter": _secondary_diameter,
    "exhaust.merge_volume": _merge_volume,
    "exhaust.collector_length": _collector_length,
    "exhaust.collector_diameter": _collector_diameter,
    "exhaust.tail_length": _tail_length,
    "exhaust.tail_diameter": _tail_diameter,
    "exhaust.log_diameter": _log_diameter,
    "exhaust.log_segment_length": _log_segment_length,
    "exhaust.bends": _bends,
    "exhaust.muffler": _muffler,
    "exhaust.muffler_back_pressure": _back_pressure,
    "exhaust.muffler_flow": _muffler_flow,
    "exhaust.muffler_volume": _muffler_volume,
    "exhaust.wall_temperature_primary": _wall_temperature_primary,
}
