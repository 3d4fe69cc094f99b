"""How is a comparison kept in a file, for other programs to read?"""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Any

import numpy as np

from enginesim.base.units import unit
from enginesim.report.comparison_table import SUREST
from enginesim.report.files import speed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.base.provenance import Provenance
    from enginesim.performance.attribution import Attribution
    from enginesim.study.comparison import Comparison
    from enginesim.study.swap import Entrant


def document(
    comparison: Comparison,
    entrants: Sequence[Entrant],
    causes: Sequence[Sequence[Attribution]],
    provenance: Sequence[Provenance],
    correction: str,
    *,
    is_complete: bool = True,
) -> dict[str, Any]:
    """
    A comparison as plain values.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.
    entrants : sequence of Entrant
        Their cases.
    causes : sequence of sequence of Attribution
        For each side but the first, one for each speed.
    provenance : sequence of Provenance
        Stamp of each side.
    correction : str
        Standard of the correction.
    is_complete : bool
        Whether every speed that was asked for is there.

    Returns
    -------
    dict
        For JSON: N m and kW, as they were corrected.
    """
    watt = unit("kW")
    sides = []
    for i, side in enumerate(comparison.sides):
        power = [watt.from_si(float(value)) for value in comparison.power[i]]
        entry: dict[str, Any] = {
            "letter": side.letter,
            "label": side.label,
            "case": {"name": entrants[i].case.name, "digest": entrants[i].case.digest},
            "provenance": provenance[i].as_dict(),
            "correction_factor": side.factor,
            "torque_Nm": comparison.torque[i].tolist(),
            "power_kW": power,
            "average_torque_Nm": comparison.average(i, "torque"),
            "average_power_kW": watt.from_si(comparison.average(i, "power")),
            "uncorrected": [speed(p) for p in side.curve.points],
        }
        if comparison.weights is not None:
            entry["weighted_torque_Nm"] = comparison.weighted(i, "torque")
            entry["weighted_power_kW"] = watt.from_si(comparison.weighted(i, "power"))
        if i:
            entry["difference_torque_Nm"] = comparison.difference(i).tolist()
            entry["numerical_error_torque_Nm"] = comparison.error[i].tolist()
            if comparison.band is not None:
                entry["band_torque_Nm"] = comparison.band[i].tolist()
                chances = np.clip(comparison.chance(i), 1.0 - SUREST, SUREST)
                entry["chance_of_more_torque"] = chances.tolist()
            entry["crossovers_rpm"] = [
                {"rpm": c.rpm, "low": c.low, "high": c.high, "is_rising": c.is_rising}
                for c in comparison.crossovers(i)
            ]
            entry["causes_torque_Nm"] = {
                cause: [one.parts[cause] for one in causes[i - 1]]
                for cause in causes[i - 1][0].parts
            }
        sides.append(entry)
    return {
        "complete": is_complete,
        "correction": correction,
        "rpm": comparison.rpm.tolist(),
        "window_rpm": [comparison.window.low, comparison.window.high],
        "sides": sides,
    }


def csv_text(comparison: Comparison) -> str:
    """
    A comparison as comma-separated values, a line for each speed.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.

    Returns
    -------
    str
        Corrected torque [N m] and power [kW] of each side, differences from the first with
        their numerical error.
    """
    watt = unit("kW")
    first = comparison.sides[0].letter
    heads, columns = ["rpm"], [comparison.rpm.tolist()]
    for i, side in enumerate(comparison.sides):
        heads += [f"{side.letter}_torque_Nm", f"{side.letter}_power_kW"]
        columns.append(comparison.torque[i].tolist())
        columns.append([watt.from_si(float(value)) for value in comparison.power[i]])
    for i, side in enumerate(comparison.sides[1:], 1):
        name = f"{side.letter}_less_{first}"
        heads += [f"{name}_torque_Nm", f"{name}_numerical_error_Nm"]
        columns += [comparison.difference(i).tolist(), comparison.error[i].tolist()]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(heads)
    writer.writerows(zip(*columns, strict=True))
    return out.getvalue()
