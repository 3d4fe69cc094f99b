"""What are energy, gas constant and sound speed of a mixture of air, fuel vapour and burned gas?

A mixture is given by its burned fraction `y_b` and fuel-vapour fraction `y_f`; the rest is air.
The gas array (offsets in :mod:`enginesim.kernels.layout`) holds the air coefficients and the
*differences* fuel minus air and burned minus air, so that mixing costs two multiply-adds each.
"""

from __future__ import annotations

from enginesim.base.formula import formula
from enginesim.kernels.arrays import Vector
from enginesim.kernels.layout import (
    G_AIR,
    G_BURNED,
    G_FUEL,
    G_R,
)


@formula
def polynomial(
    t: float,
    c0: float,
    c1: float,
    c2: float,
    c3: float,
    c4: float,
    c5: float,
    d2: float,
    d3: float,
    d4: float,
    d5: float,
) -> float:
    r"""
    Internal energy from two-range coefficients, exact for NASA-7 fits joined at 1000 K.

    Parameters
    ----------
    t : float
        Temperature. [K]
    c0, c1, c2, c3, c4, c5 : float
        Coefficients of powers of T/1000 K. [J/kg]
    d2, d3, d4, d5 : float
        Coefficients of powers of max(T/1000 K - 1, 0). [J/kg]

    Returns
    -------
    float
        Specific internal energy. [J/kg]

    Notes
    -----
    Source: form of the NASA-7 polynomials (B. J. McBride, S. Gordon, M. A. Reno,
    NASA TM 4513, 1993), integrated and rewritten in truncated powers.
    """
    x = t * 1e-3
    z = max(x - 1.0, 0.0)
    low = c0 + x * (c1 + x * (c2 + x * (c3 + x * (c4 + x * c5))))
    return low + z * z * (d2 + z * (d3 + z * (d4 + z * d5)))


@formula
def polynomial_slope(
    t: float,
    c1: float,
    c2: float,
    c3: float,
    c4: float,
    c5: float,
    d2: float,
    d3: float,
    d4: float,
    d5: float,
) -> float:
    """
    Heat capacity at constant volume: derivative of :func:`polynomial`.

    Parameters
    ----------
    t : float
        Temperature. [K]
    c1, c2, c3, c4, c5 : float
        Coefficients of powers of T/1000 K. [J/kg]
    d2, d3, d4, d5 : float
        Coefficients of powers of max(T/1000 K - 1, 0). [J/kg]

    Returns
    -------
    float
        Specific heat capacity at constant volume. [J/(kg K)]

    Notes
    -----
    Source: as :func:`polynomial`.
    """
    x = t * 1e-3
    z = max(x - 1.0, 0.0)
    low = c1 + x * (2.0 * c2 + x * (3.0 * c3 + x * (4.0 * c4 + x * 5.0 * c5)))
    return 1e-3 * (low + z * (2.0 * d2 + z * (3.0 * d3 + z * (4.0 * d4 + z * 5.0 * d5))))


@formula
def polynomial_pair(
    t: float,
    c0: float,
    c1: float,
    c2: float,
    c3: float,
    c4: float,
    c5: float,
    d2: float,
    d3: float,
    d4: float,
    d5: float,
) -> tuple[float, float]:
    """
    Internal energy and heat capacity at once, for loops over many cells.

    Parameters
    ----------
    t : float
        Temperature. [K]
    c0, c1, c2, c3, c4, c5 : float
        Coefficients of powers of T/1000 K. [J/kg]
    d2, d3, d4, d5 : float
        Coefficients of powers of max(T/1000 K - 1, 0). [J/kg]

    Returns
    -------
    tuple of float
        Specific internal energy [J/kg] and heat capacity at constant volume [J/(kg K)].

    Notes
    -----
    Horner's scheme for a polynomial and its derivative together: one multiply-add for each
    coefficient of either. Source: as :func:`polynomial`.
    """
    x = t * 1e-3
    z = max(x - 1.0, 0.0)
    low = c4 + x * c5
    slope = low + x * c5
    low = c3 + x * low
    slope = low + x * slope
    low = c2 + x * low
    slope = low + x * slope
    low = c1 + x * low
    slope = low + x * slope
    low = c0 + x * low
    high = d4 + z * d5
    bend = high + z * d5
    high = d3 + z * high
    bend = high + z * bend
    high = d2 + z * high
    lift = z * high
    return low + z * lift, 1e-3 * (slope + z * (high + high + z * bend))


