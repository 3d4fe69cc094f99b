"""How much work does the gas do on the pistons, and what is that as a mean pressure?

Source: definitions as in J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill,
1988, sections 2.3 and 2.6 (from memory). Equations `work` and `torque-and-power` of
docs/theory/results.md.
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np

from enginesim.base.errors import ResultError

if TYPE_CHECKING:
    from enginesim.cycle.record import Samples

#: Volumes at the two ends of a cycle may differ by rounding, not by a sample.
_CLOSED = 1e-9


def loop_work(p: Samples, volume: Samples) -> float:
    """
    Work of the gas on the piston over one closed loop in the p-V plane.

    Parameters
    ----------
    p : ndarray, shape (n_sample,)
        Cylinder pressure at the record's crank angles. [Pa]
    volume : ndarray, shape (n_sample,)
        Cylinder volume at the same crank angles. [m3]

    Returns
    -------
    float
        Net work. [J]

    Raises
    ------
    ResultError
        If the two differ in length, or the volume does not return to where it began (then the
        samples are not one whole cycle).

    Notes
    -----
    Trapezoidal rule: second order in the spacing of the samples, which
    ``tests/unit/performance/test_indicated.py`` checks.

    Examples
    --------
    8 bar out, 1 bar back, over half a litre:

    >>> v = np.array([0.1, 0.6, 0.6, 0.1, 0.1]) * 1e-3
    >>> p = np.array([8.0, 8.0, 1.0, 1.0, 8.0]) * 1e5
    >>> print(f"{loop_work(p, v):.1f} J")
    350.0 J
    """
    if len(p) != len(volume):
        raise ResultError(f"loop work: found {len(p)} pressures for {len(volume)} volumes")
    if abs(volume[-1] - volume[0]) > _CLOSED * float(np.max(volume)):
        raise ResultError(
            f"loop work: found volumes that begin at {volume[0]:.6g} m3 and end at"
            f" {volume[-1]:.6g} m3; allowed one whole cycle"
        )
    return float(np.trapezoid(p, volume))


def mean_pressure(work: float, swept: float) -> float:
    """
    Work per cycle as a pressure: work over displacement.

    Parameters
    ----------
    work : float
        Work per cycle, of one cylinder or of all. [J]
    swept : float
        Displacement of the same cylinders. [m3]

    Returns
    -------
    float
        Mean effective pressure. [Pa]

    Examples
    --------
    >>> print(f"{mean_pressure(350.0, 0.5e-3) / 1e5:.3f} bar")
    7.000 bar
    """
    return work / swept


def torque(mean_effective_pressure: float, swept: float) -> float:
    """
    Torque of a four-stroke engine: work per cycle over two turns.

    Parameters
    ----------
    mean_effective_pressure : float
        Brake or indicated mean effective pressure. [Pa]
    swept : float
        Displacement of the engine. [m3]

    Returns
    -------
    float
        Mean torque. [N m]

    Examples
    --------
    >>> print(f"{torque(10e5, 2e-3):.3f} N m")
    159.155 N m
    """
    return mean_effective_pressure * swept / (4 * pi)


def power(mean_torque: float, rpm: float) -> float:
    """
    Power at a speed.

    Parameters
    ----------
    mean_torque : float
        Mean torque. [N m]
    rpm : float
        Engine speed. [rpm]

    Returns
    -------
    float
        Power. [W]

    Examples
    --------
    >>> print(f"{power(100.0, 3000.0):.1f} W")
    31415.9 W
    """
    return mean_torque * rpm * pi / 30


def piston_speed(stroke: float, rpm: float) -> float:
    """
    Mean piston speed: two strokes per turn.

    Parameters
    ----------
    stroke : float
        Piston stroke. [m]
    rpm : float
        Engine speed. [rpm]

    Returns
    -------
    float
        Mean piston speed. [m/s]

    Examples
    --------
    >>> print(f"{piston_speed(0.086, 7000.0):.2f} m/s")
    20.07 m/s
    """
    return stroke * rpm / 30
