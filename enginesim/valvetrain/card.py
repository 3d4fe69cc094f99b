"""
Cam-card arithmetic: durations, lobe separation and centreline against valve events.

All durations and events of one calculation belong to one checking height. Angles are crank
angles in radians; the lobe separation is half the crank angle between the two lobes' centres.
Only the standard library is needed here.

Source: definition of the terms of the trade; docs/theory/valvetrain.md, equations 1 to 3.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from enginesim.base.errors import Problem

if TYPE_CHECKING:
    from collections.abc import Mapping

# Cards print whole degrees: two roundings may differ by one without a contradiction.
PRINT_TOLERANCE = math.radians(1.0)


@dataclass(frozen=True)
class Events:
    """
    The four valve events at one checking height; negative means the other side of dead centre.

    Attributes
    ----------
    io : float
        Intake opens before top dead centre. [rad]
    ic : float
        Intake closes after bottom dead centre. [rad]
    eo : float
        Exhaust opens before bottom dead centre. [rad]
    ec : float
        Exhaust closes after top dead centre. [rad]
    """

    io: float
    ic: float
    eo: float
    ec: float

    @property
    def overlap(self) -> float:
        """Crank angle with both valves open; negative where both are shut. [rad]."""
        return self.io + self.ec

    @property
    def duration_intake(self) -> float:
        """Crank angle that the intake valve is open. [rad]."""
        return self.io + math.pi + self.ic

    @property
    def duration_exhaust(self) -> float:
        """Crank angle that the exhaust valve is open. [rad]."""
        return self.eo + math.pi + self.ec

    @property
    def intake_centreline(self) -> float:
        """Middle between the intake events, after top dead centre. [rad]."""
        return 0.5 * (self.ic - self.io + math.pi)

    @property
    def exhaust_centreline(self) -> float:
        """Middle between the exhaust events, before top dead centre. [rad]."""
        return 0.5 * (self.eo - self.ec + math.pi)

    @property
    def lobe_separation(self) -> float:
        """Mean of the two centrelines. [rad]."""
        return 0.5 * (self.intake_centreline + self.exhaust_centreline)


def exhaust_centreline(lobe_separation: float, intake_centreline: float) -> float:
    """
    Exhaust centreline, before top dead centre.

    Parameters
    ----------
    lobe_separation : float
        Half the crank angle between the lobe centres. [rad]
    intake_centreline : float
        Centre of the intake lobe after top dead centre. [rad]

    Returns
    -------
    float
        Centre of the exhaust lobe before top dead centre. [rad]

    Notes
    -----
    docs/theory/valvetrain.md, equation 1.
    """
    return 2.0 * lobe_separation - intake_centreline


def advance(lobe_separation: float, intake_centreline: float) -> float:
    """
    How far the cam is turned ahead of the straight-up position.

    Parameters
    ----------
    lobe_separation : float
        Half the crank angle between the lobe centres. [rad]
    intake_centreline : float
        Centre of the intake lobe after top dead centre. [rad]

    Returns
    -------
    float
        Advance, in crank angle; negative when retarded. [rad]

    Notes
    -----
    docs/theory/valvetrain.md, equation 1.
    """
    return lobe_separation - intake_centreline


def overlap(duration_intake: float, duration_exhaust: float, lobe_separation: float) -> float:
    """
    Crank angle with both valves open; no matter how far the cam is advanced.

    Parameters
    ----------
    duration_intake, duration_exhaust : float
        Durations at one checking height. [rad]
    lobe_separation : float
        Half the crank angle between the lobe centres. [rad]

    Returns
    -------
    float
        Overlap. [rad]

    Notes
    -----
    docs/theory/valvetrain.md, equation 3.
    """
    return 0.5 * (duration_intake + duration_exhaust) - 2.0 * lobe_separation


def separation(duration_intake: float, duration_exhaust: float, overlap: float) -> float:
    """
    Lobe separation that gives an overlap.

    Parameters
    ----------
    duration_intake, duration_exhaust : float
        Durations at one checking height. [rad]
    overlap : float
        Crank angle with both valves open at that height. [rad]

    Returns
    -------
    float
        Lobe separation. [rad]

    Notes
    -----
    docs/theory/valvetrain.md, equation 3.
    """
    return 0.5 * (0.5 * (duration_intake + duration_exhaust) - overlap)


def events(
    duration_intake: float,
    duration_exhaust: float,
    lobe_separation: float,
    intake_centreline: float,
) -> Events:
    """
    Valve events from the four numbers that fix a symmetrical pair of lobes.

    Parameters
    ----------
    duration_intake, duration_exhaust : float
        Durations at one checking height. [rad]
    lobe_separation : float
        Half the crank angle between the lobe centres. [rad]
    intake_centreline : float
        Centre of the intake lobe after top dead centre. [rad]

    Returns
    -------
    Events
        At the same checking height.

    Notes
    -----
    docs/theory/valvetrain.md, equation 2.

    Examples
    --------
    >>> from math import degrees, radians
    >>> card = events(radians(268), radians(280), radians(110), radians(106))
    >>> [round(degrees(angle)) for angle in (card.io, card.ic, card.eo, card.ec, card.overlap)]
    [28, 60, 74, 26, 54]
    """
    centre = exhaust_centreline(lobe_separation, intake_centreline)
    return Events(
        io=0.5 * duration_intake - intake_centreline,
        ic=0.5 * duration_intake + intake_centreline - math.pi,
        eo=0.5 * duration_exhaust + centre - math.pi,
        ec=0.5 * duration_exhaust - centre,
    )


def contradictions(
    printed: Mapping[str, float],
    implied: Events,
    *,
    tolerance: float = PRINT_TOLERANCE,
    place: str = "",
    path: str = "cam",
) -> tuple[Problem, ...]:
    """
    Where a card's printed events disagree with its own durations and centrelines.

    Parameters
    ----------
    printed : mapping of str to float
        Any of "io", "ic", "eo", "ec" and "overlap", as printed. [rad]
    implied : Events
        Events that follow from the rest of the card.
    tolerance : float
        Largest difference that counts as agreement. [rad]
    place, path : str
        Where the card stands, for the message. [-]

    Returns
    -------
    tuple of Problem
        One for each printed number that disagrees.
    """
    problems = []
    for name, value in printed.items():
        wanted = getattr(implied, name.lower())
        if abs(value - wanted) > tolerance * (1.0 + 1e-9):
            problems.append(
                Problem(
                    place,
                    f"{path}.{name.lower()}",
                    f"{name.upper()} {math.degrees(value):.4g} printed",
                    f"{math.degrees(wanted):.4g} implied by durations, separation and centreline",
                    "the card contradicts itself: one of its numbers is a misprint, or they "
                    "belong to different checking heights",
                )
            )
    return tuple(problems)
