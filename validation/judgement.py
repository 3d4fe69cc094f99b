"""When does a found value agree with an expected one, and what sums up a whole set of points?"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

WITHIN, MISS, FAILED = "within", "miss", "did not run"

_MANY = 20  # points of which a share says more than a count

_KINDS = ("relative", "absolute", "between", "at_most", "at_least")
_TEXTS = ("what", "why", "unit", "source", "cause", "expected")


class EvidenceError(ValueError):
    """A check is written down wrongly, or asks for what is not there."""


@dataclass(frozen=True)
class Limit:
    """How far a found value may lie from what is expected, and why so far."""

    what: str
    why: str
    kind: str
    bounds: tuple[float, ...]
    unit: str = ""
    source: str = ""
    cause: str = ""
    expected: str = ""
    share: float = 1.0

    @classmethod
    def read(cls, place: str, table: Mapping[str, Any]) -> Limit:
        """Limit as `check.toml` has it; every slip is an error."""
        unknown = set(table) - {*_KINDS, *_TEXTS, "share"}
        kinds = [kind for kind in _KINDS if kind in table]
        if unknown or len(kinds) != 1:
            raise EvidenceError(f"{place}: one of {', '.join(_KINDS)}, and not {sorted(unknown)}")
        for text in ("what", "why"):
            if not str(table.get(text, "")).strip():
                raise EvidenceError(f"{place}: no `{text}`")
        value = table[kinds[0]]
        bounds = tuple(float(v) for v in (value if isinstance(value, list) else [value]))
        if len(bounds) != (2 if kinds[0] == "between" else 1) or not all(
            map(math.isfinite, bounds)
        ):
            raise EvidenceError(f"{place}: `{kinds[0]}` cannot be {value}")
        if kinds[0] == "between" and bounds[0] >= bounds[1]:
            raise EvidenceError(f"{place}: the band {value} is empty")
        texts = {text: str(table.get(text, "")) for text in _TEXTS}
        return cls(kind=kinds[0], bounds=bounds, share=float(table.get("share", 1.0)), **texts)

    @property
    def needs_expected(self) -> bool:
        """Whether it measures from an expected value."""
        return self.kind in ("relative", "absolute")

    def admits(self, found: float, expected: float | None) -> bool:
        """Whether a value is inside; what is not a number never is."""
        first, last = self.bounds[0], self.bounds[-1]
        if not math.isfinite(found):
            return False
        if self.kind == "between":
            return first <= found <= last
        if self.kind == "at_most":
            return found <= first
        if self.kind == "at_least":
            return found >= first
        if expected is None or not math.isfinite(expected):
            return False
        return abs(found - expected) <= first * (abs(expected) if self.kind == "relative" else 1.0)

    def in_words(self) -> str:
        """The limit for a table."""
        first, last = (number(self.bounds[k]) for k in (0, -1))
        unit = f" {self.unit}" if self.unit else ""
        words = {
            "relative": f"±{number(100.0 * self.bounds[0])} %",
            "absolute": f"±{first}{unit}",
            "between": f"{first} to {last}{unit}",
            "at_most": f"≤ {first}{unit}",
            "at_least": f"≥ {first}{unit}",
        }[self.kind]
        return words if self.share == 1.0 else f"{words} for {number(100.0 * self.share)} %"


@dataclass(frozen=True)
class Row:
    """One line of the table; `value` is what was found, where that is one number."""

    check: str
    measure: str
    of: str
    what: str
    source: str
    expected: str
    found: str
    limit: str
    why: str
    verdict: str
    cause: str = ""
    value: float | None = None


@dataclass(frozen=True)
class Agreement:
    """A set of points against what was expected: deviations in the limit's own measure."""

    bias: float
    spread: float
    worst: float
    place: str
    inside: int
    n: int
    low: float
    high: float

    @classmethod
    def of(
        cls, limit: Limit, found: ArrayLike, expected: ArrayLike | None, places: Sequence[str]
    ) -> Agreement:
        """Mean, standard deviation and largest of the deviations, and how many points are inside.

        Without expected values the deviation is from the middle of the band, or from its one edge.
        """
        values = np.asarray(found, dtype=float)
        middle = float(np.mean(limit.bounds))
        wanted = np.full(values.shape, middle) if expected is None else np.asarray(expected, float)
        if values.ndim != 1 or values.shape != wanted.shape or len(places) != len(values):
            raise EvidenceError(f"{limit.what}: {len(places)} places, {values.shape} values")
        if not len(values):
            raise EvidenceError(f"{limit.what}: no points")
        scale = np.abs(wanted) if limit.kind == "relative" else np.ones_like(wanted)
        with np.errstate(divide="ignore", invalid="ignore"):
            gaps = (values - wanted) / scale
            bias, spread = float(np.mean(gaps)), float(np.std(gaps))
        inside = [
            limit.admits(float(v), None if expected is None else float(w))
            for v, w in zip(values, wanted, strict=True)
        ]
        sides = {"at_most": gaps, "at_least": -gaps}.get(limit.kind, np.abs(gaps))
        at = int(np.argmax(np.where(np.isnan(sides), math.inf, sides)))
        return cls(
            bias=bias,
            spread=spread,
            worst=float(gaps[at]),
            place=places[at],
            inside=sum(inside),
            n=len(inside),
            low=float(np.min(values)),
            high=float(np.max(values)),
        )

    def in_words(self, limit: Limit) -> str:
        """Bias, spread, worst point and its place, and the share inside."""
        unit = f" {limit.unit}" if limit.unit else ""
        count = f"{self.inside} of {self.n} inside"
        if self.inside < self.n and self.n >= _MANY:
            count += f" ({number(100.0 * self.inside / self.n, 3)} %)"
        if not limit.needs_expected:
            reach = f"{number(self.low)} to {number(self.high)}{unit}"
            return f"{reach}, farthest at {self.place}; {count}"
        factor = 1.0
        if limit.kind == "relative":
            factor, unit = 100.0, " %"

        def signed(gap: float) -> str:
            text = number(factor * gap, 2)
            return text if text.startswith("-") else f"+{text}"

        return (
            f"bias {signed(self.bias)}{unit}, spread {number(factor * self.spread, 2)}{unit}, "
            f"worst {signed(self.worst)}{unit} at {self.place}; {count}"
        )


