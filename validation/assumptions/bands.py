"""Which values of a case carry a band, and what is the case one standard deviation away?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from enginesim.base.errors import CaseError
from enginesim.base.units import unit
from enginesim.case import amend
from enginesim.case.facts import walk
from enginesim.case.tree import Case

if TYPE_CHECKING:
    from enginesim.case.facts import Facts

_SI = {
    "length": "m",
    "area": "m2",
    "volume": "m3",
    "temperature": "K",
    "angle": "rad",
    "volume flow": "m3/s",
    "mass flow": "kg/s",
    "pressure": "Pa",
    "ratio": "",
}


@dataclass(frozen=True)
class Banded:
    """A value that is known to a band only."""

    path: str
    facts: Facts
    kind: str
    is_assumed: bool


def value(case: Case, path: str) -> Any:
    """What stands at a dotted path, None where there is no such part."""
    here: Any = case
    for key in path.split("."):
        here = getattr(here, f"{key}_" if key == "lambda" else key, None)
    return here


def banded(case: Case) -> list[Banded]:
    """Fields with a band that this case has a value for, given or not."""
    assumed = {a.path for a in case.assumed}
    answer = []
    for path, field in walk(Case):
        here = value(case, path) if field.part is None else None
        if field.facts.dimension not in _SI or here in (None, ()):
            continue
        if field.facts.band or path in case.bands:
            answer.append(Banded(path, field.facts, field.kind, path in assumed))
    return answer


def _sigma(case: Case, one: Banded, number: float) -> float:
    """One standard deviation of a number, in SI: the band typed, or the field's own."""
    typed = case.bands.get(one.path)
    if isinstance(typed, tuple):
        return typed[0] if len(typed) == 1 else typed[list(value(case, one.path)).index(number)]
    if typed is not None:
        return typed
    size, _, name = one.facts.band.partition(" ")
    if name == "%":
        return float(size) / 100.0 * abs(number)
    return float(size) * (1.0 if name in ("", "K") else unit(name).to_si(1.0))


def _moved(case: Case, one: Banded, sigmas: float) -> dict[str, Any]:
    """Changes that move one value, and whatever is the same part, by so many deviations."""
    here, si = value(case, one.path), _SI[one.facts.dimension]
    if one.path.endswith("rocker_ratio"):
        # The lobe stays: the valve's lift goes with the ratio.
        side = one.path.split(".")[1]
        factor = 1.0 + sigmas * _sigma(case, one, here) / here
        lift = value(case, f"cam.{side}.valve_lift")
        return {
            one.path: f"{here * factor!r}",
            f"cam.{side}.valve_lift": f"{lift * factor!r} m",
        }
    if one.path == "mixture.lambda" and case.mixture.afr is not None:
        moved = [
            afr * (1.0 + sigmas * _sigma(case, one, lam) / lam)
            for afr, lam in zip(case.mixture.afr, case.mixture.lambda_, strict=True)
        ]
        return {"mixture.afr": " ".join(map(repr, moved))}
    if one.path.endswith("durations"):
        # The band is that of the lowest height, the seat's; higher ones are measured.
        (height, seat), *others = here
        first = (height, seat + sigmas * _sigma(case, one, seat))
        return {one.path: ", ".join(f"{d!r} rad @ {h!r} m" for h, d in (first, *others))}
    if one.path.endswith("runner_stations"):
        return {
            one.path: ", ".join(
                f"{d + sigmas * _sigma(case, one, d)!r} m @ {place!r}" for place, d in here
            )
        }
    if one.kind == "values":
        numbers = " ".join(repr(v + sigmas * _sigma(case, one, v)) for v in here)
        return {one.path: f"{numbers} {si}".strip()}
    text = f"{here + sigmas * _sigma(case, one, here)!r} {si}".strip()
    if one.facts.at:  # what stands after @ in the file: it stays
        other = f"{one.path.rpartition('.')[0]}.{one.facts.at}"
        dimension = dict(walk(Case))[other].facts.dimension
        text += f" @ {value(case, other)!r} {_SI[dimension]}"
    return {one.path: text}


def moved(case: Case, one: Banded, sigmas: float) -> Case | None:
    """
    The case with one value moved, defaults following it.

    None where that side is not possible: a clearance below nothing, a value that follows from its
    pieces, or a flow that the port cannot pass.
    """
    try:
        return amend(case, _moved(case, one, sigmas))
    except CaseError:
        return None
