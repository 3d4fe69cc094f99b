"""Intake, throttle and exhaust."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from enginesim.base.units import shown
from enginesim.case.bench import effective_area
from enginesim.case.checks.block import is_partition
from enginesim.case.defaults.block import BANK_SIZES
from enginesim.case.defaults.intake import LEAST_CD, MOST_CD
from enginesim.case.numerics import HOT_CELLS, MOST_CELLS
from enginesim.formulas.areas import circle

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case.draft import Draft


def _plenum_groups(draft: Draft) -> None:
    path = "intake.plenum_groups"
    groups, layout = draft.get(path), draft.get("intake.layout")
    is_partition(draft, path, (i for group in groups for i in group))
    if any(not group for group in groups):
        draft.report(path, "an empty group", "one cylinder or more in each")
    n = len(groups)
    if layout == "single plenum" and n != 1:
        draft.report(path, f"{n} groups", "one, with a single plenum", "divided plenum?")
    if layout == "divided plenum" and n < 2:
        draft.report(path, "one group", "two or more, with a divided plenum")
    if layout in ("individual throttles", "open stacks") and any(len(g) != 1 for g in groups):
        draft.report(path, "cylinders that share", f"each cylinder its own, with {layout}")


def _one_each(path: str, what: str) -> Callable[[Draft], None]:
    def check(draft: Draft) -> None:
        values, n = draft.get(path), draft.get("block.n_cylinders")
        if len(values) != n:
            found = f"{len(values)} {what}"
            draft.report(path, found, f"one for all, or {n}: one for each cylinder")

    return check


def _stations(draft: Draft) -> None:
    path = "intake.runner_stations"
    stations = draft.get(path)
    places = [place for place, _ in stations]
    if not places:
        draft.report(path, "no station", "one or more")
    elif any(b <= a for a, b in pairwise(places)) or places[0] != 0.0 or places[-1] != 1.0:
        found = "stations at " + " ".join(f"{place:g}" for place in places)
        draft.report(path, found, "0 (plenum) first, 1 (head) last, rising between")
        return
    else:
        flange = draft.get("head.intake.port_flange_diameter")
        step = circle(stations[-1][1]) / circle(flange)
        if not 0.6 <= step <= 1.7:
            found = f"{shown(stations[-1][1], 'in')} against a port of {shown(flange, 'in')}"
            draft.warn(path, found, "about the port's opening", "the step costs flow")


def _throttle_size(draft: Draft) -> None:
    if any(draft.given(f"throttle.{key}") for key in ("flow", "diameter")):
        return
    known = draft.given("throttle.kind") or draft.given("intake.layout")
    if known and draft.get("throttle.kind") == "none":
        return
    raise draft.missing("throttle.flow", 'a rated flow such as "650 cfm @ 1.5 inHg", or a diameter')


def _throttle(draft: Draft) -> None:
    kind, layout = draft.get("throttle.kind"), draft.get("intake.layout")
    flow, diameter = draft.maybe("throttle.flow"), draft.maybe("throttle.diameter")
    if kind == "none":
        if flow is not None or diameter is not None:
            hint = "give the kind: carburettor or throttle body"
            draft.report("throttle.kind", "none, with a size", "no size without a throttle", hint)
        return
    if layout == "open stacks":
        allowed = "none with open stacks"
        draft.report("throttle.kind", kind, allowed, "individual throttles?")
    if flow is not None and diameter is not None:
        rated = effective_area(flow, draft.get("throttle.drop"), 101325.0, 293.15)
        bores = draft.get("throttle.count") * circle(diameter)
        cd = rated / bores
        if not LEAST_CD <= cd <= MOST_CD:
            found = f"a flow that needs {cd:.2f} of the bores' area"
            draft.report("throttle.flow", found, "0.5 to 1.0", "flow, drop or diameter is wrong")


def _banks_fit(draft: Draft) -> None:
    layout, banks = draft.get("exhaust.layout"), draft.get("block.banks")
    size = BANK_SIZES.get(layout)
    odd = [bank for bank in banks if size is not None and len(bank) != size]
    if odd:
        found = f"{layout} on a bank of {len(odd[0])} ({' '.join(map(str, odd[0]))})"
        hint = "give block.banks, or another layout"
        draft.report("exhaust.layout", found, f"banks of {size}", hint)


def _pipe_sizes(draft: Draft) -> None:
    primary = draft.get("exhaust.primary_diameter")
    flange = draft.get("head.exhaust.port_flange_diameter")
    if draft.given("exhaust.primary_diameter") and not 0.7 <= primary / flange <= 2.2:
        found = f"{shown(primary, 'in')} against a port of {shown(flange, 'in')}"
        draft.warn("exhaust.primary_diameter", found, "0.7 to 2.2 x the port's opening")
    collector = draft.get("exhaust.collector_diameter")
    if draft.get("exhaust.layout") not in ("log", "single") and collector < primary:
        found = f"{shown(collector, 'in')}, narrower than a primary of {shown(primary, 'in')}"
        draft.report("exhaust.collector_diameter", found, "the primary diameter or more")


def _collector(draft: Draft) -> None:
    """The pipe behind a meeting point; only a single pipe can do without."""
    layout = draft.get("exhaust.layout")
    if layout != "single" and draft.get("exhaust.collector_length") <= 0:
        draft.report("exhaust.collector_length", f"none behind {layout}", "more than 0")


def _cells(draft: Draft) -> None:
    """A duct that has more cells than one can have."""
    exhaust = {
        name: draft.get(f"exhaust.{name}_length")
        for name in ("secondary", "collector", "tail", "log_segment")
    }
    # Lists that hold nothing have been reported: they are no reason to break down here.
    runner = max(draft.get("intake.runner_lengths"), default=0.0)
    width = next((width for _, width in draft.get("intake.runner_stations")), 0.0)
    cold = draft.get("head.intake.port_length") + runner + width
    primary = draft.get("head.exhaust.port_length")
    primary += max(draft.get("exhaust.primary_lengths"), default=0.0)
    behind = exhaust["collector"] + exhaust["tail"] + draft.get("exhaust.tail_diameter")
    is_one = draft.get("exhaust.layout") == "single" or any(
        len(bank) == 1 for bank in draft.get("block.banks")
    )
    hot = [primary + behind if is_one else max(primary, behind)]
    hot += [exhaust["secondary"], exhaust["log_segment"]]
    least = max(cold, max(hot) / HOT_CELLS) / MOST_CELLS
    if draft.get("numerics.cell_size") < least:
        size = shown(draft.get("numerics.cell_size"), "mm")
        found = f"{size}, more than {MOST_CELLS} cells in one duct"
        draft.report("numerics.cell_size", found, f"{shown(least, 'mm')} or more with these pipes")


def _meeting(draft: Draft) -> None:
    """Where single pipes meet, another pipe must lead on."""
    lengths = ("exhaust.collector_length", "exhaust.tail_length")
    if draft.get("exhaust.layout") != "single" or any(draft.get(path) > 0 for path in lengths):
        return
    if draft.get("exhaust.crossover") and draft.get("block.n_cylinders") > 1:
        found = "single pipes that meet, and no pipe behind them"
        allowed = "a tail_length or collector_length above 0"
        draft.report("exhaust.crossover", found, allowed, 'such as tail_length = "60 in"')


def _muffler(draft: Draft) -> None:
    kind = draft.get("exhaust.muffler")
    needs = {"muffler_back_pressure": ("back-pressure",),
             "muffler_volume": ("volume", "back-pressure")}  # fmt: skip
    for key, wanted in needs.items():
        if draft.given(f"exhaust.{key}") and kind not in wanted:
            found = f"a value with muffler = {kind!r}"
            allowed = "muffler = " + " or ".join(map(repr, wanted))
            draft.warn(f"exhaust.{key}", found, allowed, "it has no effect")


CHECKS = (
    _plenum_groups,
    _one_each("intake.runner_lengths", "runner lengths"),
    _stations,
    _throttle_size,
    _throttle,
    _banks_fit,
    _one_each("exhaust.primary_lengths", "primary lengths"),
    _pipe_sizes,
    _collector,
    _cells,
    _meeting,
    _muffler,
)
