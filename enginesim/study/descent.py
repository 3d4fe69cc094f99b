"""
Where is a smooth function of a few numbers least, each of them within its limits?

SciPy's optimiser finds the same, but loading it takes longer than all the work here, which comes
between the asking for a stored study and its charts, and between two rounds of a search.

Source: J. Nocedal, S. J. Wright, *Numerical Optimization*, 2006: updates of Broyden, Fletcher,
Goldfarb and Shanno (6.19), Armijo's rule (3.4) along the projection (16.7) (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
#: Gives the value of a function and its derivatives.
Function: TypeAlias = Callable[[Floats], tuple[float, Floats]]

_MOST_STEPS: Final = 200
_LONGEST: Final = 1.0  # step of any one number: it works on logarithms, and starts blindly
_FLAT: Final = 1e-5  # slope that is none
_SAME: Final = 1e-9  # relative gain of a step that is none
_ENOUGH: Final = 1e-4  # part of the gain that the slope promises which a step must bring
_HALVINGS: Final = 30


def least(function: Function, begin: Floats, low: Floats, high: Floats) -> tuple[Floats, float]:
    """
    Least of a function that can be reached by going down from somewhere.

    Parameters
    ----------
    function : callable
        Gives value and derivatives.
    begin : ndarray, shape (n,)
        Where to begin. [any]
    low, high : ndarray, shape (n,)
        Limits. [any]

    Returns
    -------
    place : ndarray, shape (n,)
        Where it is least: no slope leads down but across a limit. [any]
    value : float
        The function there. [any]

    Examples
    --------
    >>> bowl = lambda x: (float(x @ x), 2.0 * x)
    >>> least(bowl, np.array([3.0, 3.0]), np.array([1.0, -9.0]), np.array([9.0, 9.0]))[0].tolist()
    [1.0, 0.0]
    """
    place = np.clip(begin, low, high)
    value, slope = function(place)
    bend = np.eye(len(place))  # second derivatives, as far as the steps have told
    is_first = True
    for _ in range(_MOST_STEPS):
        free = ~(((place <= low) & (slope > 0.0)) | ((place >= high) & (slope < 0.0)))
        if not free.any() or np.abs(slope[free]).max() < _FLAT:
            break
        way = np.zeros(len(place))
        way[free] = -np.linalg.solve(bend[np.ix_(free, free)], slope[free])
        way *= min(1.0, _LONGEST / np.abs(way).max())
        share = 1.0
        for _ in range(_HALVINGS):
            there = np.clip(place + share * way, low, high)
            step = there - place
            found, steeper = function(there)
            if found <= value + _ENOUGH * min(float(slope @ step), 0.0):
                break
            share *= 0.5
        else:
            break
        turn = steeper - slope
        gain = value - found
        place, value, slope = there, found, steeper
        if gain <= _SAME * max(abs(value), 1.0):
            break
        along = float(step @ turn)
        if along > 1e-10 * float(turn @ turn):
            if is_first:
                bend *= float(turn @ turn) / along
                is_first = False
            pull = bend @ step
            bend += np.outer(turn, turn) / along - np.outer(pull, pull) / float(step @ pull)
    return place, value
