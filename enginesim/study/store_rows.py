"""How is a result written down, so that it comes back with every bit?"""

from __future__ import annotations

import json
from dataclasses import dataclass, fields
from functools import cache
from math import inf, isinf, nan
from typing import TYPE_CHECKING, Any, Final, Literal

from enginesim.base.provenance import PHYSICS_VERSION

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.performance import Performance

#: Fields of a result that have a column of their own, so that many rows are read at once.
HEADLINES: Final = (
    "torque",
    "power",
    "ve",
    "imep_net",
    "pmep",
    "fmep",
    "bmep",
    "residual",
    "air_flow",
    "fuel_flow",
    "bsfc",
    "p_max",
    "spark",
    "knock_margin",
    "octane_margin",
    "egt",
    "inlet_mach",
    "piston_speed",
    "manifold_pressure",
)

#: Why a point failed: the step broke down, the engine could not be laid out, the time given ran
#: out, the process that worked on it was lost, twice, or the program itself is at fault.
Kind = Literal["broke down", "cannot be built", "time limit", "worker lost", "fault"]

_NOT_FINITE = {"inf": inf, "-inf": -inf}


@dataclass(frozen=True, slots=True)
class Key:
    """
    What makes two runs the same run.

    Attributes
    ----------
    digest : str
        Of the canonical case: every value that can change a result, numerics included.
    rpm : float
        Engine speed. [rpm]
    fidelity : str
        ``wave`` or ``filling``; part of the digest too, and kept to be asked for.
    physics : int
        `PHYSICS_VERSION` that the result belongs to.
    """

    digest: str
    rpm: float
    fidelity: str
    physics: int = PHYSICS_VERSION


def key_of(case: Case, rpm: float) -> Key:
    """
    Key of a case at one speed.

    Parameters
    ----------
    case : Case
        A loaded case.
    rpm : float
        Engine speed. [rpm]

    Returns
    -------
    Key
        With the physics of this program.
    """
    return Key(case.digest, float(rpm), case.numerics.fidelity)


@dataclass(frozen=True, slots=True)
class Failure:
    """
    A point that gave no result, and why.

    Attributes
    ----------
    rpm : float
        Engine speed. [rpm]
    kind : str
        One of :data:`Kind`.
    reason : str
        A sentence.
    time_limit : float or None
        Time that it was given, where that was the reason. [s]
    """

    rpm: float
    kind: Kind
    reason: str
    time_limit: float | None = None

    def holds(self, time_limit: float | None) -> bool:
        """
        Whether running the point again would end the same way.

        Parameters
        ----------
        time_limit : float or None
            Time that it would be given now; None is without end. [s]

        Returns
        -------
        bool
            False for a point that ran out of less time than it would be given now, and for a
            fault of the program, which may have been mended.
        """
        if self.kind == "fault":
            return False
        if self.kind != "time limit" or self.time_limit is None:
            return True
        return time_limit is not None and time_limit <= self.time_limit


def to_text(result: Performance) -> str:
    """
    Fields of a result as JSON by name.

    Parameters
    ----------
    result : Performance
        One speed.

    Returns
    -------
    str
        Floats with every bit; what is not a number as null, infinities as text.
    """
    values = {f.name: _plain(getattr(result, f.name)) for f in fields(result)}
    return json.dumps(values, separators=(",", ":"), allow_nan=False)


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        if value != value:
            return None
        return float(value) if not isinf(value) else str(float(value))
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return value


def from_text(text: str) -> Performance | None:
    """
    Result that was written by :func:`to_text`.

    Parameters
    ----------
    text : str
        JSON.

    Returns
    -------
    Performance or None
        None where a field that results have by now is lacking; fields that they no longer have
        are left out.

    Raises
    ------
    ValueError
        If it is no such text.
    """
    from enginesim.performance import Performance

    values = json.loads(text)
    if not isinstance(values, dict):
        raise ValueError("found no fields by name")  # noqa: TRY004
    _complete(values)
    known = _types()
    if not known.keys() <= values.keys():
        return None
    return Performance(**{name: _back(values[name], kind) for name, kind in known.items()})


def _complete(values: dict[str, Any]) -> None:
    """What results written before cycles could alternate do not say, but follows."""
    if "converged" in values:
        ended = "periodic" if values["converged"] else "not periodic"
        for name, value in {"ending": ended, "torque_swing": 0.0, "imep_swing": 0.0}.items():
            values.setdefault(name, value)


@cache
def _types() -> dict[str, str]:
    from enginesim.performance import Performance

    return {f.name: str(f.type) for f in fields(Performance)}


def _back(value: Any, kind: str) -> Any:
    if value is None:
        return None if "None" in kind else nan
    if isinstance(value, list):
        return tuple(_back(item, "float" if "float" in kind else "") for item in value)
    if kind.startswith("float"):
        return _NOT_FINITE[value] if isinstance(value, str) else float(value)
    return value
