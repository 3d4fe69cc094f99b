"""How much does each group of rubbing parts cost?

Sources: K. J. Patton, R. G. Nitschke, J. B. Heywood, "Development and evaluation of a friction
model for spark-ignition engines", SAE 890836, 1989; revised by D. Sandoval, J. B. Heywood, SAE
2003-01-0725, 2003. All coefficients from memory. They were published for millimetres, rev/min and
kilopascals; the functions take and give SI. Oil is taken to be hot: the revision's viscosity
ratio is one, and so are its ring tension and liner roughness.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

_MM = 1e3
_KPA = 1e3


@dataclass(frozen=True, slots=True)
class Edition:
    """
    Coefficients in which the two printings of the law differ.

    Attributes
    ----------
    mixed_rpm : float
        Speed at which mixed lubrication of rings and flat followers has doubled. [rpm]
    auxiliaries : tuple of float
        Polynomial in engine speed for oil pump, water pump and idling alternator; kilopascals
        and rev/min.
    """

    mixed_rpm: float
    auxiliaries: tuple[float, float, float]


ORIGINAL: Final = Edition(mixed_rpm=1000.0, auxiliaries=(6.23, 5.22e-3, -1.79e-7))
REVISED: Final = Edition(mixed_rpm=500.0, auxiliaries=(8.32, 1.86e-3, 7.45e-7))


@dataclass(frozen=True, slots=True)
class Followers:
    """Coefficients of one kind of valvetrain: cam face, then the two kinds of oscillation."""

    flat: float
    roller: float
    oscillating_hydrodynamic: float
    oscillating_mixed: float


# Overhead cam with flat followers is taken as direct acting, with rollers as rocker arms; two
# cams with fingers take the row of one cam with fingers.
_FINGER = Followers(600.0, 0.0227, 0.2, 42.8)
_ROCKER = Followers(400.0, 0.0151, 0.5, 21.4)
_PUSH_ROD = Followers(400.0, 0.0151, 0.5, 32.1)
_KINDS: Final = {
    ("ohv", "flat"): _PUSH_ROD,
    ("ohv", "roller"): _PUSH_ROD,
    ("ohv", "finger"): _PUSH_ROD,
    ("sohc", "flat"): Followers(200.0, 0.0076, 0.5, 10.7),
    ("sohc", "roller"): _ROCKER,
    ("sohc", "finger"): _FINGER,
    ("dohc", "flat"): Followers(133.0, 0.0050, 0.5, 10.7),
    ("dohc", "roller"): _FINGER,
    ("dohc", "finger"): _FINGER,
}


def _bearings(
    bore: float, stroke: float, n_cylinders: int, rpm: float, size: tuple[float, float], n: int
) -> float:
    """Hydrodynamic shear in `n` bearings of a diameter and length [Pa]."""
    diameter, length = size[0] * _MM, size[1] * _MM
    swept = (bore * _MM) ** 2 * stroke * _MM * n_cylinders
    return _KPA * 3.03e-4 * rpm * diameter**3 * length * n / swept


def crankshaft(
    bore: float, stroke: float, n_cylinders: int, rpm: float, main: tuple[float, float, int]
) -> float:
    """
    Seals, main bearings and turbulent dissipation of the oil in them.

    Parameters
    ----------
    bore : float
        Cylinder bore. [m]
    stroke : float
        Piston stroke. [m]
    n_cylinders : int
        Number of cylinders. [-]
    rpm : float
        Engine speed. [rpm]
    main : tuple of (float, float, int)
        Main bearings: diameter [m], length [m], number [-].

    Returns
    -------
    float
        Friction mean effective pressure. [Pa]

    Examples
    --------
    >>> mep = crankshaft(0.1016, 0.0884, 8, 3000.0, (0.062, 0.025, 5))
    >>> print(f"{mep / 1e3:.3f} kPa")
    7.665 kPa
    """
    diameter, length, n = main
    d, b, s = diameter * _MM, bore * _MM, stroke * _MM
    seals = 1.22e5 * d / (b**2 * s * n_cylinders)
    turbulence = 1.35e-10 * d**2 * rpm**2 * n / n_cylinders
    shear = _bearings(bore, stroke, n_cylinders, rpm, (diameter, length), n)
    return _KPA * (seals + turbulence) + shear


def pistons(
    bore: float,
    stroke: float,
    n_cylinders: int,
    rpm: float,
    rod: tuple[float, float],
    compression_ratio: float,
    pressure_ratio: float,
    edition: Edition = REVISED,
) -> float:
    """
    Skirts, rings, rod bearings, and what gas pressure adds behind the rings.

    Parameters
    ----------
    bore : float
        Cylinder bore. [m]
    stroke : float
        Piston stroke. [m]
    n_cylinders : int
        Number of cylinders, with one rod each. [-]
    rpm : float
        Engine speed. [rpm]
    rod : tuple of (float, float)
        Rod bearings: diameter [m] and length [m].
    compression_ratio : float
        Geometric compression ratio. [-]
    pressure_ratio : float
        Pressure in the intake over that of the open air. [-]
    edition : Edition
        Which printing of the coefficients.

    Returns
    -------
    float
        Friction mean effective pressure. [Pa]

    Examples
    --------
    >>> mep = pistons(0.1016, 0.0884, 8, 3000.0, (0.053, 0.024), 9.5, 0.97)
    >>> print(f"{mep / 1e3:.2f} kPa")
    54.44 kPa
    """
    speed = stroke * rpm / 30
    skirts = 2.94e2 * speed / (bore * _MM)
    rings = 4.06e4 * (1.0 + edition.mixed_rpm / rpm) / (bore * _MM) ** 2
    behind = 0.088 * compression_ratio + 0.182 * compression_ratio ** (1.33 - 2.38e-2 * speed)
    gas = 6.89 * pressure_ratio * behind
    rods = _bearings(bore, stroke, n_cylinders, rpm, rod, n_cylinders)
    return float(_KPA * (skirts + rings + gas) + rods)


def valvetrain(
    bore: float,
    stroke: float,
    n_cylinders: int,
    rpm: float,
    kind: str,
    follower: str,
    n_valves: int,
    lift: float,
    n_bearings: int,
    edition: Edition = REVISED,
) -> float:
    """
    Cam bearings and seal, followers, and the parts that swing or slide with the valves.

    Parameters
    ----------
    bore : float
        Cylinder bore. [m]
    stroke : float
        Piston stroke. [m]
    n_cylinders : int
        Number of cylinders. [-]
    rpm : float
        Engine speed. [rpm]
    kind : str
        ``ohv``, ``sohc`` or ``dohc``.
    follower : str
        ``flat``, ``roller`` or ``finger``.
    n_valves : int
        Valves of one cylinder. [-]
    lift : float
        Greatest valve lift. [m]
    n_bearings : int
        Bearings of all camshafts, of the size that the law's constant stands for. [-]
    edition : Edition
        Which printing of the coefficients.

    Returns
    -------
    float
        Friction mean effective pressure. [Pa]

    Examples
    --------
    >>> sizes = (0.1016, 0.0884, 8, 3000.0)
    >>> mep = valvetrain(*sizes, "ohv", "flat", 2, 0.011, 5)
    >>> print(f"{mep / 1e3:.2f} kPa")
    24.72 kPa
    """
    b, s, height = bore * _MM, stroke * _MM, lift * _MM
    row = _KINDS[kind, follower]
    mixed = 1.0 + edition.mixed_rpm / rpm
    bearings = 2.44e2 * rpm * n_bearings / (b**2 * s * n_cylinders) + 4.12
    face = (row.roller * rpm if follower == "roller" else row.flat * mixed) * n_valves / s
    swinging = row.oscillating_hydrodynamic * height**1.5 * rpm**0.5 * n_valves / (b * s)
    sliding = row.oscillating_mixed * mixed * height * n_valves / s
    return float(_KPA * (bearings + face + swinging + sliding))


def auxiliaries(rpm: float, edition: Edition = REVISED) -> float:
    """
    Oil pump, water pump and idling alternator.

    Parameters
    ----------
    rpm : float
        Engine speed. [rpm]
    edition : Edition
        Which printing of the coefficients.

    Returns
    -------
    float
        Friction mean effective pressure. [Pa]

    Examples
    --------
    >>> print(f"{auxiliaries(3000.0, ORIGINAL) / 1e3:.2f} {auxiliaries(3000.0) / 1e3:.2f} kPa")
    20.28 20.61 kPa
    """
    constant, linear, quadratic = edition.auxiliaries
    return _KPA * (constant + linear * rpm + quadratic * rpm**2)
