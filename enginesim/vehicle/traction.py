"""
How hard does the vehicle pull in a gear, and how much holds it back?

Source: Newton's second law; rotating masses reduced to the road as in T. D. Gillespie,
*Fundamentals of Vehicle Dynamics*, SAE, 1992, chapter 2 (from memory). docs/vehicle.md has the
equations.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from enginesim.base.constants import G_STANDARD
from enginesim.base.errors import ResultError
from enginesim.case.charge import interpolated

if TYPE_CHECKING:
    from enginesim.vehicle.tree import Vehicle

Floats = NDArray[np.float64]

_PER_MINUTE = 2 * math.pi / 60


class Driveline:
    """
    One vehicle with one engine: pull, resistance and acceleration against road speed.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.
    rpm : array_like
        Engine speeds, rising. [rpm]
    torque : array_like
        Torque of the engine at those speeds. [N m]

    Raises
    ------
    ResultError
        If the curve has fewer than two speeds, speeds that do not rise, or no number somewhere.

    Notes
    -----
    Between the speeds the torque runs along straight lines. Below the first one the clutch slips
    and holds the engine there; a run ends at the last one, before which the gear is left.
    """

    __slots__ = ("_gains", "_held", "_rpm", "_still", "_torque", "_turns", "grip", "highest",
                 "lowest", "n_gears", "vehicle")  # fmt: skip

    #: Engine speed at which the torque curve begins, and that which is never exceeded. [rpm]
    lowest: float
    highest: float
    #: Largest force that the driven tyres can put on the road. [N]
    grip: float

    def __init__(self, vehicle: Vehicle, rpm: ArrayLike, torque: ArrayLike) -> None:
        speeds, torques = np.asarray(rpm, dtype=float), np.asarray(torque, dtype=float)
        if speeds.ndim != 1 or speeds.shape != torques.shape or speeds.size < 2:
            raise ResultError(
                f"torque curve: found {speeds.size} speeds and {torques.size} torques;"
                " allowed as many of both, two or more"
            )
        if not (np.all(np.isfinite(speeds)) and np.all(np.isfinite(torques))):
            raise ResultError("torque curve: found a value that is no number; allowed none")
        if np.any(np.diff(speeds) <= 0.0) or speeds[0] <= 0.0:
            raise ResultError("torque curve: found speeds that do not rise; allowed rising ones")
        self._rpm, self._torque = speeds.tolist(), torques.tolist()
        box, radius = vehicle.gearbox, vehicle.tyres.rolling_radius
        self.vehicle, self.n_gears, self.lowest = vehicle, len(box.gears), self._rpm[0]
        self.highest = min(box.highest_speed or math.inf, self._rpm[-1])
        if self.highest <= self.lowest:
            raise ResultError(
                f"gearbox.highest_speed: found {self.highest:g} rpm; allowed more than"
                f" {self.lowest:g} rpm, where the torque curve begins"
            )
        #: Of each gear: wheel's turns to engine's, over the radius. [1/m]
        self._gains = [gear * box.axle / radius for gear in box.gears]
        self._turns = [gain / _PER_MINUTE for gain in self._gains]
        launch = min(max(vehicle.launch.rpm, self.lowest), self.highest)
        self._held = [launch] + [self.lowest] * (self.n_gears - 1)
        weight, slope = vehicle.body.mass * G_STANDARD, math.atan(vehicle.road.grade)
        self.grip = vehicle.tyres.grip * vehicle.launch.driven_share * weight
        rolling = vehicle.body.rolling_resistance * math.cos(slope)
        self._still = weight * (rolling + math.sin(slope))

    def engine_speed(self, gear: int, speed: float) -> float:
        """Engine speed with the clutch home; gears count from 0. [rpm]."""
        return speed * self._turns[gear]

    def road_speed(self, gear: int, rpm: float) -> float:
        """Road speed with the clutch home. [m/s]."""
        return rpm / self._turns[gear]

    def force(self, gear: int, rpm: float) -> float:
        """Force of the engine at the tyres, no matter whether they hold. [N]."""
        torque = interpolated(rpm, self._rpm, self._torque)
        return torque * self._gains[gear] * self.vehicle.gearbox.efficiency

    def resistance(self, speed: float) -> float:
        """Air, tyres and grade together. [N]."""
        drag = 0.5 * self.vehicle.road.air_density * self.vehicle.body.drag_area
        return drag * speed * speed + self._still

    def acceleration(self, gear: int | None, speed: float) -> float:
        """
        Acceleration in a gear, or rolling free of the engine. [m/s2].

        With the clutch home the engine has to be accelerated too; while it slips, the engine
        is held and only its torque counts.
        """
        body, held_back = self.vehicle.body, self.resistance(speed)
        mass = body.mass * (1.0 + body.rotating_mass)
        if gear is None:
            return -held_back / mass
        rpm, held = speed * self._turns[gear], self._held[gear]
        if rpm >= held:
            mass += self.vehicle.gearbox.engine_inertia * self._gains[gear] ** 2
        by_engine = (self.force(gear, max(rpm, held)) - held_back) / mass
        return min(by_engine, (self.grip - held_back) / body.mass)


@dataclass(frozen=True, slots=True)
class GearPull:
    """
    Pull of one gear over its range of road speed.

    Attributes
    ----------
    gear : int
        Number, from 1.
    speed : ndarray, shape (n,)
        Road speeds, from the engine speed at which the clutch is home to the highest. [m/s]
    force : ndarray, shape (n,)
        Pull at the tyres, as far as they hold. [N]
    """

    gear: int
    speed: Floats
    force: Floats


def pulls(vehicle: Vehicle, rpm: ArrayLike, torque: ArrayLike, n: int = 200) -> list[GearPull]:
    """
    Pull in every gear.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.
    rpm : array_like
        Engine speeds, rising. [rpm]
    torque : array_like
        Torque at those speeds. [N m]
    n : int
        Road speeds of each gear.

    Returns
    -------
    list of GearPull
        First gear first.
    """
    line = Driveline(vehicle, rpm, torque)
    engine = np.linspace(line.lowest, line.highest, n)
    found = []
    for gear in range(line.n_gears):
        force = np.array([line.force(gear, float(speed)) for speed in engine])
        speed = np.array([line.road_speed(gear, float(speed)) for speed in engine])
        found.append(GearPull(gear + 1, speed, np.minimum(force, line.grip)))
    return found
