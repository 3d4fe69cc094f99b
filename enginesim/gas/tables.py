"""
What does an engine run need to know of its gases?

Sources: :mod:`enginesim.gas.thermodynamics` for energies, :mod:`enginesim.gas.fuels` for the
liquids; viscosity and Prandtl number of air fitted to CoolProp 8.0's air at one atmosphere.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from enginesim.base.constants import R_UNIVERSAL, T_REF
from enginesim.base.errors import GasError
from enginesim.gas import cache, thermodynamics
from enginesim.gas.mixture import Charge, fuel_named, stoichiometric_ratio

Floats = NDArray[np.float64]

#: Rows of every array over gases.
AIR, FUEL, BURNED = 0, 1, 2

# Viscosity mu_300 (T/300 K)^n_mu and Prandtl number of air: within 2.0 % and 3.3 % of CoolProp
# from 250 to 1500 K. Burned gas and fuel vapour are given the same.
_MU_300, _N_MU, _PRANDTL = 1.858e-5, 0.701, 0.72

_OCTANE_MIN, _OCTANE_MAX = 60.0, 130.0


@dataclass(frozen=True, eq=False)
class GasTables:
    """
    Properties of air, fuel vapour and burned gas for one fuel at one mixture; arrays read-only.

    Attributes
    ----------
    fuel : str
        Name of the fuel.
    lambda_ : float
        Dry air relative to the stoichiometric mass. [-]
    humidity_ratio : float
        Mass of water per mass of dry air; it rides with the air. [-]
    energy_coefficients : ndarray, shape (3, 10)
        Rows air, fuel vapour, burned gas: c0 to c5 of powers of theta = T/1000 K, then d2 to d5
        of powers of max(theta - 1, 0); their sum is internal energy. [J/kg]
    r_gas : ndarray, shape (3,)
        Gas constants. [J/(kg K)]
    molar_mass : ndarray, shape (3,)
        Molar masses. [kg/mol]
    fuel_air_ratio : float
        Mass of fuel per mass of humid air at this mixture. [-]
    afr_stoich : float
        Stoichiometric mass of dry air per mass of fuel. [-]
    lower_heating_value : float
        Of the liquid at 298.15 K, burned completely, water as vapour. [J/kg]
    heat_of_vaporisation : float
        At 298.15 K. [J/kg]
    liquid_enthalpy : float
        Of the liquid at 298.15 K on the datum of the vapour. [J/kg]
    density_liquid : float
        At 298.15 K. [kg/m3]
    octane_research, octane_motor : float
        Octane numbers. [-]
    du : ndarray, shape (n_t, n_p)
        What equilibrium adds to the internal energy of burned gas. [J/kg]
    dr : ndarray, shape (n_t, n_p)
        What it adds to the gas constant. [J/(kg K)]
    t_0, dt_grid : float
        First temperature of these tables, and the step. [K]
    ln_p_0, dlnp : float
        Natural logarithm of their first pressure in Pa, and the step. [-]
    mu_300 : float
        Viscosity of air at 300 K. [Pa s]
    n_mu : float
        Its exponent of temperature. [-]
    prandtl : float
        Prandtl number of air. [-]
    """

    fuel: str
    lambda_: float
    humidity_ratio: float
    energy_coefficients: Floats
    r_gas: Floats
    molar_mass: Floats
    fuel_air_ratio: float
    afr_stoich: float
    lower_heating_value: float
    heat_of_vaporisation: float
    liquid_enthalpy: float
    density_liquid: float
    octane_research: float
    octane_motor: float
    du: Floats
    dr: Floats
    t_0: float
    dt_grid: float
    ln_p_0: float
    dlnp: float
    mu_300: float
    n_mu: float
    prandtl: float

    def __post_init__(self) -> None:
        for name in ("energy_coefficients", "r_gas", "molar_mass", "du", "dr"):
            getattr(self, name).flags.writeable = False

    def __reduce__(self) -> tuple[type[GasTables], tuple[Any, ...]]:
        # Through the constructor, so that a copy in another process is read-only too.
        values = (getattr(self, field.name) for field in dataclasses.fields(self))
        return type(self), tuple(values)

    @property
    def n_t(self) -> int:
        """Number of temperatures in the dissociation tables [-]."""
        return int(self.du.shape[0])

    @property
    def n_p(self) -> int:
        """Number of pressures in the dissociation tables [-]."""
        return int(self.du.shape[1])


def tables(
    fuel: str,
    lambda_: float,
    humidity_ratio: float = 0.0,
    *,
    octane_research: float | None = None,
    octane_motor: float | None = None,
) -> GasTables:
    """
    Gas properties for a fuel at a mixture, from the cache on disk where they are there.

    Parameters
    ----------
    fuel : str
        Key of :data:`enginesim.gas.FUELS`.
    lambda_ : float
        Dry air relative to the stoichiometric mass, 0.6 to 2. [-]
    humidity_ratio : float
        Mass of water per mass of dry air, 0 to 0.15. [-]
    octane_research, octane_motor : float, optional
        Octane numbers of the batch at hand, instead of the grade's. [-]

    Returns
    -------
    GasTables
        The tables.

    Raises
    ------
    GasError
        If the fuel is not known, or a number out of range.

    Notes
    -----
    The first call for a mixture takes about half a second, most of it Cantera's import; later
    ones some milliseconds.

    Examples
    --------
    >>> air_gas = tables("iso-octane", 1.0)
    >>> print(f"{air_gas.r_gas[0]:.2f} {air_gas.afr_stoich:.2f}")
    287.04 15.14
    """
    known = fuel_named(fuel)
    charge = Charge(known, float(lambda_), float(humidity_ratio))
    research = _octane("research", octane_research, known.octane_research)
    motor = _octane("motor", octane_motor, known.octane_motor)

    request = f"{fuel} {charge.lambda_.hex()} {charge.humidity_ratio.hex()}"
    grid = (thermodynamics.N_T, thermodynamics.N_P)
    shapes = {
        "energy_coefficients": (3, 10),
        "molar_mass": (3,),
        "lower_heating_value": (),
        "du": grid,
        "dr": grid,
    }
    arrays = cache.fetched(request, shapes, lambda: thermodynamics.sampled(charge))

    coefficients = arrays["energy_coefficients"]
    r_gas = R_UNIVERSAL / arrays["molar_mass"]
    h_vapour = float(coefficients[FUEL, :6] @ (T_REF / 1e3) ** np.arange(6) + r_gas[FUEL] * T_REF)
    ln_p_0, dlnp = thermodynamics.pressure_grid()
    return GasTables(
        fuel=fuel,
        lambda_=charge.lambda_,
        humidity_ratio=charge.humidity_ratio,
        energy_coefficients=coefficients,
        r_gas=r_gas,
        molar_mass=arrays["molar_mass"],
        fuel_air_ratio=charge.fuel_air_ratio,
        afr_stoich=stoichiometric_ratio(known),
        lower_heating_value=float(arrays["lower_heating_value"]) - known.heat_of_vaporisation,
        heat_of_vaporisation=known.heat_of_vaporisation,
        liquid_enthalpy=h_vapour - known.heat_of_vaporisation,
        density_liquid=known.density_liquid,
        octane_research=research,
        octane_motor=motor,
        du=arrays["du"],
        dr=arrays["dr"],
        t_0=thermodynamics.T_FROZEN,
        dt_grid=thermodynamics.T_STEP,
        ln_p_0=ln_p_0,
        dlnp=dlnp,
        mu_300=_MU_300,
        n_mu=_N_MU,
        prandtl=_PRANDTL,
    )


def _octane(kind: str, given: float | None, of_grade: float) -> float:
    if given is None:
        return of_grade
    if not _OCTANE_MIN <= given <= _OCTANE_MAX:
        raise GasError(
            f"{kind} octane: found {given:g}; allowed {_OCTANE_MIN:g} to {_OCTANE_MAX:g}"
        )
    return float(given)
