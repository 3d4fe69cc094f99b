"""Six fuel-air cycles: the states around the loop, its efficiency, and its mean pressure."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from matplotlib.figure import Figure

from enginesim.gas import tables
from enginesim.kernels import cylinder_layout as at
from enginesim.kernels.closed import TRACE_P, TRACE_T, TRACE_X
from enginesim.kernels.layout import G_FUEL_AIR
from enginesim.network.gas_array import gas_array
from tests.cylinders import DEG, SWEPT, charge, engine, filled, marched, set_burn
from validation.drawing import BLUE, GREY, VERMILLION, label, legend, panels
from validation.folder import Folder, Found
from validation.judgement import Row

HEATING_VALUE = 44.65e6  # of the vapour, as the table has it [J/kg]
RESIDUAL = 0.05
CASES = ((6.0, 1.0), (8.0, 1.0), (10.0, 1.0), (12.0, 1.0), (10.0, 0.8), (10.0, 1.2))
CURVES = {8.0: 0.42, 10.0: 0.46}


class Loop(NamedTuple):
    """In the units of the table."""

    t_2: float
    p_2: float
    t_3: float
    p_3: float
    t_4: float
    efficiency: float
    imep: float


STATES = Loop._fields[:5]


def tasks(fast: bool) -> list[tuple[float, float]]:
    """Compression ratio and equivalence ratio."""
    return list(CASES[2:3] if fast else CASES)


def work(task: tuple[float, float]) -> Loop:
    compression, phi = task
    gas = gas_array(tables("iso-octane", 1.0 / phi))
    par = engine(compression=compression, wiebe_a=30.0, ivc=-np.pi, evo=np.pi)
    set_burn(par, -0.05 * DEG, 0.1 * DEG)
    start = filled(par, gas, p=101325.0, t=388.0, **charge(gas, RESIDUAL))
    row, trace = marched(start, par, gas, n_step=3600)
    before = trace[trace[:, TRACE_X] == 0.0][-1]
    after = trace[trace[:, TRACE_X] > 0.999][0]
    fuel = start[at.C_MASS] * (1.0 - RESIDUAL) * gas[G_FUEL_AIR] / (1.0 + gas[G_FUEL_AIR])
    return Loop(
        float(before[TRACE_T]),
        float(before[TRACE_P]) / 1e5,
        float(after[TRACE_T]),
        float(after[TRACE_P]) / 1e5,
        float(trace[-1, TRACE_T]),
        float(row[at.C_WORK] / (fuel * HEATING_VALUE)),
        float(row[at.C_WORK] / SWEPT / 1e5),
    )


def _known(folder: Folder) -> dict[tuple[float, float], Loop]:
    columns = folder.data()
    pairs = zip(columns["compression"], columns["phi"], strict=True)
    return {
        (float(r), float(phi)): Loop(*(float(columns[name][k]) for name in Loop._fields))
        for k, (r, phi) in enumerate(pairs)
    }


def rows(folder: Folder, found: Found) -> list[Row]:
    """States, efficiency and mean pressure of all cycles; two against the book's curves."""
    known = _known(folder)

    def all_of(measure: str, names: tuple[str, ...]) -> Row:
        picks = [(task, name) for task in found for name in names]
        return folder.points(
            measure,
            [f"r {r:g}, phi {phi:g}, {name}" for (r, phi), name in picks],
            [getattr(found[task], name) for task, name in picks],
            [getattr(known[task], name) for task, name in picks],
        )

    answer = [all_of("state", STATES)]
    answer += [all_of(name, (name,)) for name in ("efficiency", "imep")]
    return answer + [
        folder.row("curves", found[r, 1.0].efficiency, value, of=f"r {r:g}")
        for r, value in CURVES.items()
        if (r, 1.0) in found
    ]


def figure(folder: Folder, found: Found) -> Figure:
    """Efficiency and states against the compression ratio."""
    drawn, (left, right) = panels(1, 2, title=folder.title, height=3.6)
    known = _known(folder)
    ratios = [r for r, phi in CASES if phi == 1.0]
    for ax, names, text in (
        (left, ("efficiency",), "efficiency"),
        (right, ("t_2", "t_3", "t_4"), "temperature [K]"),
    ):
        for name in names:
            expected = [getattr(known[r, 1.0], name) for r in ratios]
            values = [getattr(found[r, 1.0], name) for r in ratios]
            first = name == names[0]
            ax.plot(ratios, expected, color=GREY, lw=1.2, label="table" if first else None)
            ax.plot(ratios, values, "o", color=BLUE, ms=5, label="enginesim" if first else None)
            if name != "efficiency":
                ax.annotate(f" {name}", (ratios[-1], values[-1]), va="bottom", ha="right")
        label(ax, "compression ratio", text, "equivalence ratio 1")
    left.plot(list(CURVES), list(CURVES.values()), "x", color=VERMILLION, label="book's curve")
    legend(left)
    legend(right)
    return drawn
