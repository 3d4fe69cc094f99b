"""How far may the differences move with what was assumed: every value moved, in all engines?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import click
import numpy as np

from enginesim.base.characters import excerpt
from enginesim.performance.quoting import is_quotable
from enginesim.study import paired_bands

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.cli.compared import Compared
    from enginesim.cli.obtaining import Gathered
    from enginesim.study.straight_lines import Floats

Get = Callable[[Sequence["Case"], Sequence[float]], "Gathered"]


def banded(compared: Compared, get: Get) -> Compared:
    """
    A comparison with the bands of its differences.

    Parameters
    ----------
    compared : Compared
        Without them.
    get : callable
        Gives results of cases at speeds.

    Returns
    -------
    Compared
        With them; as it was if the user interrupted.
    """
    comparison = compared.comparison
    n, speeds = len(comparison.sides), paired_bands.some(comparison.rpm.tolist())
    click.echo("looking how far each value with a band can be moved ...", err=True)
    found, left_out = paired_bands.moves([entrant.case for entrant in compared.entrants])
    for one in left_out:
        click.echo(f"* {one.path} does not count: {excerpt(one.reason, 160)}", err=True)
    values = len({move.path for move in found})
    runs = len(found) * len(speeds)
    click.echo(f"{values} values with a band, {runs} runs at most ...", err=True)
    got = get([move.case for move in found], speeds)
    if got.is_interrupted:
        return compared
    failed = {m.path: part.failed for m, part in zip(found, got.parts, strict=True) if part.failed}
    for path, failures in failed.items():
        why = next(iter(failures.values())).reason
        click.echo(f"* {path} does not count at {len(failures)} speeds: {why}", err=True)
    places = np.searchsorted(comparison.rpm, speeds)
    moved: dict[tuple[str, int], Floats] = {}
    for move, part in zip(found, got.parts, strict=True):
        factor = comparison.sides[move.i].factor
        moved[move.path, move.i] = np.array(
            [
                factor * part.points[rpm].torque
                if rpm in part.points and is_quotable(part.points[rpm])
                else np.nan
                for rpm in speeds
            ]
        )
    torque = comparison.torque[:, places]
    shares = [paired_bands.shares(torque, moved, found, i) for i in range(1, n)]
    band = np.zeros_like(comparison.torque)
    for i, share in enumerate(shares, 1):
        band[i] = paired_bands.band(share, speeds, comparison.rpm)
    return replace(compared, comparison=replace(comparison, band=band), shares=tuple(shares))
