"""
What do the tables say of a mixture at a state? Plain numpy; the kernels do the same, faster.

Sources: ideal-gas mixing of :class:`enginesim.gas.GasTables`, by definition.
"""

from __future__ import annotations

import numpy as np
from numpy.polynomial import polynomial
from numpy.typing import ArrayLike, NDArray

from enginesim.gas.tables import BURNED, GasTables

Floats = NDArray[np.float64]


def energy(tables: GasTables, t: ArrayLike, y: ArrayLike, p: ArrayLike | None = None) -> Floats:
    """
    Specific internal energy of a mixture, on the datum of the tables.

    Parameters
    ----------
    tables : GasTables
        The gases.
    t : array_like, shape (...)
        Temperature. [K]
    y : array_like, shape (3,)
        Mass fractions of air, fuel vapour and burned gas. [-]
    p : array_like, shape (...), optional
        Pressure, for burned gas in equilibrium; without it the gas is frozen. [Pa]

    Returns
    -------
    ndarray, shape (...)
        Specific internal energy. [J/kg]
    """
    theta = np.asarray(t, dtype=np.float64) / 1e3
    mixed = np.asarray(y, dtype=np.float64) @ tables.energy_coefficients
    u = polynomial.polyval(theta, mixed[:6]) + _excess(theta, mixed[6:])
    if p is not None:
        u = u + np.asarray(y)[BURNED] * dissociation(tables, t, p)[0]
    return np.asarray(u)


def heat_capacity(tables: GasTables, t: ArrayLike, y: ArrayLike) -> Floats:
    """
    Heat capacity at constant volume of a frozen mixture.

    Parameters
    ----------
    tables : GasTables
        The gases.
    t : array_like, shape (...)
        Temperature. [K]
    y : array_like, shape (3,)
        Mass fractions of air, fuel vapour and burned gas. [-]

    Returns
    -------
    ndarray, shape (...)
        Specific heat capacity at constant volume. [J/(kg K)]
    """
    theta = np.asarray(t, dtype=np.float64) / 1e3
    mixed = np.asarray(y, dtype=np.float64) @ tables.energy_coefficients
    below = polynomial.polyval(theta, polynomial.polyder(mixed[:6]))
    above = polynomial.polyval(
        np.maximum(theta - 1.0, 0.0), polynomial.polyder([0.0, 0.0, *mixed[6:]])
    )
    return np.asarray((below + above) / 1e3)


def gas_constant(
    tables: GasTables, y: ArrayLike, t: ArrayLike | None = None, p: ArrayLike | None = None
) -> Floats:
    """
    Gas constant of a mixture.

    Parameters
    ----------
    tables : GasTables
        The gases.
    y : array_like, shape (3,)
        Mass fractions of air, fuel vapour and burned gas. [-]
    t : array_like, shape (...), optional
        Temperature, for burned gas in equilibrium; without state the gas is frozen. [K]
    p : array_like, shape (...), optional
        Pressure. [Pa]

    Returns
    -------
    ndarray, shape (...)
        Specific gas constant. [J/(kg K)]
    """
    r_gas = np.asarray(y, dtype=np.float64) @ tables.r_gas
    if t is not None and p is not None:
        r_gas = r_gas + np.asarray(y)[BURNED] * dissociation(tables, t, p)[1]
    return np.asarray(r_gas)


def dissociation(tables: GasTables, t: ArrayLike, p: ArrayLike) -> tuple[Floats, Floats]:
    """
    What equilibrium adds to frozen burned gas: bilinear in temperature and log pressure.

    Parameters
    ----------
    tables : GasTables
        The gases.
    t : array_like, shape (...)
        Temperature; outside the table the nearest edge counts. [K]
    p : array_like, shape (...)
        Pressure; outside the table the nearest edge counts. [Pa]

    Returns
    -------
    tuple of ndarray, shape (...)
        Additions to specific internal energy [J/kg] and to the gas constant [J/(kg K)].
    """
    x = np.clip((np.asarray(t) - tables.t_0) / tables.dt_grid, 0.0, tables.n_t - 1.0)
    z = np.clip((np.log(p) - tables.ln_p_0) / tables.dlnp, 0.0, tables.n_p - 1.0)
    i = np.minimum(x.astype(np.int64), tables.n_t - 2)
    j = np.minimum(z.astype(np.int64), tables.n_p - 2)
    fx, fz = x - i, z - j

    def between(table: Floats) -> Floats:
        low = (1.0 - fz) * table[i, j] + fz * table[i, j + 1]
        high = (1.0 - fz) * table[i + 1, j] + fz * table[i + 1, j + 1]
        return np.asarray((1.0 - fx) * low + fx * high)

    return between(tables.du), between(tables.dr)


def _excess(theta: Floats, terms: Floats) -> Floats:
    return np.asarray(polynomial.polyval(np.maximum(theta - 1.0, 0.0), [0.0, 0.0, *terms]))
