"""Which row of parameters does each cylinder of a case have, and which valve areas?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from enginesim.formulas.areas import circle
from enginesim.formulas.crank import full_travel, swept_volume
from enginesim.kernels import combustion
from enginesim.kernels import cylinder_layout as at
from enginesim.network.flow_area import area_table
from enginesim.valvetrain.lift import LiftCurves, lift_curves

if TYPE_CHECKING:
    from enginesim.case.tree import Case
    from enginesim.gas.tables import GasTables

Array = NDArray[np.float64]
CYCLE = 4.0 * math.pi

#: A valve that is lifted less than this is shut: less than seats are round, and far more than the
#: rounding of a lobe's ramp, which must not say when a valve opens. [m]
SHUT = 1e-6

_HEAT_MODELS = {
    "woschni": at.HEAT_WOSCHNI,
    "annand": at.HEAT_ANNAND,
    "hohenberg": at.HEAT_HOHENBERG,
}

#: Peak burning velocity [m/s], its curvature [m/s], equivalence ratio of the peak, exponents of
#: temperature and pressure with their slopes in the equivalence ratio. Source: D. B. Rhodes,
#: J. C. Keck, SAE 850047, 1985; M. Metghalchi, J. C. Keck, Combustion and Flame 48, 1982 (from
#: memory). Gasoline's exponents, 2.4 - 0.271 phi^3.51 and -0.357 + 0.14 phi^2.77, as straight lines
#: through their values at phi = 1.
_FLAMES = {
    "gasoline": (0.305, -0.549, 1.21, 2.129, -0.951, -0.217, 0.388),
    "iso-octane": (0.263, -0.847, 1.13, 2.18, -0.8, -0.16, 0.22),
    "methanol": (0.369, -1.405, 1.11, 2.18, -0.8, -0.16, 0.22),
    "propane": (0.342, -1.387, 1.08, 2.18, -0.8, -0.16, 0.22),
}
#: Fuels without constants of their own: alcohols burn like methanol, blends like their larger part.
_FLAME_OF = {"ethanol": "methanol", "e85": "methanol", "e10": "gasoline"}

#: Charge at which the burn angles of a case hold: mixture of best power, a hot residual and the
#: state at the spark of a wide-open engine (estimate).
_BASE_PHI, _BASE_RESIDUAL, _BASE_P, _BASE_T = 1.1, 0.07, 12e5, 650.0


def clearance_volume(case: Case) -> float:
    """
    Volume of a cylinder at top dead centre.

    Parameters
    ----------
    case : Case
        A loaded case.

    Returns
    -------
    float
        Clearance volume. [m3]
    """
    block = case.block
    travel = full_travel(block.stroke, block.rod_length, block.pin_offset)
    swept = swept_volume(block.bore, travel)
    return swept / (block.compression_ratio - 1.0)


def phases(case: Case) -> Array:
    """
    Engine angles of the cylinders' firing top dead centres.

    Parameters
    ----------
    case : Case
        A loaded case.

    Returns
    -------
    ndarray, shape (n_cylinder,)
        From 0 at cylinder 1. [rad]
    """
    block = case.block
    result = np.zeros(block.n_cylinders)
    angle = 0.0
    for number, interval in zip(block.firing_order, block.firing_intervals, strict=True):
        result[number - 1] = angle
        angle += interval
    return np.asarray((result - result[0]) % CYCLE)


@dataclass(frozen=True, eq=False)
class Valves:
    """
    Effective areas and the closed part of the cycle.

    Attributes
    ----------
    area : ndarray, shape (n_angle, 4)
        Intake forward, intake back, exhaust forward, exhaust back. [m2]
    ivc, evo : float
        Own angles at which the intake last closes (negative) and the exhaust first opens. [rad]
    curves : LiftCurves
        Lifts that the areas belong to.
    """

    area: Array
    ivc: float
    evo: float
    curves: LiftCurves


def _off_its_seat(lift: Array) -> Array:
    return np.where(lift >= SHUT, lift, 0.0)


def valves(case: Case) -> Valves:
    """
    Effective valve areas over a cylinder's own angle.

    Parameters
    ----------
    case : Case
        A loaded case.

    Returns
    -------
    Valves
        Table and closed part.
    """
    curves = lift_curves(case)
    area = np.hstack(
        [
            area_table(case.head.intake, _off_its_seat(curves.intake), "intake"),
            area_table(case.head.exhaust, _off_its_seat(curves.exhaust), "exhaust"),
        ]
    )
    step = CYCLE / (len(area) - 1)
    open_intake = np.flatnonzero(area[:, :2].max(axis=1) > 0.0)
    open_exhaust = np.flatnonzero(area[:, 2:].max(axis=1) > 0.0)
    return Valves(
        np.ascontiguousarray(area),
        ivc=float((open_intake[-1] + 1) * step - CYCLE),
        evo=float((open_exhaust[0] - 1) * step),
        curves=curves,
    )


def flame_constants(fuel: str) -> tuple[float, ...]:
    """
    Constants of the laminar burning velocity of a fuel.

    Parameters
    ----------
    fuel : str
        Name of the fuel. [-]

    Returns
    -------
    tuple of float
        In the order, and with the units, of ``P_FLAME_PEAK`` to ``P_FLAME_P_SLOPE``. [any]
    """
    name = _FLAME_OF.get(fuel, fuel)
    return _FLAMES.get(name, _FLAMES["gasoline"])


def parameters(case: Case, tables: GasTables, ivc: float, evo: float, spark: float) -> Array:
    """
    Parameter rows of all cylinders.

    Parameters
    ----------
    case : Case
        A loaded case.
    tables : GasTables
        Gas of the case at this mixture.
    ivc, evo : float
        Ends of the closed part. [rad]
    spark : float
        Spark before top dead centre. [rad]

    Returns
    -------
    ndarray, shape (n_cylinder, N_PARAMETER)
        Rows for :mod:`enginesim.kernels.cylinder`. [-]
    """
    block, walls, burn = case.block, case.cylinder_walls, case.combustion
    bore_area = circle(block.bore)
    clearance = clearance_volume(case)
    row = np.zeros(at.N_PARAMETER)
    row[at.P_BORE] = block.bore
    row[at.P_STROKE] = block.stroke
    row[at.P_ROD] = block.rod_length
    row[at.P_PIN_OFFSET] = block.pin_offset
    row[at.P_CLEARANCE] = clearance
    row[at.P_AREA_HEAD] = walls.head_area_ratio * bore_area
    row[at.P_AREA_PISTON] = walls.piston_area_ratio * bore_area
    row[at.P_AREA_LINER] = 0.0  # the chamber's side walls are part of the head's area ratio
    row[at.P_T_HEAD] = walls.head_temperature
    row[at.P_T_PISTON] = walls.piston_temperature
    row[at.P_T_LINER] = walls.liner_temperature
    row[at.P_HEAT_MODEL] = _HEAT_MODELS[walls.heat_transfer]
    row[at.P_HEAT_FACTOR] = walls.multiplier
    row[at.P_BLOW_BY_AREA] = walls.blow_by_area
    row[at.P_P_CRANKCASE] = case.air.pressure
    row[at.P_IVC] = ivc
    row[at.P_EVO] = evo
    row[at.P_SPARK] = -spark
    row[at.P_WIEBE_A] = burn.wiebe_a
    row[at.P_WIEBE_M] = burn.wiebe_m
    row[at.P_DELAY] = burn.flame_development
    row[at.P_DURATION] = burn.burn_duration
    row[at.P_OMEGA_BASE] = burn.base_rpm * math.pi / 30.0
    row[at.P_SPEED_EXPONENT] = burn.speed_exponent
    row[at.P_FLAME_EXPONENT] = burn.flame_speed_exponent
    row[at.P_EFFICIENCY] = burn.efficiency
    row[at.P_STOICHIOMETRIC] = 1.0 / tables.afr_stoich
    row[at.P_FLAME_PEAK : at.P_FLAME_P_SLOPE + 1] = flame_constants(case.fuel.name)
    row[at.P_FLAME_BASE] = combustion.flame_speed(row, _BASE_PHI, _BASE_RESIDUAL, _BASE_P, _BASE_T)
    return np.tile(row, (block.n_cylinders, 1))
