"""Which spark gives the most work, and which is the earliest that does not knock?

One spark serves a set of cylinders, whose contents at intake closing are taken as they are: only
the closed part of the cycle is repeated. Sparks are own angles, before top dead centre negative.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from enginesim.base.errors import CycleError
from enginesim.kernels.closed import N_TRACE, closed_cycles
from enginesim.kernels.cylinder_layout import C_IVC_ANGLE, C_KNOCK, C_P, P_EVO
from enginesim.kernels.status import OK

Rows: TypeAlias = NDArray[np.float64]

_DEGREE = math.pi / 180.0
EARLIEST = -70.0 * _DEGREE
LATEST = 20.0 * _DEGREE
#: Sparks closer than this are the same.
RESOLUTION = 0.05 * _DEGREE
STEP = 1.0 * _DEGREE
# Spacing of the three sparks through which a parabola is laid, coarse to fine.
_SPACINGS = (6.0 * _DEGREE, 2.0 * _DEGREE, 0.7 * _DEGREE)
# How far to the quiet side of the line through the last two tries: its bend is less, a thousandth.
_QUIET = 0.02
_MOST_MOVES = 40
_BOLD_TRIES = 6
_FIRST_GUESS = -25.0 * _DEGREE


class ClosedParts:
    """
    Work and knock integral of a set of cylinders as functions of their spark, each found once.

    Parameters
    ----------
    cyl : ndarray, shape (n, n_cylinder)
        Rows of the cylinders, as :mod:`enginesim.kernels.cylinder_layout` has them. [-]
    par : ndarray, shape (n, n_parameter)
        Rows of parameters; the spark in them is not used. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    omega : float
        Crank speed. [rad/s]
    after : ndarray, shape (n,), optional
        Work that each cylinder does between exhaust opening and bottom dead centre, per pressure
        at that opening; none if left out. [m3]
    step : float, optional
        Longest step of the march; the default's error in the best spark is below the resolution.
        [rad]
    """

    def __init__(
        self,
        cyl: Rows,
        par: Rows,
        gas: Rows,
        omega: float,
        after: Rows | None = None,
        step: float = STEP,
    ) -> None:
        self._arrays = (cyl, par, gas, float(omega))
        self._after = np.zeros(len(cyl)) if after is None else after
        self._trial = (np.empty_like(cyl), np.empty_like(par), np.empty((0, N_TRACE)))
        closing = cyl[:, C_IVC_ANGLE]
        self.earliest = max(EARLIEST, float(closing.max()) + STEP)
        self.latest = min(LATEST, float(par[:, P_EVO].min()) - STEP)
        self._n_step = max(math.ceil(float((par[:, P_EVO] - closing).max()) / step), 1)
        self._found: dict[float, tuple[float, float]] = {}

    def _outcome(self, spark: float) -> tuple[float, float]:
        if spark not in self._found:
            status, work = closed_cycles(*self._arrays, spark, self._n_step, *self._trial)
            if status != OK:
                raise CycleError(
                    f"spark {-math.degrees(spark):.1f} deg before top dead centre: closed part of"
                    f" the cycle broke down (status {status})"
                )
            later = float(self._after @ self._trial[0][:, C_P])
            self._found[spark] = work + later, float(self._trial[0][:, C_KNOCK].max())
        return self._found[spark]

    def work(self, spark: float) -> float:
        """
        Work of all cylinders from intake closing to bottom dead centre.

        Parameters
        ----------
        spark : float
            Own angle. [rad]

        Returns
        -------
        float
            Work. [J]
        """
        return self._outcome(spark)[0]

    def knock(self, spark: float) -> float:
        """
        Knock integral of the worst cylinder.

        Parameters
        ----------
        spark : float
            Own angle. [rad]

        Returns
        -------
        float
            Integral; knock at 1. [-]
        """
        return self._outcome(spark)[1]

    @property
    def evaluations(self) -> int:
        """Number of sparks tried [-]."""
        return len(self._found)


def best_spark(parts: ClosedParts, guess: float = _FIRST_GUESS, *, is_near: bool = False) -> float:
    """
    Spark of the greatest work of the closed part.

    Parameters
    ----------
    parts : ClosedParts
        The cylinders.
    guess : float
        Where to begin: the last answer. [rad]
    is_near : bool
        Whether the guess is believed within a degree or so: only the closest three sparks are
        tried then, and moved as far as need be.

    Returns
    -------
    float
        Own angle, within ``parts.earliest`` and ``parts.latest``. [rad]

    Raises
    ------
    CycleError
        If a cylinder breaks down on the way.

    Notes
    -----
    Three sparks are moved until the middle one is best; the top of the parabola through them is
    the middle of the next, closer three.
    """
    low, high = parts.earliest, parts.latest
    middle = min(max(guess, low), high)
    for spacing in _SPACINGS[-1:] if is_near else _SPACINGS:
        middle = _middle_of_three(parts.work, middle, spacing, low, high)
        if not low < middle < high:
            return middle
        middle += (
            _top(parts.work(middle - spacing), parts.work(middle), parts.work(middle + spacing))
            * spacing
        )
        middle = min(max(middle, low), high)
    return middle


def _middle_of_three(
    value: Callable[[float], float], middle: float, spacing: float, low: float, high: float
) -> float:
    """Climb in steps of the spacing until neither neighbour is higher; an end counts as found."""
    for _ in range(_MOST_MOVES):
        if not low < middle < high:
            break
        here, earlier, later = value(middle), value(middle - spacing), value(middle + spacing)
        if here >= earlier and here >= later:
            break
        middle = min(max(middle + (spacing if later > earlier else -spacing), low), high)
    return middle


def _top(left: float, middle: float, right: float) -> float:
    """Place of the top of the parabola through three values, in units of their spacing."""
    curvature = left - 2.0 * middle + right
    return 0.5 * (left - right) / curvature if curvature < 0.0 else 0.0


def knock_limit(parts: ClosedParts, spark: float) -> float:
    """
    Earliest spark that does not knock in any of the cylinders.

    Parameters
    ----------
    parts : ClosedParts
        The cylinders.
    spark : float
        Where to begin. [rad]

    Returns
    -------
    float
        Own angle on the quiet side of knock; ``parts.earliest`` if nothing knocks up to there,
        ``parts.latest`` if all does. [rad]

    Raises
    ------
    CycleError
        If a cylinder breaks down on the way.

    Notes
    -----
    Steps from the spark given to the nearest change from knock to none, then the secant between:
    the integral falls as the spark is retarded, except at sparks so early that all is burned
    before the charge is compressed.
    """
    low, high = parts.earliest, parts.latest
    quiet = early = min(max(spark, low), high)
    if parts.knock(early) < 1.0:
        while parts.knock(early) < 1.0:
            if early <= low:
                return low
            quiet, early = early, max(early - _SPACINGS[0], low)
    else:
        while parts.knock(quiet) >= 1.0:
            if quiet >= high:
                return high
            early, quiet = quiet, min(quiet + _SPACINGS[0], high)
    # Secant on the logarithm of the integral, nearly straight over the spark, aimed a little to
    # either side in turn, so that two tries close the bracket; halving if they do not.
    early_side, quiet_side = _excess(parts, early), _excess(parts, quiet)
    aside = 0.4 * RESOLUTION
    for count in range(_MOST_MOVES):
        width = quiet - early
        if width <= RESOLUTION:
            break
        root = early + width * early_side / (early_side - quiet_side)
        wanted = root + aside if count < _BOLD_TRIES else 0.5 * (early + quiet)
        middle = min(max(wanted, early + 0.1 * width), quiet - 0.1 * width)
        value = _excess(parts, middle)
        if value < 0.0:
            quiet, quiet_side, aside = middle, value, -abs(aside)
        else:
            early, early_side, aside = middle, value, abs(aside)
    # Not the quiet end itself, which jumps by the resolution as the charge changes.
    root = early + (quiet - early) * early_side / (early_side - quiet_side)
    return root + _QUIET * (quiet - root)


def _excess(parts: ClosedParts, spark: float) -> float:
    """Logarithm of the knock integral: negative is quiet."""
    return math.log(max(parts.knock(spark), 1e-12))


def knock_limited_spark(parts: ClosedParts, best: float) -> float:
    """
    Best spark, or the earliest that does not knock where the best one does.

    Parameters
    ----------
    parts : ClosedParts
        The cylinders.
    best : float
        Spark of the greatest work. [rad]

    Returns
    -------
    float
        Own angle, never before `best`. [rad]

    Raises
    ------
    CycleError
        If a cylinder breaks down on the way.
    """
    if parts.knock(best) < 1.0:
        return best
    return max(best, knock_limit(parts, best))


def knock_margin(parts: ClosedParts, spark: float) -> float:
    """
    Spark advance that could be added before the worst cylinder knocks.

    Parameters
    ----------
    parts : ClosedParts
        The cylinders.
    spark : float
        Spark in use. [rad]

    Returns
    -------
    float
        Advance to spare; negative: it knocks. Where nothing knocks within the sparks tried it is
        the advance up to the earliest of them. [rad]

    Raises
    ------
    CycleError
        If a cylinder breaks down on the way.
    """
    return spark - knock_limit(parts, spark)
