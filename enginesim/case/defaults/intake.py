"""Intake: plenum, runners and throttle that were not given."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from enginesim.base.units import shown, to_si
from enginesim.case.bench import effective_area
from enginesim.case.defaults.block import swept_volume
from enginesim.case.draft import GIVES_WAY, Default
from enginesim.formulas.areas import circle

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case.draft import Draft

_INCH: Final = 0.0254
_BORE_4_IN: Final = 4 * _INCH
_UNEQUAL: Final = 1.5 * _INCH
#: Effective area of a throttle's rating over that of its bores.
LEAST_CD: Final = 0.5
MOST_CD: Final = 1.0
_USUAL_CD: Final = 0.9
_RATINGS: Final = (1.5, 3.0)  # of carburettors with four barrels, and with one or two [inHg]
_FEW: Final = range(2, 5)  # throttles that are one carburetor; more bores would be told of
_ONE_EACH: Final = ("individual throttles", "open stacks")


def _plenum_volume(draft: Draft) -> Default:
    layout, n = draft.get("intake.layout"), draft.get("block.n_cylinders")
    part = {"single plenum": 0.5, "divided plenum": 0.25}.get(layout, 0.5)
    if layout == "single plenum" and draft.get("throttle.kind") == "throttle body":
        part = 1.0
    return Default(part * n * swept_volume(draft))


def _plenum_groups(draft: Draft) -> Default:
    layout, n = draft.get("intake.layout"), draft.get("block.n_cylinders")
    if layout in _ONE_EACH:
        return Default(tuple((i,) for i in range(1, n + 1)), implied=True)
    if layout == "divided plenum":
        order = draft.get("block.firing_order")
        return Default((tuple(sorted(order[::2])), tuple(sorted(order[1::2]))))
    return Default((tuple(range(1, n + 1)),), implied=True)


def _runner_lengths(draft: Draft) -> Default:
    layout, n = draft.get("intake.layout"), draft.get("block.n_cylinders")
    scale = draft.get("block.bore") / _BORE_4_IN
    if layout == "divided plenum":
        lengths = dict.fromkeys(range(1, n + 1), 6.5 * _INCH * scale)
        for bank in draft.get("block.banks"):
            for cylinder, shift in zip(bank, _outwards(len(bank)), strict=True):
                lengths[cylinder] = (6.5 * _INCH + shift * _UNEQUAL) * scale
        return Default(tuple(lengths[i] for i in range(1, n + 1)))
    length = {"individual throttles": 6.0, "open stacks": 10.0}.get(layout, 5.0)
    if layout == "single plenum" and draft.get("throttle.kind") == "throttle body":
        length = 15.0
    return Default((length * _INCH * scale,) * n)


def _outwards(n: int) -> list[float]:
    """-1 for the middle of a bank to 1 for its ends."""
    far = [abs(i - 0.5 * (n - 1)) for i in range(n)]
    nearest, farthest = min(far, default=0.0), max(far, default=0.0)
    if farthest == nearest:
        return [0.0] * n
    return [2 * (f - nearest) / (farthest - nearest) - 1 for f in far]


def _runner_stations(draft: Draft) -> Default:
    flange = draft.get("head.intake.port_flange_diameter")
    return Default(((0.0, 1.12 * flange), (1.0, flange)))


def _bends(draft: Draft) -> Default:
    if draft.get("intake.layout") in _ONE_EACH:
        return Default(())
    radius = 2 * draft.get("head.intake.port_flange_diameter")
    return Default(((math.radians(60), radius),))


def _entry(draft: Draft) -> Default:
    return Default("bell-mouth" if draft.get("intake.layout") in _ONE_EACH else "radiused")


def _wall_temperature(draft: Draft) -> Default:
    heated = draft.get("fuel.delivery") == "carburettor"
    return Default(273.15 + (80.0 if heated else 55.0))


def _throttle_kind(draft: Draft) -> Default:
    if not draft.given("intake.layout"):
        raise draft.missing("throttle.kind")
    layout = draft.get("intake.layout")
    if layout == "open stacks":
        return Default("none", implied=True)
    if layout == "individual throttles":
        return Default("throttle body")
    raise draft.missing("throttle.kind")


def _drop(draft: Draft) -> Default:
    rated = draft.given("throttle.flow")
    if rated and draft.get("throttle.kind") == "throttle body":
        raise draft.missing(
            "throttle.drop", 'the drop of the rating, such as flow = "900 cfm @ 28 inH2O"'
        )
    usual, other = (to_si(drop, "inHg") for drop in _RATINGS)
    count = draft.maybe("throttle.count")
    if (
        count is not None
        and _is_refused(draft, usual, count)
        and not _is_refused(draft, other, count)
    ):
        return Default(other, source=GIVES_WAY.format(shown(usual, "inHg")))
    return Default(usual, implied=not rated)


def _count(draft: Draft) -> Default:
    """One; where a flow and a bore were given, as many as make them agree."""
    drop = draft.get("throttle.drop")
    if not _is_refused(draft, drop, 1):
        return Default(1)
    fitting = [n for n in _FEW if not _is_refused(draft, drop, n)]
    if not fitting:
        return Default(1)
    best = min(fitting, key=lambda n: abs(_of_bores(draft, drop, n) - _USUAL_CD))
    return Default(best, source=GIVES_WAY.format("1"))


def _of_bores(draft: Draft, drop: float, count: int) -> float:
    """Part of the bores' area that the rated flow needs; the usual one where one is not given."""
    flow, diameter = draft.maybe("throttle.flow"), draft.maybe("throttle.diameter")
    if flow is None or diameter is None:
        return _USUAL_CD
    return effective_area(flow, drop, 101325.0, 293.15) / (count * circle(diameter))


def _is_refused(draft: Draft, drop: float, count: int) -> bool:
    return not LEAST_CD <= _of_bores(draft, drop, count) <= MOST_CD


def _sorted_stations(_: Draft, stations: tuple[tuple[float, float], ...]) -> Any:
    if len(stations) == 1:
        return ((0.0, stations[0][1]), (1.0, stations[0][1]))
    return stations


RULES: Final[dict[str, Callable[[Draft], Default]]] = {
    "intake.plenum_volume": _plenum_volume,
    "intake.plenum_groups": _plenum_groups,
    "intake.runner_lengths": _runner_lengths,
    "intake.runner_stations": _runner_stations,
    "intake.bends": _bends,
    "intake.entry": _entry,
    "intake.wall_temperature": _wall_temperature,
    "throttle.kind": _throttle_kind,
    "throttle.drop": _drop,
    "throttle.count": _count,
}

COMPLETIONS: Final[dict[str, Callable[[Draft, Any], Any]]] = {
    "intake.runner_stations": _sorted_stations,
}
