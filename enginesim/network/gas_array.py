"""How do the gas tables lie in the one array that the kernels read?"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from enginesim.gas.tables import AIR, BURNED, FUEL, GasTables
from enginesim.kernels.layout import (
    G_AIR,
    G_BURNED,
    G_DLNP,
    G_DT,
    G_FUEL,
    G_FUEL_AIR,
    G_H_INSIDE,
    G_H_LIQUID,
    G_LNP0,
    G_MU,
    G_NP,
    G_NT,
    G_OCTANE,
    G_PRANDTL,
    G_R,
    G_T0,
    G_TABLES,
)

_N_COEFFICIENT = 10


def gas_array(tables: GasTables) -> NDArray[np.float64]:
    """
    Flat array of gas properties, read-only.

    Parameters
    ----------
    tables : GasTables
        Tables of one fuel at one mixture.

    Returns
    -------
    ndarray, shape (n_gas,)
        Offsets as in :mod:`enginesim.kernels.layout`; fuel and burned gas as differences from
        air. [-]

    Examples
    --------
    >>> from enginesim.gas import tables
    >>> from enginesim.kernels.layout import G_OCTANE, G_R
    >>> gas = gas_array(tables("gasoline 91", 1.0))
    >>> print(f"{gas[G_OCTANE]:.1f} {gas[G_R]:.2f}")
    91.0 287.05
    """
    gas = np.zeros(G_TABLES + 2 * tables.du.size)
    coefficients, r_gas = tables.energy_coefficients, tables.r_gas
    gas[G_AIR : G_AIR + _N_COEFFICIENT] = coefficients[AIR]
    gas[G_FUEL : G_FUEL + _N_COEFFICIENT] = coefficients[FUEL] - coefficients[AIR]
    gas[G_BURNED : G_BURNED + _N_COEFFICIENT] = coefficients[BURNED] - coefficients[AIR]
    gas[G_R : G_R + 3] = r_gas[AIR], r_gas[FUEL] - r_gas[AIR], r_gas[BURNED] - r_gas[AIR]
    gas[G_FUEL_AIR] = tables.fuel_air_ratio
    gas[G_H_LIQUID] = gas[G_H_INSIDE] = tables.liquid_enthalpy
    gas[G_MU] = tables.mu_300
    gas[G_PRANDTL] = tables.prandtl
    gas[G_OCTANE] = 0.5 * (tables.octane_research + tables.octane_motor)
    gas[G_T0], gas[G_DT], gas[G_NT] = tables.t_0, tables.dt_grid, tables.n_t
    gas[G_LNP0], gas[G_DLNP], gas[G_NP] = tables.ln_p_0, tables.dlnp, tables.n_p
    gas[G_TABLES : G_TABLES + tables.du.size] = tables.du.ravel()
    gas[G_TABLES + tables.du.size :] = tables.dr.ravel()
    gas.flags.writeable = False
    return gas
