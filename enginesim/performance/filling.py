"""How did the charge come into the cylinders: pressures and temperatures on its way?

Source: relations of docs/theory/attribution.md, equation `filling-chain`; that the pressure at the
valve shortly before it closes decides is Y. Ohata, Y. Ishida, SAE 820407, 1982 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import nan, pi
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from enginesim.cycle.record import CycleRecord, Samples

#: Ratio of specific heats by which states of the charge are brought to one pressure or volume.
KAPPA: Final = 1.4
#: Part of the mass, the last to flow in, over which the wave at closing is averaged.
LAST: Final = 0.2


@dataclass(frozen=True, slots=True)
class Filling:
    """
    How the cylinders filled; means over the cylinders.

    Attributes
    ----------
    volume_full : float
        Greatest volume of a cylinder. [m3]
    mass_filled : float
        Mass in the cylinder when the inflow ends. [kg]
    r_filled : float
        Its gas constant. [J/(kg K)]
    p_filled : float
        Its pressure, expanded to the greatest volume. [Pa]
    backflow : float
        Part of that mass which is pushed back before the valves close. [-]
    p_port : float
        Total pressure ahead of the intake valves, mean of what flows in. [Pa]
    p_port_closing : float
        The same at the end of the inflow: mean of the last `LAST` to flow in. [Pa]
    t_port : float
        Total temperature ahead of the intake valves, mean of what flows in. [K]
    t_mixed : float
        Temperature of the inflow mixed with the gas that was in the cylinder before. [K]
    t_warmed : float
        The same with the heat of the walls, less that of the fuel which evaporates inside. [K]
    """

    volume_full: float
    mass_filled: float
    r_filled: float
    p_filled: float
    backflow: float
    p_port: float
    p_port_closing: float
    t_port: float
    t_mixed: float
    t_warmed: float


def filling(record: CycleRecord, p_supply: float, r_gas: float, latent: Samples) -> Filling:
    """
    How the cylinders of a record filled.

    Parameters
    ----------
    record : CycleRecord
        The last cycle.
    p_supply : float
        Mean pressure ahead of the runners, to which temperatures are brought. [Pa]
    r_gas : float
        Gas constant of air. [J/(kg K)]
    latent : ndarray, shape (n_cylinder,)
        Heat that fuel evaporating in each cylinder takes from the gas, per cycle. [J]

    Returns
    -------
    Filling
        States of the port, and what follows from them, are not numbers where the engine has no
        ducts, or nothing flowed in.

    Notes
    -----
    The inflow ends where the mass in the cylinder is greatest before it fires. Pressure and
    volume there are brought to the greatest volume by p V^kappa = const, which makes a late and
    an early end comparable. Source: module.
    """
    found = [
        _cylinder(record, i, p_supply, r_gas, float(latent[i])) for i in range(len(record.phase))
    ]
    return Filling(*(float(value) for value in np.mean(np.array(found), axis=0)))


def _cylinder(
    record: CycleRecord, i: int, p_supply: float, r_gas: float, latent: float
) -> tuple[float, ...]:
    angle, mass = record.of_cylinder("mass", i)
    volume, pressure, temperature = (
        record.of_cylinder(name, i)[1] for name in ("volume", "pressure", "temperature")
    )
    before = angle <= 0.0
    # The mass stays the same once the valves are shut: the first sample that has all of it.
    most = float(np.max(mass[before]))
    end = int(np.argmax(mass[before] >= most * (1.0 - 1e-6)))
    full = float(np.max(volume))
    state = (
        full,
        most,
        float(pressure[end] * volume[end] / (most * temperature[end])),
        float(pressure[end] * (volume[end] / full) ** KAPPA),
        1.0 - float(record.trapped_mass[i]) / most,
    )
    if record.port_pressure is None:
        return (*state, nan, nan, nan, nan, nan)
    p_total, t_total = _total(record, i, r_gas)
    inflow = np.maximum(record.of_cylinder("intake_flow", i)[1], 0.0)
    late = (angle <= angle[end]) & (mass >= most * (1.0 - LAST))
    t_port = _mean(t_total, inflow)
    least = int(np.argmin(mass[:-1]))
    share = float(mass[least]) / most
    t_left = float(temperature[least] * (p_supply / pressure[least]) ** (1.0 - 1.0 / KAPPA))
    t_mixed = (1.0 - share) * t_port + share * t_left
    heat = -_heat(record, i, -2.0 * pi, float(angle[end])) - latent
    cp = KAPPA / (KAPPA - 1.0) * r_gas
    return (
        *state,
        _mean(p_total, inflow),
        _mean(p_total, np.where(late, inflow, 0.0)),
        t_port,
        t_mixed,
        t_mixed + heat / (most * cp),
    )


def _mean(values: Samples, weights: Samples) -> float:
    total = float(np.sum(weights[:-1]))
    return float(np.sum((weights * values)[:-1])) / total if total > 0.0 else nan


def _total(record: CycleRecord, i: int, r_gas: float) -> tuple[Samples, Samples]:
    """Total pressure [Pa] and temperature [K] next to the valve, over the cylinder's own angle."""
    p, t, u = (
        record.of_cylinder(f"port_{name}", i)[1] for name in ("pressure", "temperature", "velocity")
    )
    rise = 1.0 + 0.5 * (KAPPA - 1.0) * u**2 / (KAPPA * r_gas * t)
    return p * rise ** (KAPPA / (KAPPA - 1.0)), t * rise


def _heat(record: CycleRecord, i: int, start: float, end: float) -> float:
    """Heat from one cylinder's gas to the walls between two of its own angles [J]."""
    angle, rate = record.of_cylinder("heat_rate", i)
    inside = (angle >= start - 1e-9) & (angle <= end + 1e-9)
    return float(np.trapezoid(rate[inside], angle[inside])) * 30.0 / (record.rpm * pi)


def closed_wall_heat(record: CycleRecord) -> float:
    """
    Heat to the walls during compression and expansion, all cylinders.

    Parameters
    ----------
    record : CycleRecord
        The last cycle.

    Returns
    -------
    float
        Heat within half a turn of the firing top dead centre. [J]

    Notes
    -----
    Trapezoidal rule on the record's samples. Source: definition.
    """
    return sum(_heat(record, i, -pi, pi) for i in range(len(record.phase)))
