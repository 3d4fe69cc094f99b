"""Which charts go with a result, and under which names are they kept?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from enginesim.base.provenance import stamp
from enginesim.report import notes
from enginesim.report.curve_figure import curve_figure
from enginesim.report.cycle_figure import cycle_figure
from enginesim.report.drawing import save
from enginesim.report.wave_figure import wave_figure

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from enginesim.case import Case
    from enginesim.cycle.record import CycleRecord
    from enginesim.performance import Curve
    from enginesim.report.units import System


def save_figures(
    case: Case,
    curve: Curve,
    folder: Path,
    *,
    records: Iterable[CycleRecord] = (),
    cylinder: int = 0,
    units: System = "us",
) -> tuple[Path, ...]:
    """
    Draw a result and keep each chart as PNG and SVG.

    Parameters
    ----------
    case : Case
        The engine.
    curve : Curve
        Its results; with two speeds or more they are drawn as ``curve``.
    folder : Path
        Where to; made if it is not there.
    records : iterable of CycleRecord
        Cycles to draw as ``cycle-RPM``, and those with traces as ``wave-intake-RPM`` and
        ``wave-exhaust-RPM`` too.
    cylinder : int
        Index of the cylinder to draw, from 0. [-]
    units : {"us", "si"}
        Customary units of the United States, or metric ones.

    Returns
    -------
    tuple of Path
        The files, each written whole or not at all.

    Raises
    ------
    OSError
        If the folder cannot be written.
    """
    title = case.name or "Engine without a name"
    conditions = notes.conditions(case, curve, stamp(case.digest), units)
    paths: list[Path] = []
    if len(curve.points) > 1:
        lines = (*notes.peaks(curve, units), *notes.gaps(curve), *conditions)
        paths += save(curve_figure(curve, title, lines, units), folder / "curve")
    for record in records:
        speed = f"{record.rpm:.0f}"
        drawn = cycle_figure(record, cylinder, title, conditions, units)
        paths += save(drawn, folder / f"cycle-{speed}")
        for tract in record.tracts:
            if tract.cylinder == cylinder:
                drawn = wave_figure(record, tract, title, conditions, units)
                paths += save(drawn, folder / f"wave-{tract.side}-{speed}")
    return tuple(paths)
