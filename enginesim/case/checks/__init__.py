"""What must hold between fields: everything wrong, and what is doubtful."""

from __future__ import annotations

from typing import TYPE_CHECKING

from enginesim.case.checks import block, cam, charge, head, tracts, valve_gear
from enginesim.case.draft import Unresolved

if TYPE_CHECKING:
    from enginesim.case.draft import Draft


def run(draft: Draft) -> None:
    """
    Make every check whose values are there; note problems and warnings in the draft.

    Parameters
    ----------
    draft : Draft
        With all values resolved that can be.
    """
    rooms = (block, head, cam, tracts, charge, valve_gear)
    for check in (check for room in rooms for check in room.CHECKS):
        try:
            check(draft)
        except Unresolved:
            continue
