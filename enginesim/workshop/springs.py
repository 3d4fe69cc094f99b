"""
Up to which speed do the springs hold the valves to the cam, and how far are the coils from bind?

Source: Newton's second law for the masses reduced to the valve (`valvetrain.spring`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from enginesim.case.defaults.cam import usual_ratio
from enginesim.valvetrain import lift_curves
from enginesim.valvetrain.lift import crank_grid
from enginesim.valvetrain.spring import Spring, float_speed, reduced_mass

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.case.cam import Lobe
    from enginesim.case.valve_gear import ValveSpring
    from enginesim.valvetrain.motion import ValveMotion

Floats = NDArray[np.float64]

#: Bands that nobody typed, of one standard deviation. Springs of a set differ so much from their
#: card (estimate); the deceleration over the nose of a lobe that was made from a card's few
#: points, so much from the real one's (estimate: lift area is known to 3 %, its second
#: derivative much less).
LOAD_BAND: Final = 0.05
LOBE_BAND: Final = 0.10
#: The same of a lift table that was measured to 0.001 in.
TABLE_BAND: Final = 0.02
#: Share of the force that a rigid train needs which is kept to spare, for its flexing and the surge
#: of the springs (estimate; usage asks for 20 to 30 %): with rockers of the usual ratio. Flexing of
#: push rod and lifter counts at the valve with the square of the ratio, so the share does too.
CUSTOMARY_RESERVE: Final = 0.30
_MASSES: Final = ("valve_mass", "retainer_mass", "spring_mass")


@dataclass(frozen=True, slots=True)
class SpringSide:
    """
    One valve's spring against what it has to do.

    Attributes
    ----------
    side : str
        ``intake`` or ``exhaust``.
    mass, mass_band : float
        What moves, reduced to the valve; one standard deviation. [kg]
    lift : float
        Net valve lift. [m]
    seat_force, open_force, rate : float or None
        Force shut and at full lift [N], and per travel [N/m]; None where not given.
    to_bind : float or None
        Travel left at full lift until the coils touch. [m]
    limit, limit_band : float or None
        Engine speed at which a rigid train leaves the cam, and one standard deviation. [rpm]
    spare : float
        Force to be kept to spare, as a share of what a rigid train needs. [-]
    usable : float or None
        Limit with that to spare. [rpm]
    theta : ndarray, shape (n,)
        Crank angle from the lobe's centre, where the valve is open. [rad]
    travel : ndarray, shape (n,)
        Lift there. [m]
    slowing : ndarray, shape (n,)
        Force over mass and square of crank speed that holds the valve to the cam; negative
        where the cam pushes. [m/rad2]
    """

    side: str
    mass: float
    mass_band: float
    lift: float
    seat_force: float | None
    open_force: float | None
    rate: float | None
    to_bind: float | None
    limit: float | None
    limit_band: float | None
    spare: float
    usable: float | None
    theta: Floats
    travel: Floats
    slowing: Floats

    def needed(self, rpm: float) -> float:
        """Largest force that the valve needs at a speed. [N]."""
        return self.mass * float(self.slowing.max()) * (rpm * math.pi / 30) ** 2

    def reserve(self, rpm: float) -> float | None:
        """Least force of the spring over what is needed at a speed. [-]."""
        return None if self.limit is None else (self.limit / rpm) ** 2


def springs(case: Case) -> tuple[SpringSide, SpringSide]:
    """
    Both springs of a case.

    Parameters
    ----------
    case : Case
        A loaded case; `valve_gear` as far as it is known.

    Returns
    -------
    tuple of SpringSide
        Intake and exhaust.

    Raises
    ------
    CaseError
        If no lobe can have the numbers given.
    """
    curves, gear = lift_curves(case), case.valve_gear
    return (
        _side(case, "intake", curves.intake_motion, case.cam.intake, gear.intake),
        _side(case, "exhaust", curves.exhaust_motion, case.cam.exhaust, gear.exhaust),
    )


def _side(case: Case, side: str, motion: ValveMotion, lobe: Lobe, given: ValveSpring) -> SpringSide:
    mass, band = _mass(case, side, lobe.rocker_ratio, given)
    spare = CUSTOMARY_RESERVE * (lobe.rocker_ratio / usual_ratio(case.cam.lifter)) ** 2
    theta = crank_grid()
    lift, slowing = motion.lift(theta), -motion.acceleration(theta)
    is_open = lift > 0.0
    rate, seat = given.rate, given.seat_load
    to_bind = None
    if given.installed_height is not None and given.bind_height is not None:
        to_bind = given.installed_height - motion.peak - given.bind_height
    limit = limit_band = None
    if seat is not None and rate is not None:
        spring = Spring(seat, rate, given.installed_height or 0.0, given.bind_height or 0.0)
        limit = float_speed(motion, spring, mass) * 30 / math.pi
        relative = math.hypot(band / mass, _load_band(case, side, seat), _lobe_band(lobe))
        limit_band = 0.5 * relative * limit
    return SpringSide(
        side=side,
        mass=mass,
        mass_band=band,
        lift=motion.peak,
        seat_force=seat,
        open_force=None if seat is None or rate is None else seat + rate * motion.peak,
        rate=rate,
        to_bind=to_bind,
        limit=limit,
        limit_band=limit_band,
        spare=spare,
        usable=None if limit is None else limit / math.sqrt(1.0 + spare),
        theta=theta[is_open] - motion.centre,
        travel=lift[is_open],
        slowing=slowing[is_open],
    )


def _mass(case: Case, side: str, ratio: float, given: ValveSpring) -> tuple[float, float]:
    """Mass reduced to the valve, and its band: parts vary each on their own."""
    gear, at_lifter = case.valve_gear, 1.0 / ratio**2
    # Mass of each part, and how much of it counts at the valve.
    parts = {
        f"{side}.valve_mass": (given.valve_mass, 1.0),
        f"{side}.retainer_mass": (given.retainer_mass, 1.0),
        f"{side}.spring_mass": (given.spring_mass, 1.0 / 3.0),
        "rocker_mass": (gear.rocker_mass, 1.0),
        "lifter_mass": (gear.lifter_mass, at_lifter),
        "push_rod_mass": (gear.push_rod_mass, at_lifter),
    }
    total = reduced_mass(
        given.valve_mass + given.retainer_mass + given.spring_mass / 3 + gear.rocker_mass,
        gear.lifter_mass + gear.push_rod_mass,
        ratio,
    )
    bands = [
        weight * _band(case, f"valve_gear.{path}", mass) for path, (mass, weight) in parts.items()
    ]
    return total, math.hypot(*bands)


def _band(case: Case, path: str, mass: float) -> float:
    """Band of a part: typed, or that of its default, or none."""
    from enginesim.base.readings import read
    from enginesim.case.facts import walk

    if path in case.given:
        return _typed(case, path) or 0.0
    return mass * read(dict(walk(type(case)))[path].facts.band).numbers[0] / 100


def _load_band(case: Case, side: str, seat: float) -> float:
    typed = _typed(case, f"valve_gear.{side}.seat_load")
    return LOAD_BAND if typed is None else typed / seat


def _typed(case: Case, path: str) -> float | None:
    """Typed band of a field that is one number. [SI]."""
    found = case.bands.get(path)
    return found if isinstance(found, float) else None


def _lobe_band(lobe: Lobe) -> float:
    return LOBE_BAND if lobe.lift_table is None else TABLE_BAND
