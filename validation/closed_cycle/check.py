"""Charges of three fuels against Cantera, motored, burning, and expanding at finite rates."""

from __future__ import annotations

from typing import NamedTuple

import cantera as ct
import numpy as np
from matplotlib.figure import Figure
from scipy.integrate import simpson

from enginesim.formulas.crank import volume_slope
from enginesim.formulas.wiebe import burned_fraction
from enginesim.gas import tables
from enginesim.kernels import cylinder_layout as at
from enginesim.kernels.closed import TRACE_ANGLE, TRACE_P, TRACE_T, TRACE_T_UNBURNED
from enginesim.network.gas_array import gas_array
from tests.cylinders import DEG, NEVER, charge, engine, filled, marched, omega
from tests.two_zones import Charge, TwoZones, burned_in_two_zones, in_reactor, volume_at
from validation.drawing import COLOURS, GREY, MARKS, label, legend, panels
from validation.folder import Folder, Found, Samples
from validation.judgement import Row

FUELS = ("iso-octane", "gasoline 91", "ethanol")
COMPRESSIONS = (8.0, 9.25, 10.5, 11.75, 13.0)
MIXTURES = (0.8, 0.9, 1.0, 1.1, 1.2)
KINETIC = ((8.0, 1.0), (10.5, 0.8), (10.5, 1.0), (10.5, 1.2), (13.0, 1.0))
SHOWN = ("burn", "iso-octane", 10.5, 1.0)
SPEED = omega(3000.0)

Task = tuple[str, str, float, float]


class Pair(NamedTuple):
    """What the program and Cantera say of each number, by name; and the burn's pressure trace."""

    ours: dict[str, float]
    theirs: dict[str, float]
    trace: Samples
    expected: Samples


def tasks(fast: bool) -> list[Task]:
    """Kind of comparison, fuel, compression ratio and mixture."""
    if fast:
        return [("burn", fuel, 10.5, 1.0) for fuel in FUELS] + [("rates", FUELS[0], 10.5, 1.0)]
    burns = [("burn", f, r, m) for f in FUELS for r in COMPRESSIONS for m in MIXTURES]
    return burns + [("rates", f, r, m) for f in FUELS for r, m in KINETIC]


def work(task: Task) -> Pair:
    """Both answers for one charge."""
    kind, fuel, compression, lambda_ = task
    state = Charge(fuel, lambda_)
    gas = gas_array(tables(fuel, lambda_))
    fill = charge(gas, state.residual)
    par = engine(compression=compression, spark=-25.0 * DEG)
    start = filled(par, gas, p=state.p, t=state.t, **fill)
    row, trace = marched(start, par, gas, SPEED, n_step=250)
    begin, length = float(row[at.C_BURN_START]), float(row[at.C_BURN_LENGTH])
    if kind == "rates":
        return _expansion(state, par, trace, begin + length, float(row[at.C_WORK]))

    expected = burned_in_two_zones(par, state, begin, length)
    cold = engine(compression=compression, spark=NEVER)
    _, motored = marched(filled(cold, gas, p=state.p, t=state.t, **fill), cold, gas, SPEED, 250)
    top = motored[np.abs(motored[:, TRACE_ANGLE]).argmin()]
    ((p_top, t_top, _, _),) = in_reactor(
        state.solution(), cold, float(cold[at.P_IVC]), [0.0], SPEED, reacts=False
    )
    # Where 95 % are burned: exp(-a z^(m+1)) = 0.05.
    late = begin + length * (np.log(20.0) / par[at.P_WIEBE_A]) ** (1.0 / (par[at.P_WIEBE_M] + 1.0))
    ours = {
        "motored_pressure": float(top[TRACE_P]),
        "motored_temperature": float(top[TRACE_T]),
        "peak": float(row[at.C_PEAK]),
        "work": float(row[at.C_WORK]),
        "unburned": float(np.interp(late, trace[:, TRACE_ANGLE], trace[:, TRACE_T_UNBURNED])),
        "opening_temperature": float(trace[-1, TRACE_T]),
    }
    theirs = {
        "motored_pressure": p_top,
        "motored_temperature": t_top,
        "peak": float(expected[:, 1].max()),
        "work": float(expected[-1, 4]),
        "unburned": float(np.interp(late, expected[:, 0], expected[:, 2])),
        "opening_temperature": _mixed_temperature(par, state, expected),
    }
    return Pair(ours, theirs, trace[:, [TRACE_ANGLE, TRACE_P]], expected[:, :2])


