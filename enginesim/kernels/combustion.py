"""When does the charge burn after the spark, and what does the flame make of it?

Equations `flame-speed`, `burn-pace`, `wiebe-position`, `consumed` of docs/theory/cylinder.md.
"""

from __future__ import annotations

import math

from enginesim.base.formula import formula
from enginesim.formulas import wiebe
from enginesim.kernels.arrays import Vector
from enginesim.kernels.cylinder_layout import (
    P_DELAY,
    P_DURATION,
    P_FLAME_BASE,
    P_FLAME_CURVE,
    P_FLAME_EXPONENT,
    P_FLAME_P,
    P_FLAME_P_SLOPE,
    P_FLAME_PEAK,
    P_FLAME_PHI,
    P_FLAME_T,
    P_FLAME_T_SLOPE,
    P_OMEGA_BASE,
    P_SPEED_EXPONENT,
    P_WIEBE_A,
    P_WIEBE_M,
)

# State at which the peak burning velocity was published.
_T_FLAME = 298.0
_P_FLAME = 101325.0

#: Slowest flame over that of the base point: outside the correlation's range it would vanish [-].
SLOWEST = 0.05


@formula
def flame_speed(par: Vector, phi: float, x_residual: float, p: float, t: float) -> float:
    """
    Laminar burning velocity of the unburned gas.

    Parameters
    ----------
    par : ndarray, shape (n_parameter,)
        Parameters of the cylinder. [-]
    phi : float
        Equivalence ratio, measured 0.7 to 1.4 or so. [-]
    x_residual : float
        Mole fraction of burned gas in the unburned charge, measured to 0.3. [-]
    p : float
        Pressure. [Pa]
    t : float
        Temperature of the unburned gas. [K]

    Returns
    -------
    float
        Burning velocity; zero or less outside the correlation's range. [m/s]

    Notes
    -----
    Source: D. B. Rhodes, J. C. Keck, SAE 850047, 1985; M. Metghalchi, J. C. Keck, Combustion
    and Flame 48, 1982 (form and constants from memory).
    """
    lean = phi - par[P_FLAME_PHI]
    reference = par[P_FLAME_PEAK] + par[P_FLAME_CURVE] * lean * lean
    power_t = par[P_FLAME_T] + par[P_FLAME_T_SLOPE] * (phi - 1.0)
    power_p = par[P_FLAME_P] + par[P_FLAME_P_SLOPE] * (phi - 1.0)
    growth = power_t * math.log(t / _T_FLAME) + power_p * math.log(p / _P_FLAME)
    dilution = 1.0
    if x_residual > 0.0:
        dilution = 1.0 - 2.06 * math.exp(0.77 * math.log(x_residual))
    if reference <= 0.0 or dilution <= 0.0:
        return 0.0
    return reference * dilution * math.exp(growth)


@formula
def burn_schedule(par: Vector, spark: float, omega: float, speed: float) -> tuple[float, float]:
    """
    Beginning and length of the Wiebe law that follows a spark.

    Parameters
    ----------
    par : ndarray, shape (n_parameter,)
        Parameters of the cylinder. [-]
    spark : float
        Own angle of the spark. [rad]
    omega : float
        Crank speed. [rad/s]
    speed : float
        Laminar burning velocity at the spark. [m/s]

    Returns
    -------
    tuple of float
        Own angle of the beginning, and length. [rad]

    Notes
    -----
    The law meets 10 % at the delay after the spark and has the duration from 10 to 90 %. A delay
    shorter than the law's own run-up is lengthened to it: nothing burns before the spark.

    Source: form of S. D. Hires, R. J. Tabaczynski, J. M. Novak, SAE 780232, 1978, with free
    exponents (they: 1/3 in speed, 2/3 in burning velocity; from memory).
    """
    pace = max(speed / par[P_FLAME_BASE], SLOWEST)
    factor = math.exp(
        par[P_SPEED_EXPONENT] * math.log(omega / par[P_OMEGA_BASE])
        - par[P_FLAME_EXPONENT] * math.log(pace)
    )
    a, m = par[P_WIEBE_A], par[P_WIEBE_M]
    at_10 = wiebe.position(0.1, a, m)
    length = factor * par[P_DURATION] / (wiebe.position(0.9, a, m) - at_10)
    start = max(spark + factor * par[P_DELAY] - at_10 * length, spark)
    return start, length


@formula
def consumed(air: float, fuel: float, fuel_air: float, efficiency: float) -> tuple[float, float]:
    """
    What burns of the air and fuel that the flame passes.

    Parameters
    ----------
    air, fuel : float
        Masses that the flame passes. [kg]
    fuel_air : float
        Fuel per air in burned gas. [-]
    efficiency : float
        Part of the fuel that burns if there is air for it. [-]

    Returns
    -------
    tuple of float
        Air and fuel that become burned gas. [kg]

    Notes
    -----
    What is in excess of the proportion, and the inefficient part, stay as they are in the burned
    zone. Source: definition.
    """
    if fuel_air <= 0.0:
        return 0.0, 0.0
    burning = max(min(efficiency * fuel, fuel_air * air), 0.0)
    return burning / fuel_air, burning
