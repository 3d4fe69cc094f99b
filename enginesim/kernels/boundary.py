"""How are ducts continued beyond their ends, and how do volumes and cylinders trade gas?"""

from __future__ import annotations

import numpy as np

from enginesim.base.formula import formula
from enginesim.base.jit import kernel
from enginesim.kernels.arrays import Index, Table, Vector
from enginesim.kernels.layout import (
    BLOCK,
    D_COUNT,
    D_FIRST,
    D_GROUP,
    G_FUEL_AIR,
    G_H_INSIDE,
    X_AIR,
    X_BURNED,
    X_ENERGY,
    X_EXHAUST,
    X_FUEL,
    X_INTAKE,
    X_SUM_AIR,
    X_SUM_FUEL,
    X_SUM_INSIDE,
    X_SUM_OUT,
    X_SUM_OUT_AIR,
    X_SUM_OUT_ENERGY,
    X_SUM_OUT_FUEL,
    X_SUM_SUPPLY,
)
from enginesim.kernels.offsets import (
    ROW_A,
    ROW_BURNED,
    ROW_E,
    ROW_ENE,
    ROW_FUEL,
    ROW_MEAN_AREA,
    ROW_MOM,
    ROW_P,
    ROW_RHO,
    ROW_T,
    ROW_U,
    ROW_YB,
    ROW_YF,
)


@kernel
def extend(x: Vector, ducts: Index, first: int, last: int) -> None:
    """
    Extend every duct by a ghost cell at each end, along the line through its last two cells.

    Fractions are extended as they are in the last cell: a straight line could leave 0 to 1.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer. [-]
    ducts : ndarray, shape (n_duct, N_DUCT)
        Where each duct lies. [-]
    first, last : int
        Range of ducts, `last` excluded. [-]

    Notes
    -----
    The ghost only serves the slopes of the end cells and has their area; the straight line of its
    velocity is that of the volume flow. Its density and pressure stay above a tenth of theirs, and
    what it conserves is the end cell's gas at rest, so that the passes over all cells find a valid
    state there. Source: linear extrapolation.
    """
    one = np.uint64(1)
    for d in range(np.uint64(first), np.uint64(last)):
        cell = np.uint64(ducts[d, D_GROUP] * BLOCK + ducts[d, D_FIRST])
        n = np.uint64(ducts[d, D_COUNT])
        ghost = cell - one
        inner = cell + one if n > one else cell
        for _ in range(2):
            rho = x[cell + ROW_RHO]
            p = x[cell + ROW_P]
            e = x[cell + ROW_E]
            y_b = x[cell + ROW_YB]
            y_f = x[cell + ROW_YF]
            shrink = x[inner + ROW_MEAN_AREA] / x[cell + ROW_MEAN_AREA]
            beyond = max(2.0 * rho - x[inner + ROW_RHO], 0.1 * rho)
            x[ghost + ROW_RHO] = beyond
            x[ghost + ROW_P] = max(2.0 * p - x[inner + ROW_P], 0.1 * p)
            x[ghost + ROW_U] = 2.0 * x[cell + ROW_U] - x[inner + ROW_U] * shrink
            x[ghost + ROW_E] = 2.0 * e - x[inner + ROW_E]
            x[ghost + ROW_YB] = y_b
            x[ghost + ROW_YF] = y_f
            x[ghost + ROW_MOM] = 0.0
            x[ghost + ROW_ENE] = beyond * e
            x[ghost + ROW_BURNED] = beyond * y_b
            x[ghost + ROW_FUEL] = beyond * y_f
            x[ghost + ROW_T] = x[cell + ROW_T]
            x[ghost + ROW_A] = x[cell + ROW_A]
            cell += n - one
            ghost = cell + one
            inner = cell - one if n > one else cell


@formula
def into_cylinder(
    exchange: Table,
    c: int,
    side: int,
    gas: Vector,
    flow: float,
    y_b: float,
    y_f: float,
    h: float,
    dt: float,
) -> None:
    """
    Book a flow through the valves of one side of a cylinder.

    Parameters
    ----------
    exchange : ndarray, shape (n_cylinder, N_EXCHANGE)
        Exchange table. [-]
    c, side : int
        Cylinder; 0 intake, 1 exhaust. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    flow : float
        Mass flow into the cylinder. [kg/s]
    y_b, y_f : float
        Burned and fuel-vapour mass fractions of the gas that flows. [-]
    h : float
        Its stagnation enthalpy. [J/kg]
    dt : float
        Time step. [s]

    Notes
    -----
    Fuel that the air still lacks for the mixture comes with it as liquid through an intake valve
    and evaporates in the cylinder, where the walls give the stated part of the heat that this
    takes. Source: bookkeeping, equation `evaporation` of docs/theory/boundaries.md.
    """
    mass = flow * dt
    burned = mass * y_b
    fuel = mass * y_f
    air = mass - burned - fuel
    enthalpy = mass * h
    exchange[c, X_AIR] += air
    exchange[c, X_BURNED] += burned
    if side == 0:
        liquid = 0.0
        if flow > 0.0:
            liquid = max(gas[G_FUEL_AIR] * air - fuel, 0.0)
        exchange[c, X_SUM_SUPPLY] += liquid
        fuel += liquid
        exchange[c, X_SUM_INSIDE] += liquid
        enthalpy += liquid * gas[G_H_INSIDE]
        exchange[c, X_INTAKE] += flow
        exchange[c, X_SUM_AIR] += air
        exchange[c, X_SUM_FUEL] += fuel
    else:
        exchange[c, X_EXHAUST] -= flow
        exchange[c, X_SUM_OUT] -= mass
        exchange[c, X_SUM_OUT_ENERGY] -= enthalpy
        exchange[c, X_SUM_OUT_AIR] -= air
        exchange[c, X_SUM_OUT_FUEL] -= fuel
    exchange[c, X_FUEL] += fuel
    exchange[c, X_ENERGY] += enthalpy