def _mixed_temperature(par: np.ndarray, state: Charge, expected: Samples) -> float:
    """Temperature that all gas would have in one zone, at the pressure of the last row."""
    zones = TwoZones(par, state)
    theta, p, t_unburned, t_burned, _ = expected[-1]
    x = burned_fraction(1.0, float(par[at.P_WIEBE_A]), float(par[at.P_WIEBE_M]))
    zones.unburned.TP = t_unburned, p
    zones.burned.TPY = t_burned, p, zones.elements
    zones.burned.equilibrate("TP", rtol=1e-10)
    per_kilomole = x / zones.burned.mean_molecular_weight
    per_kilomole += (1.0 - x) / zones.unburned.mean_molecular_weight
    return float(p * volume_at(par, theta) / (zones.mass * ct.gas_constant * per_kilomole))


def _expansion(state: Charge, par: np.ndarray, trace: Samples, end: float, total: float) -> Pair:
    """From the end of the burn on: held composition against reactions at their own rates."""
    k = int(np.flatnonzero(trace[:, TRACE_ANGLE] > end)[0])
    theta, p, t = (float(trace[k, c]) for c in (TRACE_ANGLE, TRACE_P, TRACE_T))
    zones = TwoZones(par, state)
    zones.burned.TPY = t, p, zones.elements
    gas = ct.Solution("gri30.yaml")
    gas.TPX = t, p, zones.burned.mole_fraction_dict()
    gas.equilibrate("TP", rtol=1e-10)
    opening = float(par[at.P_EVO])
    ((_, t_end, _, done),) = in_reactor(
        gas, par, theta, [opening], SPEED, reacts=True, tolerance=1e-8
    )
    rest = trace[k:]
    # Simpson on the samples of a degree: their own error is a millionth here.
    slopes = [volume_slope(x, *(float(par[i]) for i in range(4))) for x in rest[:, TRACE_ANGLE]]
    part = float(simpson(rest[:, TRACE_P] * slopes, x=rest[:, TRACE_ANGLE]))
    # The reactor's gas is as dense as Cantera makes it: work per mass of charge.
    scale = zones.mass / (gas.density * volume_at(par, opening))
    ours = {"kinetic_temperature": float(trace[-1, TRACE_T]), "kinetic_work": total}
    theirs = {"kinetic_temperature": float(t_end), "kinetic_work": total + done * scale - part}
    return Pair(ours, theirs, trace[:, [TRACE_ANGLE, TRACE_P]], np.empty((0, 2)))


def _place(task: Task) -> str:
    _, fuel, compression, lambda_ = task
    return f"{fuel}, r {compression:g}, lambda {lambda_:g}"


def rows(folder: Folder, found: Found) -> list[Row]:
    """One row for each number, over all charges."""
    answer = []
    for measure in folder.limits:
        pairs = {task: pair for task, pair in found.items() if measure in pair.ours}
        answer.append(
            folder.points(
                measure,
                [_place(task) for task in pairs],
                [pair.ours[measure] for pair in pairs.values()],
                [pair.theirs[measure] for pair in pairs.values()],
            )
        )
    return answer


def figure(folder: Folder, found: Found) -> Figure:
    """One trace, and the deviations of all charges."""
    drawn, axes = panels(2, 2, title=folder.title, height=3.4)
    pair = found[SHOWN]
    axes[0].plot(pair.expected[:, 0] / DEG, pair.expected[:, 1] / 1e5, color=GREY, label="Cantera")
    axes[0].plot(pair.trace[::3, 0] / DEG, pair.trace[::3, 1] / 1e5, "o", ms=2.5, label="enginesim")
    label(axes[0], "crank angle [deg]", "pressure [bar]", "iso-octane, r 10.5, lambda 1")
    axes[0].set_xlim(-60, 90)
    legend(axes[0])

    def deviations(k: int, measure: str, column: int, title: str, x: str, kind: str) -> None:
        for i, fuel in enumerate(FUELS):
            chosen = [t for t in found if t[0] == kind and t[1] == fuel]
            gaps = [100.0 * (found[t].ours[measure] / found[t].theirs[measure] - 1) for t in chosen]
            axes[k].plot(
                [t[column] for t in chosen], gaps, MARKS[i], color=COLOURS[i], ms=4, label=fuel
            )
        axes[k].axhline(0.0, color=GREY, lw=0.8)
        label(axes[k], x, "deviation [%]", title)
        legend(axes[k])

    deviations(1, "work", 2, "work, all mixtures", "compression ratio", "burn")
    deviations(2, "peak", 3, "peak pressure, all compression ratios", "lambda", "burn")
    deviations(3, "kinetic_temperature", 3, "temperature at opening, rates", "lambda", "rates")
    return drawn
