"""Cylinders, firing, banks and compression."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from enginesim.base.constants import CYCLE_ANGLE
from enginesim.base.units import shown
from enginesim.case.defaults.block import (
    RATIO_DOUBTFUL,
    ROUNDING,
    clearance_volume,
    swept_volume,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from enginesim.case.draft import Draft

_RATIO_WRONG = 0.2


def is_partition(draft: Draft, path: str, numbers: Iterable[int]) -> bool:
    """
    Whether cylinder numbers name each cylinder once; a problem is noted if not.

    Parameters
    ----------
    draft : Draft
        The case.
    path : str
        Where the numbers stand.
    numbers : iterable of int
        All of them.

    Returns
    -------
    bool
        True if they do.
    """
    numbers = sorted(numbers)
    n = draft.get("block.n_cylinders")
    wanted = list(range(1, n + 1))
    if numbers == wanted:
        return True
    twice = sorted({i for i in numbers if numbers.count(i) > 1})
    parts = {
        "missing": sorted(set(wanted) - set(numbers)),
        "more than once": twice,
        "no such cylinder": sorted(set(numbers) - set(wanted)),
    }
    hint = "; ".join(f"{what}: {' '.join(map(str, who))}" for what, who in parts.items() if who)
    found = "cylinders " + " ".join(map(str, numbers))
    draft.report(path, found, f"each of 1 to {n} once", hint)
    return False


def _firing_order(draft: Draft) -> None:
    is_partition(draft, "block.firing_order", draft.get("block.firing_order"))


def _banks(draft: Draft) -> None:
    banks = draft.get("block.banks")
    is_partition(draft, "block.banks", (i for bank in banks for i in bank))
    if any(not bank for bank in banks):
        draft.report("block.banks", "an empty bank", "one cylinder or more in each")


def _firing_intervals(draft: Draft) -> None:
    path = "block.firing_intervals"
    intervals, n = draft.get(path), draft.get("block.n_cylinders")
    if len(intervals) != n:
        draft.report(path, f"{len(intervals)} intervals", f"{n}, one for each cylinder")
        return
    total = math.fsum(intervals)
    if abs(total - CYCLE_ANGLE) > ROUNDING:
        found = f"intervals that sum to {math.degrees(total):g} deg"
        draft.report(path, found, "a sum of 720 deg", "the last one leads back to the first")


def _rod(draft: Draft) -> None:
    rod, stroke = draft.get("block.rod_length"), draft.get("block.stroke")
    ratio = rod / stroke
    found = f"{ratio:.2f} x stroke ({shown(rod, 'in')})"
    if ratio < 1.1:
        hint = "the piston would meet the crank"
        draft.report("block.rod_length", found, "at least 1.1 x stroke", hint)
    elif not 1.35 <= ratio <= 2.5:
        draft.warn("block.rod_length", found, "usually 1.35 to 2.5 x stroke")


def _proportions(draft: Draft) -> None:
    ratio = draft.get("block.bore") / draft.get("block.stroke")
    if not 0.6 <= ratio <= 1.8:
        hint = "are both in the unit that is meant?"
        draft.warn("block.bore", f"{ratio:.2f} x stroke", "usually 0.6 to 1.8", hint)


def _pieces(draft: Draft) -> None:
    gasket = draft.maybe("block.gasket_bore")
    bore = draft.get("block.bore")
    if gasket is not None and gasket < bore - 1e-9:
        found = f"{shown(gasket, 'in')}, smaller than the bore of {shown(bore, 'in')}"
        draft.report("block.gasket_bore", found, "the bore or more")
    if not (draft.given("block.compression_ratio") and draft.given("block.chamber_volume")):
        return
    printed = draft.get("block.compression_ratio")
    implied = 1 + swept_volume(draft) / clearance_volume(draft)
    if abs(printed - implied) <= RATIO_DOUBTFUL:
        return
    found = f"{printed:.2f} given, {implied:.2f} implied by chamber, gasket, deck and dish"
    hint = "remove compression_ratio, so that the pieces decide"
    fitting = (
        swept_volume(draft) / (printed - 1)
        - clearance_volume(draft)
        + draft.get("block.chamber_volume")
    )
    if fitting > 0:
        hint += f"; a chamber of {fitting * 1e6:.1f} cc would give {printed:.2f}"
    report = draft.report if abs(printed - implied) > _RATIO_WRONG else draft.warn
    report("block.compression_ratio", found, "the same ratio both ways", hint)


CHECKS = (_firing_order, _banks, _firing_intervals, _rod, _proportions, _pieces)
