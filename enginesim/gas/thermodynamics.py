"""
What energy and gas constant have air, fuel vapour and burned gas? Sampled with Cantera.

Sources: NASA-7 polynomials of B. J. McBride, S. Gordon, M. A. Reno, NASA TM 4513 (1993), as
Cantera's ``nasa_gas.yaml`` ships them; chemical equilibrium by Cantera's element-potential
solver. Only this module imports Cantera, and only when a table is built.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import comb, log
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from enginesim.base.constants import R_UNIVERSAL, T_REF
from enginesim.base.errors import GasError
from enginesim.gas.mixture import (
    PRODUCTS,
    Charge,
    air_moles,
    atoms,
    fuel_moles,
    mass,
    oxygen_demand,
)

Floats = NDArray[np.float64]

DATA_FILE: Final = "nasa_gas.yaml"
T_JOINT: Final = 1000.0
#: Below this temperature burned gas keeps the composition that it has here.
T_FROZEN: Final = 1700.0
#: Pressure of that composition: what a cylinder holds when it expands through 1700 K.
P_FROZEN: Final = 5e5

T_STEP, N_T = 20.0, 96  # to 3600 K
P_LOW, P_HIGH, N_P = 0.2e5, 200e5, 32

_TIGHT, _SAMPLED = 1e-12, 1e-10  # relative tolerances of the equilibrium solver


def sampled(charge: Charge) -> dict[str, Floats]:
    """
    Everything about a charge that takes Cantera to know.

    Parameters
    ----------
    charge : Charge
        Humid air and fuel.

    Returns
    -------
    dict of str to ndarray
        ``energy_coefficients`` shape (3, 10) [J/kg], ``molar_mass`` shape (3,) [kg/mol],
        ``lower_heating_value`` of the vapour, shape () [J/kg], and the dissociation tables ``du``
        [J/kg] and ``dr`` [J/(kg K)], shape (n_t, n_p).

    Notes
    -----
    The three rows are air, fuel vapour and burned gas. Datum: enthalpy of air and of frozen
    burned gas zero at 298.15 K; enthalpy of fuel vapour there is what burning frees. So the
    charge and what it burns to have the same energy at the same absolute state.
    """
    species = _species_data((*PRODUCTS, *fuel_moles(charge.fuel)))
    polynomials = {name: energy_polynomial(record) for name, record in species.items()}
    solver = _product_solver(species)

    air = air_moles(charge.humidity_ratio)
    vapour = fuel_moles(charge.fuel)
    ratio = charge.fuel_air_ratio
    elements = _plain_products(charge)
    solver.TPX = T_FROZEN, P_FROZEN, elements
    solver.equilibrate("TP", rtol=_TIGHT)
    burned = _per_kilogram(dict(zip(PRODUCTS, solver.X, strict=True)))

    gases = (air, vapour, burned)
    coefficients = np.array([_mixed(polynomials, moles) for moles in gases])
    molar_mass = np.array([1.0 / sum(moles.values()) for moles in gases])
    r_gas = R_UNIVERSAL / molar_mass

    du, dr = _dissociation(solver, elements, coefficients[2], r_gas[2])

    h_air, h_vapour, h_burned = _enthalpy_at_reference(coefficients, r_gas)
    h_freed = (h_air + ratio * h_vapour - (1.0 + ratio) * h_burned) / ratio
    coefficients[:, 0] += np.array([0.0, h_freed, 0.0]) - (h_air, h_vapour, h_burned)
    return {
        "energy_coefficients": coefficients,
        "molar_mass": molar_mass,
        "lower_heating_value": np.array(_heating_value(charge, polynomials)),
        "du": du,
        "dr": dr,
    }


def energy_polynomial(record: Any) -> Floats:
    """
    Molar internal energy of a species over both ranges of its fit, as one sum.

    Parameters
    ----------
    record : cantera.Species
        Species with a NASA-7 fit.

    Returns
    -------
    ndarray, shape (10,)
        Factors of powers 0 to 5 of T/1000 K, then of powers 2 to 5 of its excess over one;
        enthalpy counts from the elements at 298.15 K. [J/mol]

    Raises
    ------
    GasError
        If the two ranges do not join at 1000 K.

    Notes
    -----
    The fits are continuous in value and slope at the joint to about 1e-8, which is what the
    powers 0 and 1 of the excess would hold.
    """
    joint, *ranges = record.thermo.coeffs
    high, low = np.array(ranges[:7]), np.array(ranges[7:])
    if joint != T_JOINT and not np.array_equal(high, low):
        raise GasError(
            f"{record.name}: its two polynomials join at {joint:g} K; allowed {T_JOINT:g} K"
        )
    jump = _powers(high) - _powers(low)
    # About the joint: the constant and linear terms vanish but for the fit's rounding.
    about = [sum(comb(power, k) * jump[power] for power in range(k, 6)) for k in range(2, 6)]
    return np.concatenate([_powers(low), about])


def pressure_grid() -> tuple[float, float]:
    """
    First logarithm of pressure of the dissociation tables, and the step.

    Returns
    -------
    tuple of float
        Natural logarithm of the first pressure in Pa, and its step. [-]
    """
    first = log(P_LOW)
    return first, (log(P_HIGH) - first) / (N_P - 1)


def _species_data(names: Iterable[str]) -> dict[str, Any]:
    """Cantera's record of each species, loaded from the shipped data file."""
    import cantera

    known = {record.name: record for record in cantera.Species.list_from_file(DATA_FILE)}
    return {name: known[name] for name in names}


