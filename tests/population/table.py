"""The outcomes of a population by stratum, and why points failed."""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Sequence

from tests.population.engines import Drawn
from tests.population.points import Outcome, Point

STRATA = [
    (fidelity, opening)
    for fidelity in ("wave", "filling")
    for opening in ("wide open", "10 to 60 %", "below 10 %")
]
SLOW = 60.0  # [s]
KINDS: tuple[Outcome, ...] = (
    "not periodic", "alternating", "unsteady", "refused", "crashed", "unfinished",
)  # fmt: skip
_HEADS = ("stratum", "points", *KINDS, "over 60 s", "open books", "median s")


def counts(points: Sequence[Point]) -> dict[str, int]:
    """How many points are of each kind."""
    return {
        "points": len(points),
        **{kind: sum(p.outcome == kind for p in points) for kind in KINDS},
        "over 60 s": sum(p.seconds > SLOW for p in points),
        "open books": sum(p.has_open_books for p in points),
    }


def table(points: Sequence[Point], engines: Iterable[Drawn]) -> str:
    """The whole account, as text."""
    parts = {" ".join(key): [p for p in points if p.stratum == key] for key in STRATA}
    parts |= {f"all {word}": [p for p in points if p.fidelity == word]
              for word in ("wave", "filling")}  # fmt: skip
    parts["all"] = list(points)
    rows = [_HEADS]
    for name, some in parts.items():
        median = f"{statistics.median(p.seconds for p in some):.2f}" if some else "-"
        rows.append((name, *map(str, counts(some).values()), median))
    widths = [max(len(row[i]) for row in rows) for i in range(len(_HEADS))]
    lines = [
        "  ".join(f"{cell:>{w}}" if i else f"{cell:<{w}}" for i, (cell, w) in
                  enumerate(zip(row, widths, strict=True)))
        for row in rows
    ]  # fmt: skip
    refusals = [reason for engine in engines for reason in engine.refusals]
    lines += ["", f"refused by check and drawn anew: {len(refusals)}", *sorted(set(refusals))]
    lines += ["", "engine, rpm: what came of it"]
    lines += [
        f"{p.index}, {p.rpm:g}: {' '.join(p.stratum)}, {p.opening:.3g} open, "
        f"{p.seconds:.0f} s, {p.outcome}: {p.reason}"
        + (f"; books {p.mass_error:.0e} {p.energy_error:.0e}" if p.has_open_books else "")
        for p in points
        if p.outcome != "periodic" or p.seconds > SLOW or p.has_open_books
    ]
    return "\n".join(lines) + "\n"