@formula
def _mixed(
    gas: Vector, y_b: float, y_f: float
) -> tuple[float, float, float, float, float, float, float, float, float, float]:
    """Energy coefficients of a mixture, written out: an index passed as a constant compiles ten."""
    return (
        gas[G_AIR] + y_f * gas[G_FUEL] + y_b * gas[G_BURNED],
        gas[G_AIR + 1] + y_f * gas[G_FUEL + 1] + y_b * gas[G_BURNED + 1],
        gas[G_AIR + 2] + y_f * gas[G_FUEL + 2] + y_b * gas[G_BURNED + 2],
        gas[G_AIR + 3] + y_f * gas[G_FUEL + 3] + y_b * gas[G_BURNED + 3],
        gas[G_AIR + 4] + y_f * gas[G_FUEL + 4] + y_b * gas[G_BURNED + 4],
        gas[G_AIR + 5] + y_f * gas[G_FUEL + 5] + y_b * gas[G_BURNED + 5],
        gas[G_AIR + 6] + y_f * gas[G_FUEL + 6] + y_b * gas[G_BURNED + 6],
        gas[G_AIR + 7] + y_f * gas[G_FUEL + 7] + y_b * gas[G_BURNED + 7],
        gas[G_AIR + 8] + y_f * gas[G_FUEL + 8] + y_b * gas[G_BURNED + 8],
        gas[G_AIR + 9] + y_f * gas[G_FUEL + 9] + y_b * gas[G_BURNED + 9],
    )


@formula
def gas_constant(gas: Vector, y_b: float, y_f: float) -> float:
    """
    Gas constant of a frozen mixture.

    Parameters
    ----------
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    y_b, y_f : float
        Burned and fuel-vapour mass fractions. [-]

    Returns
    -------
    float
        Specific gas constant. [J/(kg K)]

    Notes
    -----
    Source: ideal-gas mixture, definition.
    """
    return gas[G_R] + y_f * gas[G_R + 1] + y_b * gas[G_R + 2]


@formula
def energy(gas: Vector, t: float, y_b: float, y_f: float) -> float:
    """
    Specific internal energy of a frozen mixture.

    Parameters
    ----------
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    t : float
        Temperature. [K]
    y_b, y_f : float
        Burned and fuel-vapour mass fractions. [-]

    Returns
    -------
    float
        Specific internal energy on the table's datum (sensible plus heat release). [J/kg]

    Notes
    -----
    Source: as :func:`polynomial`.
    """
    c0, c1, c2, c3, c4, c5, d2, d3, d4, d5 = _mixed(gas, y_b, y_f)
    return polynomial(t, c0, c1, c2, c3, c4, c5, d2, d3, d4, d5)


@formula
def fuel_offset(gas: Vector) -> float:
    """
    Energy of fuel vapour above that of air, its heat of reaction included, at 400 K.

    Parameters
    ----------
    gas : ndarray, shape (n_gas,)
        Gas array. [-]

    Returns
    -------
    float
        Energy per mass. [J/kg]

    Notes
    -----
    Nothing burns in a duct: there fuel counts without this, so that limited slopes of energy and
    of fuel, which need not agree, cannot part the heat of reaction from its fuel. A mistake of
    0.001 in the fraction would be 40 K. Source: the datum of a conserved species is free.
    """
    t = 400.0
    return energy(gas, t, 0.0, 1.0) - energy(gas, t, 0.0, 0.0)


@formula
def heat_capacity(gas: Vector, t: float, y_b: float, y_f: float) -> float:
    """
    Heat capacity at constant volume of a frozen mixture.

    Parameters
    ----------
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    t : float
        Temperature. [K]
    y_b, y_f : float
        Burned and fuel-vapour mass fractions. [-]

    Returns
    -------
    float
        Specific heat capacity at constant volume. [J/(kg K)]

    Notes
    -----
    Source: as :func:`polynomial`.
    """
    _, c1, c2, c3, c4, c5, d2, d3, d4, d5 = _mixed(gas, y_b, y_f)
    return polynomial_slope(t, c1, c2, c3, c4, c5, d2, d3, d4, d5)


@formula
def energy_and_capacity(gas: Vector, t: float, y_b: float, y_f: float) -> tuple[float, float]:
    """
    Specific internal energy of a frozen mixture and its heat capacity at constant volume.

    Parameters
    ----------
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    t : float
        Temperature. [K]
    y_b, y_f : float
        Burned and fuel-vapour mass fractions. [-]

    Returns
    -------
    tuple of float
        Energy on the table's datum [J/kg] and heat capacity [J/(kg K)].

    Notes
    -----
    Mixes the coefficients once. Source: as :func:`polynomial_pair`.
    """
    c0, c1, c2, c3, c4, c5, d2, d3, d4, d5 = _mixed(gas, y_b, y_f)
    return polynomial_pair(t, c0, c1, c2, c3, c4, c5, d2, d3, d4, d5)


@formula
def temperature(gas: Vector, u: float, y_b: float, y_f: float, t_guess: float) -> float:
    """
    Temperature of a frozen mixture from its energy: three Newton steps from a near guess.

    Parameters
    ----------
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    u : float
        Specific internal energy. [J/kg]
    y_b, y_f : float
        Burned and fuel-vapour mass fractions. [-]
    t_guess : float
        Start, the temperature one step ago. [K]

    Returns
    -------
    float
        Temperature. [K]

    Notes
    -----
    From a guess 10 % away the error is below 1e-9 relative. Source: Newton's method.
    """
    t = t_guess
    for _ in range(3):
        t += (u - energy(gas, t, y_b, y_f)) / heat_capacity(gas, t, y_b, y_f)
    return t
