"""How much heat does the gas in the cylinder give to its walls?

Equations `woschni`, `hohenberg`, `annand` of docs/theory/cylinder.md.
"""

from __future__ import annotations

import math

from enginesim.base.formula import formula

_WOSCHNI = 3.26 * 1e-3**0.8  # published for kPa
_HOHENBERG = 130.0 * 1e-5**0.8  # published for bar

#: Woschni's gas velocity per mean piston speed: a valve open, both closed [-].
GAS_EXCHANGE = 6.18
COMPRESSION = 2.28
#: Woschni's velocity from the pressure rise of combustion, during burn and expansion [m/(s K)].
COMBUSTION = 3.24e-3

#: Annand's factor of convection: middle of the published 0.35 to 0.8 [-]; his radiation
#: coefficient of spark-ignition engines, during burn and expansion [W/(m2 K4)].
ANNAND = 0.575
RADIATION = 4.3e-9


@formula
def woschni(bore: float, p: float, t: float, velocity: float) -> float:
    """
    Heat transfer coefficient by Woschni.

    Parameters
    ----------
    bore : float
        Bore. [m]
    p : float
        Pressure. [Pa]
    t : float
        Mean gas temperature. [K]
    velocity : float
        Characteristic gas velocity, above zero. [m/s]

    Returns
    -------
    float
        Heat transfer coefficient. [W/(m2 K)]

    Notes
    -----
    All exponents are twentieths, so one root of integer powers serves for three.
    Source: G. Woschni, SAE 670931, 1967, with the coefficients of J. B. Heywood, *Internal
    Combustion Engine Fundamentals*, 1988, section 12.4 (from memory).

    Examples
    --------
    >>> print(f"{woschni(0.086, 1e6, 650.0, 2.28 * 8.6):.1f}")
    410.4
    """
    load = p * velocity
    load *= load
    load *= load
    t2 = t * t
    t4 = t2 * t2
    twentieth = load * load * load * load / (t4 * t4 * t2 * t * bore * bore * bore * bore)
    return _WOSCHNI * math.exp(0.05 * math.log(twentieth))


@formula
def hohenberg(volume: float, p: float, t: float, mean_speed: float) -> float:
    """
    Heat transfer coefficient by Hohenberg.

    Parameters
    ----------
    volume : float
        Cylinder volume. [m3]
    p : float
        Pressure. [Pa]
    t : float
        Mean gas temperature. [K]
    mean_speed : float
        Mean piston speed. [m/s]

    Returns
    -------
    float
        Heat transfer coefficient. [W/(m2 K)]

    Notes
    -----
    Source: G. F. Hohenberg, SAE 790825, 1979 (from memory).

    Examples
    --------
    >>> print(f"{hohenberg(60e-6, 40e5, 2400.0, 8.6):.1f}")
    1249.7
    """
    exponent = 0.8 * math.log(p * (mean_speed + 1.4)) - 0.4 * math.log(t) - 0.06 * math.log(volume)
    return _HOHENBERG * math.exp(exponent)


@formula
def annand(
    bore: float, density: float, mean_speed: float, viscosity: float, conductivity: float
) -> float:
    """
    Convective heat transfer coefficient by Annand.

    Parameters
    ----------
    bore : float
        Bore. [m]
    density : float
        Mean gas density. [kg/m3]
    mean_speed : float
        Mean piston speed. [m/s]
    viscosity : float
        Viscosity of the gas. [Pa s]
    conductivity : float
        Heat conductivity of the gas. [W/(m K)]

    Returns
    -------
    float
        Heat transfer coefficient. [W/(m2 K)]

    Notes
    -----
    Source: W. J. D. Annand, Proc. Inst. Mech. Engrs 177, 1963 (from memory).
    """
    reynolds = density * mean_speed * bore / viscosity
    return ANNAND * conductivity / bore * math.exp(0.7 * math.log(reynolds))


@formula
def woschni_velocity(mean_speed: float, is_open: bool, rise: float, per_rise: float) -> float:
    """
    Characteristic gas velocity of Woschni's relation.

    Parameters
    ----------
    mean_speed : float
        Mean piston speed. [m/s]
    is_open : bool
        Whether a valve may be open.
    rise : float
        Pressure above that of the motored cylinder at this volume; negative counts as none. [Pa]
    per_rise : float
        ``COMBUSTION`` times swept volume times temperature over pressure times volume, the
        latter three at a reference state of the closed charge; zero before the burn. [m/(s Pa)]

    Returns
    -------
    float
        Velocity. [m/s]

    Notes
    -----
    Source: as :func:`woschni`.
    """
    factor = GAS_EXCHANGE if is_open else COMPRESSION
    return factor * mean_speed + per_rise * max(rise, 0.0)
