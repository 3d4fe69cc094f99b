"""
Steady air flow through a port on a flow bench: what the valve itself must have let through.

One-dimensional adiabatic flow of a perfect gas with wall friction and area change. Stagnation
temperature is constant, stagnation pressure falls by friction and at the entry; the valve is an
isentropic nozzle. docs/theory/valvetrain.md, equations 10 to 14. Plain floats: a case is checked
with this, and `enginesim check` must not wait for numpy.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from enginesim.base.constants import R_DRY_AIR

if TYPE_CHECKING:
    from collections.abc import Callable

GAMMA = 1.4
# Viscosity of air at 300 K and its exponent of temperature, CoolProp `Air` at 1 atm.
MU_300 = 1.854e-5
MU_EXPONENT = 0.7

# Cells along the port. The march is of second order: 20 cells leave 2e-6 of the area.
N_CELL = 20

# Loss of the open end where air enters the port, in heads of velocity at the flange.
# Radiused 0.03 and sharp 0.5 are the usual figures of handbooks, see the library values in
# ``fluids.fittings``; a clay radius lies between, near the former (estimate).
ENTRY_LOSS = {"radiused": 0.03, "clay": 0.05, "none": 0.5}

# Height of a sand-cast wall's roughness: new cast iron, as handbooks of pipe flow list it. [m]
CAST_ROUGHNESS = 0.26e-3

_ITERATIONS = 12  # Newton's method doubles its digits: 4 to 6 are used
_SETTLED = 1e-14


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """
    Darcy friction factor of a rough pipe in turbulent flow.

    Parameters
    ----------
    reynolds : float
        Reynolds number. [-]
    relative_roughness : float
        Height of the roughness over the diameter. [-]

    Returns
    -------
    float
        Darcy friction factor. [-]

    Notes
    -----
    The fourth powers of Blasius' smooth and Nikuradse's fully rough factor are added: within
    3 % of Colebrook's equation for Reynolds numbers from 2e4 to 1e6 and relative roughness from
    2e-4 to 2e-2, which a test checks.
    """
    smooth = 0.3164**4 / max(reynolds, 1.0)
    rough = (2.0 * math.log10(3.7 / relative_roughness)) ** -8
    return math.sqrt(math.sqrt(smooth + rough))


def nozzle_flux(
    p_up: float, t_up: float, p_down: float, gamma: float = GAMMA, r_gas: float = R_DRY_AIR
) -> float:
    """
    Mass flow per effective area of an isentropic nozzle, choked where it must be.

    Parameters
    ----------
    p_up : float
        Stagnation pressure upstream. [Pa]
    t_up : float
        Stagnation temperature upstream. [K]
    p_down : float
        Static pressure at the throat; at most `p_up`. [Pa]
    gamma : float
        Ratio of specific heats. [-]
    r_gas : float
        Specific gas constant. [J/(kg K)]

    Returns
    -------
    float
        Mass flux; not a number where a pressure is none. [kg/(m2 s)]

    Examples
    --------
    >>> print(f"{nozzle_flux(101325.0, 300.0, 0.9 * 101325.0, 1.4, 287.05):.2f}")
    145.91
    """
    if math.isnan(p_up) or math.isnan(p_down):
        return math.nan
    critical = (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))
    ratio = min(max(p_down / p_up, critical), 1.0)
    head = ratio ** (2.0 / gamma) - ratio ** ((gamma + 1.0) / gamma)
    return p_up * math.sqrt(2.0 * gamma / ((gamma - 1.0) * r_gas * t_up) * max(head, 0.0))


@dataclass(frozen=True)
class PortDuct:
    """
    The port between flange and valve, as cells.

    Attributes
    ----------
    area : tuple of float, shape (n + 1,)
        Section at the faces between cells, from the flange to the valve. [m2]
    length : float
        From the flange to the valve. [m]
    roughness : float
        Height of the wall's roughness. [m]
    entry_loss : float
        Loss where air enters at the flange, in heads of velocity there. [-]
    friction : callable
        Darcy friction factor from Reynolds number and relative roughness.
    """

    area: tuple[float, ...]
    length: float
    roughness: float = CAST_ROUGHNESS
    entry_loss: float = ENTRY_LOSS["radiused"]
    friction: Callable[[float, float], float] = friction_factor


@dataclass(frozen=True)
class Bench:
    """
    Air at the bench and the pressure difference held across the port.

    Attributes
    ----------
    pressure : float
        Barometer. [Pa]
    temperature : float
        Air. [K]
    depression : float
        Pressure difference. [Pa]
    """

    pressure: float
    temperature: float
    depression: float

    @property
    def density(self) -> float:
        """Density of the air by which volume flows are counted. [kg/m3]."""
        return self.pressure / (R_DRY_AIR * self.temperature)


def mach_from_stagnation(mass_flow: float, area: float, p_0: float, t_0: float) -> float:
    """
    Subsonic Mach number of a stream of known stagnation state; nan where it would choke.

    Parameters
    ----------
    mass_flow : float
        Mass flow. [kg/s]
    area : float
        Section. [m2]
    p_0 : float
        Stagnation pressure. [Pa]
    t_0 : float
        Stagnation temperature. [K]

    Returns
    -------
    float
        Mach number. [-]
    """
    if not p_0 > 0.0:
        return math.nan
    wanted = mass_flow * math.sqrt(R_DRY_AIR * t_0 / GAMMA) / (area * p_0)
    half = 0.5 * (GAMMA - 1.0)
    power = 0.5 * (GAMMA + 1.0) / (GAMMA - 1.0)
    if wanted >= (1.0 + half) ** -power * (1.0 - 1e-9):
        return math.nan
    mach = min(wanted * (1.0 + wanted * wanted), 0.95)
    for _ in range(_ITERATIONS):
        base = 1.0 + half * mach * mach
        density = base**-power
        slope = density * (1.0 - mach * mach) / base
        before, mach = mach, mach - (mach * density - wanted) / slope
        mach = min(max(mach, 0.0), 0.5 * (before + 1.0))
        if abs(mach - before) <= _SETTLED:
            break
    return mach


def mach_from_static(mass_flow: float, area: float, p: float, t_0: float) -> float:
    """
    Mach number of a stream of known static pressure and stagnation temperature.

    Parameters
    ----------
    mass_flow : float
        Mass flow. [kg/s]
    area : float
        Section. [m2]
    p : float
        Static pressure. [Pa]
    t_0 : float
        Stagnation temperature. [K]

    Returns
    -------
    float
        Mach number. [-]
    """
    flow = mass_flow * math.sqrt(R_DRY_AIR * t_0 / GAMMA) / (area * p)
    half = 0.5 * (GAMMA - 1.0)
    # flow^2 = m (1 + half m) with m the squared Mach number
    return math.sqrt((math.sqrt(1.0 + 4.0 * half * flow * flow) - 1.0) / (2.0 * half))


def _stagnation_ratio(mach: float) -> float:
    return math.pow(1.0 + 0.5 * (GAMMA - 1.0) * mach * mach, GAMMA / (GAMMA - 1.0))


def _after_friction(
    duct: PortDuct, mass_flow: float, p_0: float, t_0: float, direction: int
) -> float:
    """Stagnation pressure at the valve; direction 1 with the flow, -1 against it."""
    viscosity = MU_300 * (t_0 / 300.0) ** MU_EXPONENT
    dx = duct.length / (len(duct.area) - 1)

    def slope(area: float, pressure: float) -> float:
        diameter = math.sqrt(4.0 * area / math.pi)
        mach = mach_from_stagnation(mass_flow, area, pressure, t_0)
        reynolds = mass_flow * diameter / (area * viscosity)
        f = duct.friction(reynolds, duct.roughness / diameter)
        return -direction * 0.5 * GAMMA * mach * mach * pressure * f / diameter

    for left, right in pairwise(duct.area):
        middle = p_0 + 0.5 * dx * slope(left, p_0)
        p_0 = p_0 + dx * slope(0.5 * (left + right), middle)
    return p_0


def drawn_area(duct: PortDuct, bench: Bench, volume_flow: float) -> float:
    """
    Effective area of the valve when air is drawn in at the flange and leaves through the valve.

    Parameters
    ----------
    duct : PortDuct
        The port.
    bench : Bench
        Air and depression.
    volume_flow : float
        A flow of the sheet, counted at the density of the bench's air. [m3/s]

    Returns
    -------
    float
        Isentropic from the stagnation state in the port's end to the pressure behind the
        valve; nan where the port alone cannot pass the flow. [m2]
    """
    mass_flow = volume_flow * bench.density
    mach = mach_from_stagnation(mass_flow, duct.area[0], bench.pressure, bench.temperature)
    head = 0.5 * GAMMA * mach * mach * bench.pressure / _stagnation_ratio(mach)
    entered = bench.pressure - duct.entry_loss * head
    p_0 = _after_friction(duct, mass_flow, entered, bench.temperature, 1)
    return _area(mass_flow, p_0, bench.pressure - bench.depression, bench.temperature)


def blown_area(duct: PortDuct, bench: Bench, volume_flow: float) -> float:
    """
    Effective area of the valve when air is blown from the cylinder and leaves at the flange.

    Parameters
    ----------
    duct : PortDuct
        The port.
    bench : Bench
        Air and pressure difference.
    volume_flow : float
        A flow of the sheet, counted at the density of the bench's air. [m3/s]

    Returns
    -------
    float
        Isentropic from the cylinder to the static pressure in the port's end, nothing of the
        jet's velocity recovered; nan where the port alone cannot pass the flow. [m2]
    """
    mass_flow, t_0 = volume_flow * bench.density, bench.temperature
    mach = mach_from_static(mass_flow, duct.area[0], bench.pressure, t_0)
    exit_p_0 = bench.pressure * _stagnation_ratio(mach)
    p_0 = _after_friction(duct, mass_flow, exit_p_0, t_0, -1)
    mach = mach_from_stagnation(mass_flow, duct.area[-1], p_0, t_0)
    face = p_0 / _stagnation_ratio(mach)
    return _area(mass_flow, bench.pressure + bench.depression, face, t_0)


def _area(mass_flow: float, p_up: float, p_down: float, t_up: float) -> float:
    """Area of the nozzle; infinite where nothing drives the flow, not a number where it chokes."""
    if mass_flow == 0.0:
        return 0.0
    flux = nozzle_flux(p_up, t_up, p_down) if p_up > 0.0 else math.nan
    return mass_flow / flux if flux != 0.0 else math.inf
