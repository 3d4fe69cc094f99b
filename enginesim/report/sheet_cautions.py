"""What must a reader of each bench sheet be told?"""

from __future__ import annotations

from typing import Final

#: Stands on every sheet.
ALWAYS: Final = (
    "A prediction is not permission: verify by hand. Local law and licensed practice stand above "
    "this sheet."
)

_BY_KIND: Final = {
    "cam": (
        "Degree the cam in the engine: dowels, gears and chains move it by several degrees. A "
        "lobe that was fitted to a card is not the lobe on the bench.",
    ),
    "clearance": (
        "Measure with clay or a dial gauge, with the cam degreed and the lash set, before the "
        "engine is cranked. Check the radial room between valve and relief too: it is not here.",
    ),
    "spring": (
        "A real train flexes and springs surge: control is lost earlier than in this sum. Check "
        "coil bind and retainer to seal by hand, 0.060 in to spare. Never run to the limit.",
    ),
    "compression": (
        "Catalogue volumes are often off: measure chamber and dish with a burette. Trapped ratio "
        "and gauge pressure are no knock limit; look at the knock sheet too.",
    ),
    "throttle": (
        "Jet the size that is fitted: a size change moves the mixture. Never run lean at full "
        "load to gain what a table says.",
    ),
    "injector": (
        "Begin rich. Injectors differ by several per cent; check rail pressure at full load and "
        "pump voltage. Fuel lines: pressure tested, no leaks, extinguisher at hand.",
    ),
    "tubes": (
        "Rules of the trade are starting points. Nothing here knows your chassis, ground "
        "clearance or heat; shield what is near a primary.",
    ),
    "spark": (
        "Begin retarded, rich and on good fuel, and come to these figures from the safe side, "
        "listening. Torque that is lost to less spark is cheap beside a piston.",
    ),
    "knock": (
        "The margin rests on an octane number and a mean gas temperature: it knows no hot spot, "
        "no lean cylinder and no oil in the charge. Detonation breaks ring lands.",
    ),
}


def cautions(kind: str) -> tuple[str, ...]:
    """
    Cautions of a sheet.

    Parameters
    ----------
    kind : str
        Word of the command. [-]

    Returns
    -------
    tuple of str
        Sentences, the one for all sheets last.

    Examples
    --------
    >>> cautions("cam")[-1] == ALWAYS
    True
    """
    return (*_BY_KIND[kind], ALWAYS)
