"""
One run on the road: gear after gear until every mark is passed.

Source: Newton's second law, integrated by SciPy; docs/vehicle.md.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from enginesim.vehicle.traction import Driveline

Floats = NDArray[np.float64]

_LONGEST = 600.0  # after so many seconds a mark counts as never reached
_STANDSTILL = 1e-3  # an acceleration below this is the top speed of the gear [m/s2]
_TOLERANCE = 1e-8
_LONGEST_STEP = 0.25  # the torque curve has corners that a longer step could miss [s]


@dataclass(frozen=True, slots=True)
class Course:
    """
    What a run is for.

    Attributes
    ----------
    speeds : tuple of float
        Road speeds whose times are wanted. [m/s]
    distance : float or None
        Where it ends; None for a run that ends with the last of the speeds. [m]
    """

    speeds: tuple[float, ...]
    distance: float | None = None


@dataclass
class Run:
    """
    What came of it.

    Attributes
    ----------
    reached : dict of float to float
        Speed [m/s] and the time at which it was first reached [s]; without those that were not.
    finish, finish_speed : float
        Time [s] and speed [m/s] at the end of the distance; not a number if there is none.
    time, speed, distance : ndarray, shape (n,)
        The run. [s], [m/s], [m]
    """

    reached: dict[float, float] = field(default_factory=dict)
    finish: float = math.nan
    finish_speed: float = math.nan
    time: Floats = field(default_factory=lambda: np.zeros(1))
    speed: Floats = field(default_factory=lambda: np.zeros(1))
    distance: Floats = field(default_factory=lambda: np.zeros(1))


def drive(
    line: Driveline,
    shifts: tuple[float, ...],
    course: Course,
    *,
    speed: float = 0.0,
    gear: int = 0,
) -> Run:
    """
    Drive wide open from a speed in a gear, changing up, until the course is done.

    Parameters
    ----------
    line : Driveline
        Vehicle with its engine.
    shifts : tuple of float
        Engine speeds of the changes up. [rpm]
    course : Course
        What is wanted.
    speed : float
        Where it begins. [m/s]
    gear : int
        Gear in which it begins, from 0.

    Returns
    -------
    Run
        Times and the run itself.
    """
    driver = _Driver(line, course, speed)
    for current in range(gear, line.n_gears):
        is_last = current == line.n_gears - 1
        is_stuck = driver.hold(
            current, line.road_speed(current, line.highest if is_last else shifts[current])
        )
        if driver.is_done():
            break
        if is_last or is_stuck:
            driver.cruise()
            break
        driver.roll(line.vehicle.gearbox.shift_time)
        if driver.is_done():  # it may end while the clutch is out
            break
    return driver.run


class _Driver:
    """State of a run: time, speed and distance so far."""

    def __init__(self, line: Driveline, course: Course, speed: float) -> None:
        self.line, self.course, self.run = line, course, Run()
        self.time, self.speed, self.distance = 0.0, speed, 0.0
        self.run.speed = np.array([speed])

    def is_done(self) -> bool:
        """Whether nothing is left to wait for."""
        if self.course.distance is not None:
            return math.isfinite(self.run.finish) or self.time >= _LONGEST
        return len(self.run.reached) == len(self.course.speeds) or self.time >= _LONGEST

    def hold(self, gear: int, until: float) -> bool:
        """Stay in a gear until a road speed; whether it stops accelerating before."""
        if self.speed < until and self.line.acceleration(gear, self.speed) > _STANDSTILL:
            self._integrate(gear, _LONGEST, until)
        return self.speed < until * (1.0 - 1e-9)

    def roll(self, duration: float) -> None:
        """Roll with the clutch out."""
        if duration > 0.0:
            self._integrate(None, self.time + duration, math.inf)

    def cruise(self) -> None:
        """Go on at the speed that has been reached, as far as the course goes."""
        left = (self.course.distance or 0.0) - self.distance
        if left > 0.0 and self.speed > 0.1:
            self.time += left / self.speed
            self.distance += left
            self.run.finish, self.run.finish_speed = self.time, self.speed
            self._keep([self.time], [self.speed], [self.distance])

    def _integrate(self, gear: int | None, end: float, until: float) -> None:
        from scipy.integrate import solve_ivp

        def slope(_: float, state: Any) -> tuple[float, float]:
            speed = max(float(state[0]), 0.0)
            return self.line.acceleration(gear, speed), speed

        marks = [mark for mark in self.course.speeds if mark not in self.run.reached]
        events: list[Any] = [_passed(mark) for mark in marks]
        events.append(_passed(until, is_last=True) if math.isfinite(until) else _never())
        events.append(_stuck(self.line, gear) if gear is not None else _never())
        if self.course.distance is not None:
            events.append(_arrived(self.course.distance))
        solution = solve_ivp(
            slope,
            (self.time, end),
            (self.speed, self.distance),
            events=events,
            rtol=_TOLERANCE,
            atol=_TOLERANCE,
            max_step=_LONGEST_STEP,
        )
        for mark, times in zip(marks, solution.t_events, strict=False):
            if times.size:
                self.run.reached[mark] = float(times[0])
        self.time = float(solution.t[-1])
        self.speed, self.distance = max(float(solution.y[0, -1]), 0.0), float(solution.y[1, -1])
        if self.course.distance is not None and solution.t_events[-1].size:
            self.run.finish, self.run.finish_speed = self.time, self.speed
        self._keep(solution.t[1:], solution.y[0, 1:], solution.y[1, 1:])

    def _keep(self, time: Any, speed: Any, distance: Any) -> None:
        run = self.run
        run.time = np.concatenate([run.time, time])
        run.speed = np.concatenate([run.speed, speed])
        run.distance = np.concatenate([run.distance, distance])


_Event = Callable[[float, Any], float]


def _marked(event: _Event, *, is_last: bool, direction: float) -> _Event:
    event.terminal = is_last  # type: ignore[attr-defined]
    event.direction = direction  # type: ignore[attr-defined]
    return event


def _passed(mark: float, *, is_last: bool = False) -> _Event:
    return _marked(lambda _, state: float(state[0]) - mark, is_last=is_last, direction=1.0)


def _arrived(distance: float) -> _Event:
    return _marked(lambda _, state: float(state[1]) - distance, is_last=True, direction=1.0)


def _stuck(line: Driveline, gear: int) -> _Event:
    return _marked(
        lambda _, state: line.acceleration(gear, float(state[0])) - _STANDSTILL,
        is_last=True,
        direction=-1.0,
    )


def _never() -> _Event:
    return _marked(lambda _time, _state: 1.0, is_last=False, direction=0.0)
