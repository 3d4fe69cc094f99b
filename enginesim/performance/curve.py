"""Results over engine speed: their values, peaks and averages, and as a table.

Source: definitions, in docs/theory/results.md.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from enginesim.base.errors import ResultError
from enginesim.base.quantity import quantities, unknown
from enginesim.base.replacement import replacing
from enginesim.performance.quoting import is_quotable, quoted
from enginesim.performance.results import Performance

Floats: TypeAlias = NDArray[np.float64]

_SHOWN = ("rpm", "torque", "power", "ve", "bmep", "bsfc")  # columns of the short table


class Curve(Mapping[str, Floats]):
    """
    Performance over engine speed: a mapping of every number of :class:`Performance` to an array.

    Parameters
    ----------
    points : iterable of Performance
        One engine at several speeds, in any order; sorted by speed here.

    Attributes
    ----------
    points : tuple of Performance
        One for each speed, rising.

    Raises
    ------
    ResultError
        If there is no point, or two have the same speed.

    Notes
    -----
    ``curve["torque"]`` are the torques [N m] at the speeds ``curve["rpm"]``; iteration goes over
    names, as in any mapping; the speeds themselves are ``curve.points``.
    ``curve.peak("power")`` is a pair of speed and power.
    """

    __slots__ = ("points",)

    points: tuple[Performance, ...]

    def __init__(self, points: Iterable[Performance]) -> None:
        ordered = tuple(sorted(points, key=lambda point: point.rpm))
        if not ordered:
            raise ResultError("curve: found no speeds; allowed one or more")
        for lower, upper in pairwise(ordered):
            if lower.rpm == upper.rpm:
                raise ResultError(f"curve: found {lower.rpm:g} rpm twice; allowed once")
        object.__setattr__(self, "points", ordered)

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"a curve is not changed: {name} = {value!r}")

    def __reduce__(self) -> tuple[type[Curve], tuple[tuple[Performance, ...]]]:
        return Curve, (self.points,)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def __iter__(self) -> Iterator[str]:
        first = self.points[0]
        return (name for name in quantities(Performance) if not isinstance(first[name], str))

    def __contains__(self, name: object) -> bool:
        return any(name == known for known in self)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Curve) and self.points == other.points

    def __hash__(self) -> int:
        return hash(self.points)

    def __repr__(self) -> str:
        if self.quotable is None:
            peak = "none converged"
        else:
            rpm, torque = self.peak("torque")
            peak = f"peak torque {torque:.1f} N m at {rpm:g} rpm"
        return (
            f"<Curve of {len(self.points)} speeds, {self.points[0].rpm:g} to "
            f"{self.points[-1].rpm:g} rpm: {peak}>"
        )

    def _repr_html_(self) -> str:
        known = quantities(Performance)
        head = "".join(f"<th>{known[n].label}<br>[{known[n].unit}]</th>" for n in _SHOWN)
        rows = (
            "".join(f"<td>{quoted(point, name):.5g}</td>" for name in _SHOWN)
            for point in self.points
        )
        body = "".join(f"<tr>{row}</tr>" for row in rows)
        return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"

    def __getitem__(self, name: str) -> Floats:
        if name not in quantities(Performance):
            raise unknown(Performance, name)
        if isinstance(self.points[0][name], str):
            raise ResultError(f"curve: {name!r} is text; found no array of it")
        return np.array([point[name] for point in self.points], dtype=np.float64)

    def to_frame(self) -> Any:
        """
        Return all numbers as a pandas data frame, one row for each speed.

        Returns
        -------
        pandas.DataFrame
            SI; ``frame.attrs["units"]`` maps each column to its unit.

        Raises
        ------
        ResultError
            If pandas is not installed.
        """
        try:
            import pandas as pd
        except ImportError:
            raise ResultError(
                "curve: pandas is not installed; `pip install pandas`, or use to_csv()"
            ) from None
        known = quantities(Performance)
        frame = pd.DataFrame({name: self[name] for name in self})
        frame.attrs["units"] = {name: known[name].unit for name in self}
        return frame

    def to_csv(self, path: str | Path | None = None) -> str:
        """
        Return all numbers as comma-separated text, SI, and keep it in a file if one is named.

        Parameters
        ----------
        path : str or Path, optional
            Written whole or not at all; a file that is there is replaced.

        Returns
        -------
        str
            A row of names, a row of units, then a row for each speed; empty where there is no
            number.

        Raises
        ------
        OSError
            If the place cannot be written.
        """
        known = quantities(Performance)
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(self)
        writer.writerow(known[name].unit for name in self)
        columns = zip(*self.values(), strict=True)
        writer.writerows(["" if np.isnan(x) else repr(float(x)) for x in row] for row in columns)
        text = out.getvalue()
        if path is not None:
            with replacing(Path(path)) as aside:
                aside.write_text(text, encoding="utf-8")
        return text

    @property
    def quotable(self) -> Curve | None:
        """The speeds whose figures may be quoted; None if there is none."""
        kept = [point for point in self.points if is_quotable(point)]
        return Curve(kept) if kept else None

    def peak(self, name: str) -> tuple[float, float]:
        """
        Highest of the simulated values that may be quoted, and its speed.

        Parameters
        ----------
        name : str
            Field of :class:`Performance`, such as ``torque``.

        Returns
        -------
        tuple of float
            Engine speed [rpm] and the value in the field's SI unit. No curve is drawn between
            the speeds: wave tuning makes real steps there.

        Raises
        ------
        ResultError
            If no speed converged.

        Notes
        -----
        Source: definition.
        """
        kept = self._kept(f"peak of {name}")
        values = kept[name]
        i = int(np.nanargmax(values)) if np.isfinite(values).any() else 0
        return kept.points[i].rpm, float(values[i])

    def _kept(self, what: str) -> Curve:
        kept = self.quotable
        if kept is None:
            n = len(self.points)
            raise ResultError(f"{what}: found {n} speeds, none converged; allowed one that did")
        return kept

    def average(self, name: str, low: float, high: float) -> float:
        """
        Mean over a window of engine speed, of the speeds that may be quoted.

        Parameters
        ----------
        name : str
            Field of :class:`Performance`.
        low : float
            Beginning of the window. [rpm]
        high : float
            End of the window. [rpm]

        Returns
        -------
        float
            Area under straight lines between the speeds, over the window's width, in the field's
            SI unit; so speeds that lie closer where the curve bends do not weigh more. [-]

        Raises
        ------
        ResultError
            If the window is not inside the speeds that converged.

        Notes
        -----
        Source: definition.
        """
        kept = self._kept(f"average of {name}")
        rpm, values = kept["rpm"], kept[name]
        if not rpm[0] <= low < high <= rpm[-1]:
            raise ResultError(
                f"average of {name}: found window {low:g} to {high:g} rpm;"
                f" allowed within {rpm[0]:g} to {rpm[-1]:g} rpm"
            )
        inside = rpm[(rpm > low) & (rpm < high)]
        grid = np.concatenate([[low], inside, [high]])
        return float(np.trapezoid(np.interp(grid, rpm, values), grid)) / (high - low)
