"""How does a case become a network with its first state?"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from enginesim.base.constants import T_REF
from enginesim.kernels.contents import fill
from enginesim.kernels.cylinder_layout import N_CYLINDER, P_EVO
from enginesim.kernels.layout import G_FUEL_AIR, G_H_INSIDE, G_H_LIQUID, G_TABLES
from enginesim.kernels.phases import volume_at
from enginesim.network.assemble import Network, assemble
from enginesim.network.cylinders import CYCLE, Valves, parameters, phases, valves
from enginesim.network.exhaust import add_exhaust
from enginesim.network.filling import without_ducts
from enginesim.network.gas_array import gas_array
from enginesim.network.intake import Intake, add_intake
from enginesim.network.pieces import Plan
from enginesim.network.rough import roughened
from enginesim.network.state import State, first_state

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from enginesim.case.tree import Case
    from enginesim.gas.tables import GasTables

_LIQUID_HEAT_CAPACITY = 2200.0  # gasoline 2.1-2.2 kJ/(kg K), alcohols 2.4-2.5; from memory
_FIRST_FUEL_AIR = 0.068  # stoichiometric gasoline: the first state's mixture, whatever the fuel


@dataclass(frozen=True, eq=False)
class Prepared:
    """
    What of a case does not depend on the speed.

    Attributes
    ----------
    network : Network
        Ducts, volumes, links, valves and phases; gas and cylinder parameters are still missing.
    intake : Intake
        Where air and plenums lie among the reservoirs.
    valves : Valves
        Effective areas and the closed part of the cycle.
    rough : Network
        The network on a rough mesh, on which a run begins.
    """

    network: Network
    intake: Intake
    valves: Valves
    rough: Network


@dataclass(frozen=True, eq=False)
class Engine:
    """
    A case ready to run at one speed.

    Attributes
    ----------
    network : Network
        The arrays.
    state : State
        First state.
    prepared : Prepared
        What it was made of.
    """

    network: Network
    state: State
    prepared: Prepared


def prepare(case: Case) -> Prepared:
    """
    Do all that building a case's network at any speed has in common.

    Parameters
    ----------
    case : Case
        A loaded case.

    Returns
    -------
    Prepared
        Pieces, meshed, with their valves.

    Raises
    ------
    CaseError
        If a lobe or a flow sheet is impossible.
    NetworkError
        If a duct cannot be meshed.
    """
    plan = Plan(n_cylinders=case.block.n_cylinders)
    rich = case.mixture.lambda_[0]
    intake = add_intake(case, plan, _FIRST_FUEL_AIR / rich)
    add_exhaust(case, plan)
    if case.numerics.fidelity == "filling":
        plan = without_ducts(plan)
    valve = valves(case)
    network = assemble(plan, np.zeros(G_TABLES), phase=phases(case), valve_area=valve.area)
    return Prepared(network, intake, valve, roughened(network))


def build(case: Case, tables: GasTables, rpm: float, prepared: Prepared | None = None) -> Engine:
    """
    Build the network of a case at one speed.

    Parameters
    ----------
    case : Case
        A loaded case.
    tables : GasTables
        Gas of the case at this speed's mixture.
    rpm : float
        Engine speed. [rpm]
    prepared : Prepared, optional
        Result of :func:`prepare` for the same case, if there is one.

    Returns
    -------
    Engine
        Network and first state.

    Raises
    ------
    NetworkError
        If a duct cannot be meshed.
    CaseError
        If a lobe or a flow sheet is impossible.
    """
    ready = prepare(case) if prepared is None else prepared
    valve = ready.valves
    network = replace(
        ready.network,
        gas=_charge(case, tables),
        par=parameters(case, tables, valve.ivc, valve.evo, case.spark.at(rpm)),
    )
    state = first_state(network)
    _fill_cylinders(case, network, state)
    return Engine(network, state, ready)


def build_rough(engine: Engine) -> Engine:
    """
    The same engine on its rough mesh.

    Parameters
    ----------
    engine : Engine
        An engine in its first state.

    Returns
    -------
    Engine
        Its rough network, in the same first state.
    """
    proper = engine.network
    network = replace(engine.prepared.rough, gas=proper.gas, par=proper.par)
    state = first_state(network)
    state.tables[:] = engine.state.tables
    return Engine(network, state, engine.prepared)


def _charge(case: Case, tables: GasTables) -> NDArray[np.float64]:
    """Gas array with the liquid fuel at its own temperature, and what walls give it inside."""
    gas = gas_array(tables).copy()
    gas[G_H_LIQUID] += _LIQUID_HEAT_CAPACITY * (case.fuel.temperature - T_REF)
    from_walls = case.fuel.wall_heat_share * tables.heat_of_vaporisation
    gas[G_H_INSIDE] = gas[G_H_LIQUID] + from_walls
    return gas


def _fill_cylinders(case: Case, network: Network, state: State) -> None:
    """A rough guess of each cylinder's state at engine angle 0; forgotten after two cycles."""
    state.cyl[:] = np.zeros((len(network.par), N_CYLINDER))
    for c, par in enumerate(network.par):
        own = (-network.phase[c] + 0.5 * CYCLE) % CYCLE - 0.5 * CYCLE
        p, t, y_b, y_f = _guess(case, own, par, network.gas)
        fill(state.cyl[c], par, network.gas, p, t, y_b, y_f, own)


def _guess(
    case: Case, own: float, par: NDArray[np.float64], gas: NDArray[np.float64]
) -> tuple[float, float, float, float]:
    """Pressure, temperature, burned and fuel fraction of an ideal cycle at an own angle."""
    air = case.air
    y_f = 0.93 * gas[G_FUEL_AIR] / (1.0 + gas[G_FUEL_AIR])
    if own < -math.pi:
        return 0.95 * air.pressure, air.temperature + 40.0, 0.07, y_f
    if own >= par[P_EVO]:
        return 1.2 * air.pressure, 1100.0, 1.0, 0.0
    squeeze = volume_at(par, -math.pi) / volume_at(par, own)
    if own < 0.0:
        t = (air.temperature + 40.0) * squeeze**0.33
        return 0.95 * air.pressure * squeeze**1.33, t, 0.07, y_f
    top = volume_at(par, -math.pi) / volume_at(par, 0.0)
    expansion = top / squeeze
    return 4.0 * air.pressure * top * expansion**-1.25, 2600.0 * expansion**-0.25, 1.0, 0.0
