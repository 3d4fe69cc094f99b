"""
Which figures of a result may be shown as an answer, ranked and averaged?

The figures of a cycle that is not yet like the one before it are a state on the way, not a result.

Source: none: a rule of ours.
"""

from __future__ import annotations

from math import nan
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from enginesim.performance.results import Performance

#: Known without a periodic cycle: what is given, and how well the books close.
_ALWAYS: Final = frozenset(
    ("rpm", "displacement", "piston_speed", "air_pressure", "air_temperature", "air_density",
     "mass_error", "energy_error", "imbalance")
)  # fmt: skip


def is_quotable(point: Performance) -> bool:
    """
    Say whether a speed has figures that may be quoted.

    Parameters
    ----------
    point : Performance
        Results at one speed.

    Returns
    -------
    bool
        Whether its simulation converged.
    """
    return point.converged


def quoted(point: Performance, name: str) -> Any:
    """
    Return one field as it may be shown.

    Parameters
    ----------
    point : Performance
        Results at one speed.
    name : str
        Name of the field.

    Returns
    -------
    object
        Its value; not a number where it may not be quoted. What the case and the speed decide, and
        how the simulation ended, may always be. [SI]
    """
    value = point[name]
    if is_quotable(point) or name in _ALWAYS or not isinstance(value, float):
        return value
    return nan