def _product_solver(species: Mapping[str, Any]) -> Any:
    import cantera

    return cantera.Solution(thermo="ideal-gas", species=[species[name] for name in PRODUCTS])


def _powers(fit: Floats) -> Floats:
    """Molar internal energy in powers 0 to 5 of T/1000 K from one range's NASA-7 numbers."""
    a1, a2, a3, a4, a5, a6, _ = fit
    return R_UNIVERSAL * np.array(
        [a6, (a1 - 1.0) * 1e3, a2 / 2 * 1e6, a3 / 3 * 1e9, a4 / 4 * 1e12, a5 / 5 * 1e15]
    )


def _mixed(polynomials: Mapping[str, Floats], moles: Mapping[str, float]) -> Floats:
    return np.asarray(sum(n * polynomials[species] for species, n in moles.items()))


def _enthalpy_at_reference(coefficients: Floats, r_gas: Floats) -> Floats:
    theta = (T_REF / 1e3) ** np.arange(6)
    return np.asarray(coefficients[:, :6] @ theta + r_gas * T_REF)


def _plain_products(charge: Charge) -> dict[str, float]:
    """The charge's atoms as carbon monoxide, hydrogen and the rest: a start for the solver."""
    found = atoms(charge.moles())
    return {
        "CO": found["C"],
        "H2": found["H"] / 2.0,
        "O2": (found["O"] - found["C"]) / 2.0,
        "N2": found["N"] / 2.0,
        "Ar": found["Ar"],
    }


def _per_kilogram(moles: Mapping[str, float]) -> dict[str, float]:
    total = mass(moles)
    return {species: n / total for species, n in moles.items()}


def _dissociation(
    solver: Any, elements: Mapping[str, float], frozen: Floats, r_frozen: float
) -> tuple[Floats, Floats]:
    """Equilibrium less frozen: internal energy and gas constant over temperature and pressure."""
    temperatures = T_FROZEN + T_STEP * np.arange(N_T)
    first, step = pressure_grid()
    du = np.zeros((N_T, N_P))
    dr = np.zeros((N_T, N_P))
    theta = temperatures / 1e3
    u_frozen = np.polynomial.polynomial.polyval(theta, frozen[:6])
    u_frozen += np.polynomial.polynomial.polyval(theta - 1.0, [0.0, 0.0, *frozen[6:]])
    for j in range(N_P):
        p = float(np.exp(first + step * j))
        solver.TPX = T_FROZEN, p, elements
        for i in range(1, N_T):
            solver.TP = temperatures[i], p
            solver.equilibrate("TP", rtol=_SAMPLED)
            du[i, j] = solver.int_energy_mass - u_frozen[i]
            dr[i, j] = 1e3 * R_UNIVERSAL / solver.mean_molecular_weight - r_frozen
    return du, dr


def _heating_value(charge: Charge, polynomials: Mapping[str, Floats]) -> float:
    """Heat freed by one kilogram of vapour burned to carbon dioxide and water vapour at 298 K."""
    vapour = fuel_moles(charge.fuel)
    found = atoms(vapour)
    change = {species: -n for species, n in vapour.items()}
    change |= {"CO2": found["C"], "H2O": found["H"] / 2.0, "O2": -oxygen_demand(charge.fuel)}
    r_change = R_UNIVERSAL * sum(change.values())
    (freed,) = _enthalpy_at_reference(_mixed(polynomials, change)[None, :], np.array([r_change]))
    return -float(freed)
