"""What does an engine do at some speeds, in a process of its own?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from enginesim.case import Case

CASES = Path(__file__).resolve().parents[1] / "cases"

#: The shipped engines: speeds from low in their use to beyond most power, and a name for charts.
SHIPPED: Mapping[str, tuple[float, float]] = {
    "teaching-single": (2000.0, 7000.0),
    "hill-climb-four": (2500.0, 8000.0),
    "delivery-six": (1500.0, 5500.0),
    "coupe-v6": (1500.0, 6000.0),
    "lake-boat-v8": (2000.0, 6500.0),
}

#: Where a difference below a tenth of a per cent is to be seen: cycles run to rest.
AT_REST = (
    "numerics.bmep_tolerance=50 Pa",
    "numerics.imbalance_tolerance=2e-5",
    "numerics.max_cycles=120",
)

Samples = NDArray[np.float64]


def engine(name: str, changes: Sequence[str] = ()) -> Case:
    """A shipped engine, with changes as ``--set`` writes them."""
    from enginesim.case import load

    return load(CASES / f"{name}.toml", tuple(changes))


def evenly(first: float, last: float, step: float) -> tuple[float, ...]:
    """Speeds from `first` to `last`, both included. [rpm]."""
    return tuple(float(rpm) for rpm in np.arange(first, last + 0.5 * step, step))


def curve(case: Case, rpms: Sequence[float]) -> dict[str, Samples]:
    """
    Every number of `Performance` over speed, one speed after the other.

    Checks run side by side in processes, so nothing is gained by threads here. A speed that does
    not become periodic is no number throughout, except for `rpm` and `converged`.
    """
    from dataclasses import fields

    from enginesim.cycle.curves import simulate, tables_of
    from enginesim.network.engine import prepare
    from enginesim.performance import summarise

    ready = prepare(case)
    points: list[dict[str, Any]] = []
    for rpm in rpms:
        record = simulate(case, rpm, prepared=ready)
        found = summarise(case, tables_of(case, rpm), record)
        numbers = {f.name: getattr(found, f.name) for f in fields(found)}
        points.append({k: v for k, v in numbers.items() if not isinstance(v, str)})
    table = {key: np.array([float(point[key]) for point in points]) for key in points[0]}
    lost = table["converged"] == 0.0
    for key, values in table.items():
        if key not in ("rpm", "converged"):
            values[lost] = np.nan
    return table


def crest(rpm: Sequence[float] | Samples, values: Sequence[float] | Samples) -> tuple[float, float]:
    """Place and height of the highest point, by the parabola through it and its neighbours."""
    x, y = np.asarray(rpm, float), np.asarray(values, float)
    i = int(np.nanargmax(y))
    if not 0 < i < len(y) - 1 or not np.isfinite(y[i - 1 : i + 2]).all():
        return float(x[i]), float(y[i])
    second, first, _ = np.polyfit(x[i - 1 : i + 2] - x[i], y[i - 1 : i + 2] - y[i], 2)
    if second >= 0.0:
        return float(x[i]), float(y[i])
    shift = -0.5 * first / second
    return float(x[i] + shift), float(y[i] + 0.5 * first * shift)


def bell(rpm: Samples, values: Samples, fine: Samples, width: float) -> Samples:
    """Mean of the curve under a bell of `width`, as a part of the speed: ripples taken off."""
    weight = np.exp(-0.5 * (np.log(fine[:, None] / rpm) / width) ** 2)
    return np.asarray((weight * values).sum(axis=1) / weight.sum(axis=1))