def judge(
    check: str, measure: str, limit: Limit, found: float, expected: float | None, of: str
) -> Row:
    """One found value: its row, verdict included."""
    if limit.needs_expected != (expected is not None):
        raise EvidenceError(f"{check}: {measure}: expected value and limit do not go together")
    unit = f" {limit.unit}" if limit.unit else ""
    wanted = limit.expected or limit.in_words()
    if expected is not None:
        wanted = f"{number(expected)}{unit}"
    verdict = WITHIN if limit.admits(found, expected) else MISS
    return _row(check, measure, limit, of, wanted, f"{number(found)}{unit}", verdict, found)


def judge_points(
    check: str,
    measure: str,
    limit: Limit,
    found: ArrayLike,
    expected: ArrayLike | None,
    places: Sequence[str],
    of: str,
) -> Row:
    """Many found values: one row, within if the wanted share of them is inside."""
    if limit.needs_expected != (expected is not None):
        raise EvidenceError(f"{check}: {measure}: expected values and limit do not go together")
    agreement = Agreement.of(limit, found, expected, places)
    wanted = limit.expected or limit.in_words()
    if expected is not None:
        wanted = f"{agreement.n} values"
    verdict = WITHIN if agreement.inside >= limit.share * agreement.n - 1e-9 else MISS
    text = agreement.in_words(limit)
    return _row(check, measure, limit, of, wanted, text, verdict, agreement.worst)


def _row(
    check: str,
    measure: str,
    limit: Limit,
    of: str,
    expected: str,
    found: str,
    verdict: str,
    value: float,
) -> Row:
    what = f"{limit.what}: {of}" if of else limit.what
    return Row(
        check=check,
        measure=measure,
        of=of,
        what=what,
        source=limit.source,
        expected=expected,
        found=found,
        limit=limit.in_words(),
        why=limit.why,
        verdict=verdict,
        cause=limit.cause if verdict == MISS else "",
        value=value if math.isfinite(value) else None,
    )


def number(value: float, digits: int = 4) -> str:
    """A number as short as its leading digits allow."""
    if not math.isfinite(value):
        return "no number"
    return f"{value:.{digits}g}" if value != 0.0 else "0"
