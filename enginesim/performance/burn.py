"""When does the charge burn, and how high does the pressure rise?

Source: definitions; the parabola through the three highest samples is common practice.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from enginesim.cycle.record import Samples


def peak(angle: Samples, values: Samples) -> tuple[float, float]:
    """
    Highest value and where it lies, between the samples.

    Parameters
    ----------
    angle : ndarray, shape (n_sample,)
        Crank angles, evenly spaced. [rad]
    values : ndarray, shape (n_sample,)
        Values at those angles, such as pressure. [-]

    Returns
    -------
    tuple of float
        Crank angle of the peak [rad] and the value there, in the unit of `values`.

    Notes
    -----
    Vertex of the parabola through the highest sample and its neighbours: third order in the
    spacing for the value. At either end the sample itself.

    Examples
    --------
    >>> angle = np.array([0.0, 1.0, 2.0, 3.0])
    >>> place, height = peak(angle, 5.0 - (angle - 1.25) ** 2)
    >>> print(f"{place:.3f} {height:.3f}")
    1.250 5.000
    """
    i = int(np.argmax(values))
    if i in (0, len(values) - 1):
        return float(angle[i]), float(values[i])
    below, top, above = (float(value) for value in values[i - 1 : i + 2])
    curvature = below - 2.0 * top + above
    if curvature == 0.0:
        return float(angle[i]), top
    shift = 0.5 * (below - above) / curvature
    step = float(angle[i + 1] - angle[i])
    return float(angle[i]) + shift * step, top - 0.25 * (below - above) * shift
