"""Filling of a slow engine, gas of constant heat capacity, against back pressure."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from matplotlib.figure import Figure

from enginesim.cycle.curves import simulate, tables_of
from enginesim.gas import GasTables
from enginesim.performance import summarise
from tests.exact.ideal_cycle import filling_ratio
from validation.drawing import COLOURS, GREY, MARKS, label, legend, panels
from validation.folder import Folder, Found, read
from validation.judgement import Row

GAMMA, R_GAS = 1.4, 287.0
SPEEDS = (400.0,)
#: Flow at which the muffler costs 5 kPa [kg/h]: the smaller, the more back pressure.
FLOWS = (500.0, 12.0, 5.0, 2.0)


def tasks(fast: bool) -> list[tuple[float, float]]:
    """Speed and muffler."""
    if fast:
        return [(400.0, 500.0), (400.0, 12.0)]
    return [(rpm, flow) for rpm in SPEEDS for flow in FLOWS]


def _perfect(tables: GasTables) -> GasTables:
    """One perfect gas in place of air, fuel vapour and burned gas."""
    c_v = R_GAS / (GAMMA - 1.0)
    energy = np.zeros_like(tables.energy_coefficients)
    energy[:, 1] = 1e3 * c_v
    return replace(
        tables,
        energy_coefficients=energy,
        r_gas=np.full(3, R_GAS),
        liquid_enthalpy=(c_v + R_GAS) * 298.15,
        heat_of_vaporisation=0.0,
        du=np.zeros_like(tables.du),
        dr=np.zeros_like(tables.dr),
        prandtl=1e12,  # gas that conducts no heat: pipes are adiabatic
    )


def work(task: tuple[float, float]) -> tuple[float, float]:
    """Exhaust over intake pressure, and volumetric efficiency."""
    rpm, flow = task
    case = read("ideal_filling").case(
        changes=(f"exhaust.muffler_back_pressure=5 kPa @ {flow:g} kg/h",)
    )
    tables = _perfect(tables_of(case, rpm))
    record = simulate(case, rpm, tables=tables)
    found = summarise(case, tables, record)
    overlap = int(np.argmin(np.abs(record.theta - record.phase[0] - 2.0 * np.pi)))
    back = record.volume_pressure[0, overlap] / case.air.pressure
    charge = 1.0 + record.fuel_in[0] / record.air_in[0]
    return float(back), found.ve * float(charge) if record.converged else float("nan")


def rows(folder: Folder, found: Found) -> list[Row]:
    """Every point against the formula."""
    backs, filling = np.array(list(found.values())).T
    places = [f"{rpm:g} rpm, {back:.2f}" for (rpm, _), back in zip(found, backs, strict=True)]
    return [folder.points("filling", places, filling, [_formula(b) for b in backs])]


def _formula(back: float) -> float:
    return filling_ratio(10.0, back, GAMMA)


def figure(folder: Folder, found: Found) -> Figure:
    """Filling against back pressure."""
    drawn, (axes, gap) = panels(1, 2, title=folder.title, height=3.6)
    line = np.linspace(1.0, 1.4, 50)
    axes.plot(line, [_formula(b) for b in line], color=GREY, label="formula")
    for k, rpm in enumerate(SPEEDS):
        backs, filling = np.array([v for (speed, _), v in found.items() if speed == rpm]).T
        gaps = [100 * (f / _formula(b) - 1) for b, f in zip(backs, filling, strict=True)]
        axes.plot(backs, filling, MARKS[k], color=COLOURS[k], label=f"{rpm:g} rpm")
        gap.plot(backs, gaps, MARKS[k], color=COLOURS[k])
    label(axes, "exhaust over intake pressure", "volumetric efficiency")
    label(gap, "exhaust over intake pressure", "found less formula [%]")
    gap.set_ylim(-0.5, 0.5)
    legend(axes)
    return drawn
