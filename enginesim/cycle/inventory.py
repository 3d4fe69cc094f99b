"""How much mass and energy does the engine hold, and where did the rest of a cycle's go?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from enginesim.kernels import cylinder_layout as cl
from enginesim.kernels import layout as at
from enginesim.kernels.gas import fuel_offset
from enginesim.network.assemble import Network
from enginesim.network.state import State

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Stock:
    """
    What an engine holds at one moment.

    Attributes
    ----------
    reservoirs, cylinders : ndarray
        Mass in each volume and each cylinder. [kg]
    ducts : float
        Mass in all ducts, and before the mouths that it was blown back through. [kg]
    energy : float
        Energy of all of it. [J]
    """

    reservoirs: Array
    cylinders: Array
    ducts: float
    energy: float

    @property
    def mass(self) -> float:
        """All mass. [kg]."""
        return float(self.reservoirs.sum() + self.cylinders.sum() + self.ducts)

    def gain(self, before: Stock) -> float:
        """
        Largest gain of mass of any volume, any cylinder or all ducts.

        Parameters
        ----------
        before : Stock
            What the same engine held earlier.

        Returns
        -------
        float
            Its size. [kg]
        """
        gains = [self.reservoirs - before.reservoirs, self.cylinders - before.cylinders]
        return float(np.abs(np.concatenate([*gains, [self.ducts - before.ducts]])).max())


def stock(network: Network, state: State) -> Stock:
    """
    What an engine holds now.

    Parameters
    ----------
    network : Network
        The arrays.
    state : State
        The gas.

    Returns
    -------
    Stock
        Masses and energy.
    """
    rows = state.x.reshape(-1, at.N_ROWS, at.STRIDE)
    inverse = rows[:, at.R_INVERSE_VOLUME]  # 0 for ghosts and padding
    volume = np.divide(1.0, inverse, out=np.zeros_like(inverse), where=inverse > 0.0)
    ducts = float(np.vdot(rows[:, at.R_RHO], volume))
    held = rows[:, at.R_ENE] + fuel_offset(network.gas) * rows[:, at.R_FUEL]
    energy = float(np.vdot(held, volume))
    cylinders = state.cyl[:, [cl.C_AIR, cl.C_FUEL, cl.C_BURNED]].sum(axis=1)
    is_volume = state.res[:, at.V_VOLUME] > 0.0
    ducts += float(state.link[:, at.LF_BACK_MASS].sum())
    energy += float(state.link[:, at.LF_BACK_ENERGY].sum())
    energy += float(state.cyl[:, cl.C_ENERGY].sum() + state.res[is_volume, at.V_ENERGY].sum())
    return Stock(state.res[:, at.V_MASS].copy(), cylinders, ducts, energy)


def _cells(network: Network, state: State) -> list[tuple[slice, Array]]:
    blocks = state.x.reshape(-1, at.N_ROWS, at.STRIDE)
    return [(slice(first, first + n), blocks[group]) for group, first, n in network.ducts.tolist()]


def reset_sums(network: Network, state: State) -> None:
    """
    Begin a cycle's book-keeping.

    Parameters
    ----------
    network : Network
        The arrays.
    state : State
        Its sums are set to zero.
    """
    for cells, rows in _cells(network, state):
        rows[at.R_HEAT_SUM, cells] = 0.0
    state.res[:, at.V_GAIN_MASS : at.V_GAIN_HEAT + 1] = 0.0
    state.link[:, [at.LF_GAIN_FUEL, at.LF_GAIN_AIR]] = 0.0
    state.exchange[:, at.X_SUM_AIR : at.X_SUM_OUT_FUEL + 1] = 0.0
    state.cyl[:, cl.C_WORK : cl.N_CYLINDER] = 0.0


def evaporation_heat(network: Network, state: State) -> Array:
    """
    Heat that the walls of each cylinder gave to fuel evaporating in it.

    Parameters
    ----------
    network : Network
        The arrays.
    state : State
        With the sums of the cycle.

    Returns
    -------
    ndarray, shape (n_cylinder,)
        Heat of the cycle. [J]
    """
    from_walls = network.gas[at.G_H_INSIDE] - network.gas[at.G_H_LIQUID]
    heat: Array = from_walls * state.exchange[:, at.X_SUM_INSIDE]
    return heat


@dataclass(frozen=True)
class Balance:
    """
    A cycle's book-keeping.

    Attributes
    ----------
    air : float
        Air through the intake valves, net. [kg]
    fuel : float
        Fuel delivered. [kg]
    fuel_heat : float
        Its heating value. [J]
    mass_gap : float
        What the mass book-keeping misses. [kg]
    energy_gap : float
        What the energy book-keeping misses. [J]
    imbalance : float
        Largest gain of mass of any volume, any cylinder or all ducts, over the air. [-]
    """

    air: float
    fuel: float
    fuel_heat: float
    mass_gap: float
    energy_gap: float
    imbalance: float


def balance(
    network: Network, state: State, before: Stock, after: Stock, heating_value: float
) -> Balance:
    """
    Close the books of the cycle between two stocks.

    Parameters
    ----------
    network : Network
        The arrays.
    state : State
        With the sums of the cycle.
    before, after : Stock
        At its ends.
    heating_value : float
        Of the fuel. [J/kg]

    Returns
    -------
    Balance
        Air, fuel and gaps. The air is what passed the intake valves, net.
    """
    ambient = state.res[:, at.V_VOLUME] == 0.0
    supply = float(state.link[:, at.LF_GAIN_FUEL].sum() + state.exchange[:, at.X_SUM_SUPPLY].sum())
    leak = state.cyl[:, [cl.C_LEAK_AIR, cl.C_LEAK_FUEL, cl.C_LEAK_BURNED]].sum()
    gained = -state.res[ambient, at.V_GAIN_MASS].sum() + supply - leak
    heat = sum(
        float(np.sum(rows[at.R_HEAT_SUM, cells] / rows[at.R_INVERSE_VOLUME, cells]))
        for cells, rows in _cells(network, state)
    )
    heat += float(state.res[:, at.V_GAIN_HEAT].sum())
    energy = (
        -state.res[ambient, at.V_GAIN_ENERGY].sum()
        + supply * network.gas[at.G_H_LIQUID]
        + evaporation_heat(network, state).sum()
        + heat
        - state.cyl[:, [cl.C_HEAT, cl.C_WORK, cl.C_LEAK_ENERGY]].sum()
    )
    air = float(state.exchange[:, at.X_SUM_AIR].sum())
    scale = max(abs(air), 1e-12)
    return Balance(
        air=air,
        fuel=supply,
        fuel_heat=supply * heating_value,
        mass_gap=float(after.mass - before.mass - gained),
        energy_gap=float(after.energy - before.energy - energy),
        imbalance=after.gain(before) / scale,
    )
