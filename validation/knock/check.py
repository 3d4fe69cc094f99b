"""The knock integral at a constant state, over one cylinder's conditions, and in a whole engine."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

from enginesim.base.errors import CycleError
from enginesim.case import load
from enginesim.cycle.curves import simulate, tables_of
from enginesim.gas import tables
from enginesim.kernels import cylinder_layout as at
from enginesim.kernels.layout import G_OCTANE
from enginesim.network.gas_array import gas_array
from enginesim.performance import summarise
from tests.cylinders import (
    DEG,
    NEVER,
    charge,
    engine,
    filled,
    marched,
    omega,
    perfect_gas,
    set_burn,
)
from validation.drawing import BLUE, label, panels
from validation.folder import Folder, Found, Samples
from validation.folder import read as read_folder
from validation.judgement import Row

CASE = Path(__file__).parents[2] / "cases" / "coupe-v6.toml"
RPM, RATIO = 2500.0, 11.0
SPARK = 24.0  # near its best [deg before top dead centre]
ATMOSPHERE = 101325.0
EXPONENT = 3.402  # of the octane in the delay
OCTANES = (87.0, 91.0, 95.0, 100.0)

# One cylinder: what is swept, and through which values (unit of the chart).
SWEEPS: dict[str, tuple[float, ...]] = {
    "compression": (8.0, 9.0, 10.0, 11.0, 12.0, 13.0),
    "temperature": (330.0, 345.0, 360.0, 375.0, 390.0),
    "pressure": (0.7, 0.85, 1.0, 1.15, 1.3),
    "speed": (1500.0, 2500.0, 3500.0, 4500.0, 5500.0, 6500.0),
}
AXES = {
    "compression": "compression ratio",
    "temperature": "charge temperature [K]",
    "pressure": "charge pressure [bar]",
    "speed": "speed [rpm]",
}

# The whole engine: pairs between which one thing changes.
ENGINE: dict[str, tuple[str, ...]] = {
    "base": (),
    "ratio": (f"block.compression_ratio={RATIO - 1.0}",),
    "warm": ("air.temperature=308.15 K",),
    "low": ("air.pressure=91.1925 kPa",),
}

Task = tuple[str, str, float]


def tasks(fast: bool) -> list[Task]:
    """Part of the check, what is changed, and its value."""
    states: list[Task] = [("state", "", float(k)) for k in range(6)]
    sweeps = [("sweep", name, value) for name, values in SWEEPS.items() for value in values]
    if fast:
        return states + sweeps
    engines = [("engine", name, 0.0) for name in ENGINE]
    return states + sweeps + engines + [("octane", "", value) for value in OCTANES]


def work(task: Task) -> float | tuple[float, float]:
    """Integral over time by delay; octane needed; or spark limit [deg] and torque [N m]."""
    part, name, value = task
    if part == "state":
        return _constant_state(int(value))
    if part == "sweep":
        return _needed_by_cylinder(name, value)
    if part == "engine":
        return _engine("schedule", ENGINE[name], 91.0)[0]
    _, spark, torque = _engine("knock limited", (), value)
    return spark, torque


def _constant_state(k: int) -> float:
    """Integral of a cylinder that hardly moves for two milliseconds, times delay over time."""
    columns = read_folder("knock").data()
    octane, p, t, delay = (float(columns[name][k]) for name in ("octane", "p", "t", "delay"))
    gas = perfect_gas()
    gas[G_OCTANE] = octane
    # A tenth of a degree to either side of the bottom dead centre, in two milliseconds.
    par = engine(ivc=-180.1 * DEG, evo=-179.9 * DEG, spark=NEVER)
    row, _ = marched(filled(par, gas, p=p * ATMOSPHERE, t=t), par, gas, 0.2 * DEG / 2e-3, 20)
    return float(row[at.C_KNOCK]) * delay / 2.0


def _needed_by_cylinder(name: str, value: float) -> float:
    """Octane at which one cylinder would just knock; its burn stays where it is."""
    given = {"compression": 10.0, "temperature": 360.0, "pressure": 1.0, "speed": 2500.0}
    given[name] = value
    gas = gas_array(tables("gasoline 91", 0.9)).copy()
    par = engine(compression=given["compression"], heat=1.0)
    set_burn(par, -20.0 * DEG, 55.0 * DEG)
    start = filled(par, gas, p=1e5 * given["pressure"], t=given["temperature"], **charge(gas, 0.06))
    row, _ = marched(start, par, gas, omega(given["speed"]), n_step=500)
    return float(gas[G_OCTANE] * row[at.C_KNOCK] ** (1.0 / EXPONENT))


def _engine(mode: str, changes: tuple[str, ...], octane: float) -> tuple[float, float, float]:
    """Octane needed, spark [deg before top dead centre] and torque of the engine [N m]."""
    own = (
        f"block.compression_ratio={RATIO}",
        f"spark.mode={mode}",
        f"spark.advance={SPARK}",
        f"fuel.octane_research={octane + 5.0}",
        f"fuel.octane_motor={octane - 5.0}",
    )
    case = load(CASE, (*own, *changes))
    record = simulate(case, RPM)
    if not record.converged:
        raise CycleError(f"{mode} {changes} {octane}: {record.status}")
    result = summarise(case, tables_of(case, RPM), record)
    return octane - result.octane_margin, math.degrees(result.spark), result.torque


def _steps(found: Found, name: str) -> tuple[list[str], Samples]:
    values = SWEEPS[name]
    needed = np.array([found["sweep", name, value] for value in values])
    sign = -1.0 if name == "speed" else 1.0
    return [f"{b:g}" for b in values[1:]], sign * np.diff(needed)


def rows(folder: Folder, found: Found) -> list[Row]:
    """Closed form, directions, sizes."""
    columns = folder.data()
    places = [
        f"{o:g} octane, {p:g} atm, {t:g} K" for o, p, t, _ in zip(*columns.values(), strict=True)
    ]
    ratios = [found["state", "", float(k)] for k in range(6)]
    answer = [folder.points("delay", places, ratios, [1.0] * 6)]
    answer += [folder.points(name, *_steps(found, name)) for name in SWEEPS]
    if ("octane", "", OCTANES[0]) not in found:
        return answer
    spark, torque = np.array([found["octane", "", value] for value in OCTANES]).T
    names = [f"{b:g} octane" for b in OCTANES[1:]]
    answer.insert(1, folder.points("octane", names, np.diff(spark)))
    gains = 100.0 * np.diff(torque) / torque[:-1]
    answer.insert(2, folder.points("octane_torque", names, gains))
    needed = {name: found["engine", name, 0.0] for name in ENGINE}
    per_octane = (spark[-1] - spark[0]) / (OCTANES[-1] - OCTANES[0])
    return [
        *answer,
        folder.row("per_ratio", needed["base"] - needed["ratio"]),
        folder.row("per_ten_kelvin", needed["warm"] - needed["base"]),
        folder.row("per_barometer", needed["base"] - needed["low"]),
        folder.row("per_octane", float(per_octane)),
    ]


def figure(folder: Folder, found: Found) -> Figure:
    """Octane needed against each condition, and the knock limit against the octane."""
    drawn, axes = panels(2, 3, title=folder.title, height=2.9, width=10.0)
    for ax, (name, values) in zip(axes, SWEEPS.items(), strict=False):
        ax.plot(values, [found["sweep", name, v] for v in values], "o-", color=BLUE, ms=4, lw=1.2)
        label(ax, AXES[name], "octane needed", "one cylinder")
    spark, torque = np.array([found["octane", "", value] for value in OCTANES]).T
    for ax, values, text in (
        (axes[4], spark, "knock limit [deg BTDC]"),
        (axes[5], torque, "torque [N m]"),
    ):
        ax.plot(OCTANES, values, "o-", color=BLUE, ms=4, lw=1.2)
        label(ax, "octane, (R+M)/2", text, f"V6, ratio {RATIO:g}, {RPM:g} rpm")
    return drawn
