"""Under which conditions does a comparison hold, and how sure is it?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from enginesim.dyno.correction import STANDARDS, air_of, doubts, factor
from enginesim.report import notes
from enginesim.report.comparison_text import LEFT_OUT, LEFT_OUT_OF_BANDS, amount
from enginesim.report.units import scale

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.base.provenance import Provenance
    from enginesim.report.units import System
    from enginesim.study.comparison import Comparison
    from enginesim.study.paired_bands import Share
    from enginesim.study.swap import Entrant

_MOST = 4  # assumed values that are named


@dataclass(frozen=True, slots=True)
class Words:
    """
    What is said on the one page about a comparison.

    Attributes
    ----------
    title : str
        What is compared.
    sides : tuple of str
        What each engine is.
    changes : tuple of tuple of (str, str, str)
        For each engine but the first, fields in which it differs from that; none for all together.
    verdicts : tuple of str
        Where which is better.
    reasons : tuple of str
        Why.
    certainty : tuple of str
        How sure.
    conditions : tuple of str
        Correction, air, fuel, friction, origin.
    warnings : tuple of str
        What stands in the way.
    assumed : tuple of (str, str, str)
        Field, value and band, empty if it has none, of what was assumed in the first.
    """

    title: str
    sides: tuple[str, ...]
    changes: tuple[tuple[tuple[str, str, str], ...], ...]
    verdicts: tuple[str, ...]
    reasons: tuple[str, ...]
    certainty: tuple[str, ...]
    conditions: tuple[str, ...]
    warnings: tuple[str, ...] = ()
    assumed: tuple[tuple[str, str, str], ...] = ()


def correction(comparison: Comparison, entrants: Sequence[Entrant], standard: str) -> str:
    """
    Standard of the correction and the factor of each side.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.
    entrants : sequence of Entrant
        Their cases.
    standard : str
        Key of :data:`enginesim.dyno.correction.STANDARDS`.

    Returns
    -------
    str
        One sentence.
    """
    meant = STANDARDS[standard]
    factors = [side.factor for side in comparison.sides]
    if standard == "none":
        meant = STANDARDS["J1349"]
        factors = [factor("J1349", air_of(entrant.case)) for entrant in entrants]
    if max(factors) - min(factors) < 5e-5:
        text = f"{factors[0]:.4f}"
    else:
        text = ", ".join(
            f"{side.letter} {f:.4f}" for side, f in zip(comparison.sides, factors, strict=True)
        )
    if standard == "none":
        return f"Not corrected; the factor to {meant.title} would be {text}"
    return f"Corrected to {meant.title} ({meant.reference}), factor {text}"


def warnings(entrants: Sequence[Entrant], standard: str) -> tuple[str, ...]:
    """
    What stands in the way of comparing like with like.

    Parameters
    ----------
    entrants : sequence of Entrant
        Cases side by side.
    standard : str
        Key of :data:`enginesim.dyno.correction.STANDARDS`.

    Returns
    -------
    tuple of str
        Sentences.
    """
    found: list[str] = []
    first = entrants[0]
    for entrant in entrants:
        found += [f"{entrant.letter}: {text}" for text in doubts(standard, air_of(entrant.case))]
        if standard != "none" and entrant.case.throttle.opening < 1.0:
            found.append(f"{entrant.letter}: corrections are meant for full throttle")
        if entrant is first:
            continue
        if entrant.case.digest == first.case.digest:
            found.append(f"{entrant.letter} is the same engine as {first.letter}")
        elif entrant.case.air != first.case.air and standard == "none":
            found.append(
                f"{entrant.letter} and {first.letter} breathe different air: a correction"
                " (--correction) takes the day out of the difference"
            )
        if entrant.case.friction.model != first.case.friction.model:
            found.append(f"{entrant.letter} and {first.letter} have different friction laws")
        if entrant.case.numerics != first.case.numerics:
            found.append(f"{entrant.letter} and {first.letter} are worked out on different meshes")
    return tuple(found)


def certainty(
    comparison: Comparison, system: System, shares: Sequence[Sequence[Share]] = ()
) -> tuple[str, ...]:
    """
    How sure the differences are, and what is not in that.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.
    system : {"us", "si"}
        Units.
    shares : sequence of sequence of Share
        For each side but the first, what assumed values do to its difference; empty if that was
        not worked out.

    Returns
    -------
    tuple of str
        Sentences.
    """
    shown = scale("torque", system)
    texts = []
    for i, side in enumerate(comparison.sides[1:], 1):
        error = comparison.error[i]
        sure = int((abs(comparison.difference(i)) > error).sum())
        texts.append(
            f"{side.letter}: +-{amount(float(error.max()), system, digits=1)} {shown.symbol},"
            f" less than the difference at {sure} of {len(error)} speeds"
        )
    numerical = f"Numerical error of the differences: {'; '.join(texts)}"
    if not shares or comparison.band is None:
        return numerical, LEFT_OUT
    assumed = [_assumed(comparison, i, found, system) for i, found in enumerate(shares, 1) if found]
    return (numerical, *assumed, LEFT_OUT_OF_BANDS)


def _assumed(comparison: Comparison, i: int, found: Sequence[Share], system: System) -> str:
    """What the assumed values do to one difference, and which of them do most."""
    letters = [side.letter for side in comparison.sides]
    low, high = (
        amount(f(comparison.band[i]) if comparison.band is not None else 0.0, system, digits=1)
        for f in (min, max)
    )
    unit = scale("torque", system).symbol
    names = [
        f"{share.path}{'' if share.i is None else f' of {letters[share.i]}'} "
        f"({amount(float(abs(share.effect).max()), system, digits=1)})"
        for share in found[:_MOST]
    ]
    return (
        f"{letters[i]}: values known to a band, each moved by one standard deviation (in both"
        f" engines where both have the part), add {low} to {high} {unit}; most of it (at most):"
        f" {', '.join(names)}"
    )


def conditions(
    comparison: Comparison,
    entrants: Sequence[Entrant],
    provenance: Sequence[Provenance],
    standard: str,
    system: System,
) -> tuple[str, ...]:
    """
    Correction, air, fuel, friction and origin, for the foot of a table or a chart.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.
    entrants : sequence of Entrant
        Their cases.
    provenance : sequence of Provenance
        Stamp of each.
    standard : str
        Key of :data:`enginesim.dyno.correction.STANDARDS`.
    system : {"us", "si"}
        Units.

    Returns
    -------
    tuple of str
        Lines; what is the same for all sides is said once.
    """
    lines = [correction(comparison, entrants, standard)]
    pairs = list(zip(entrants, comparison.sides, strict=True))
    for texts in (
        [notes.air(entrant.case, system).partition(":")[0] for entrant in entrants],
        [notes.charge(entrant.case, side.curve) for entrant, side in pairs],
        [notes.friction(entrant.case) for entrant in entrants],
    ):
        if len(set(texts)) == 1:
            lines.append(texts[0])
        else:
            lines += [f"{e.letter}: {text}" for e, text in zip(entrants, texts, strict=True)]
    first = provenance[0]
    cases = ", ".join(
        f"{e.letter} {p.case_digest[:8]}" for e, p in zip(entrants, provenance, strict=True)
    )
    lines.append(
        f"enginesim {first.version}, physics {first.physics_version}, cases {cases},"
        f" {first.date[:10]}"
    )
    return tuple(lines)
