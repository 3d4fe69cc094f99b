"""How do volumes fill and empty, and what flows through a link between two of them?"""

from __future__ import annotations

import math

from enginesim.base.formula import formula
from enginesim.base.jit import kernel
from enginesim.kernels.arrays import Table, Vector
from enginesim.kernels.gas import energy, energy_and_capacity, gas_constant, heat_capacity
from enginesim.kernels.layout import (
    V_AHEAD,
    V_BURNED,
    V_D_BURNED,
    V_D_ENERGY,
    V_D_FUEL,
    V_D_MASS,
    V_ENERGY,
    V_FUEL,
    V_GAIN_BURNED,
    V_GAIN_ENERGY,
    V_GAIN_FUEL,
    V_GAIN_MASS,
    V_GAMMA,
    V_H,
    V_MASS,
    V_OPENING,
    V_P,
    V_PULL,
    V_PULL_CHANGE,
    V_R,
    V_T,
    V_VOLUME,
    V_YB,
    V_YF,
)
from enginesim.kernels.status import BAD_VOLUME, OK

_SHARE = 0.4  # Courant number for cells over that for volumes [-]


@formula
def set_state(res: Table, i: int, gas: Vector, p: float, t: float, y_b: float, y_f: float) -> None:
    """
    Give a reservoir a state; a volume also its mass and energy.

    Parameters
    ----------
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table. [-]
    i : int
        Which one. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    p, t : float
        Pressure [Pa] and temperature. [K]
    y_b, y_f : float
        Burned and fuel-vapour mass fractions. [-]

    Notes
    -----
    Source: ideal gas.
    """
    r = gas_constant(gas, y_b, y_f)
    cv = heat_capacity(gas, t, y_b, y_f)
    u = energy(gas, t, y_b, y_f)
    mass = p * res[i, V_VOLUME] / (r * t)
    res[i, V_MASS] = mass
    res[i, V_BURNED] = mass * y_b
    res[i, V_FUEL] = mass * y_f
    res[i, V_ENERGY] = mass * u
    res[i, V_P] = p
    res[i, V_AHEAD] = p
    res[i, V_PULL] = 0.0
    res[i, V_PULL_CHANGE] = 0.0
    res[i, V_T] = t
    res[i, V_GAMMA] = 1.0 + r / cv
    res[i, V_R] = r
    res[i, V_H] = u + r * t
    res[i, V_YB] = y_b
    res[i, V_YF] = y_f


@kernel
def fill_reservoir(
    res: Table, i: int, gas: Vector, p: float, t: float, y_b: float, y_f: float
) -> None:
    """
    Callable form of :func:`set_state`.

    Parameters
    ----------
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table. [-]
    i : int
        Which one. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    p, t : float
        Pressure [Pa] and temperature. [K]
    y_b, y_f : float
        Burned and fuel-vapour mass fractions. [-]

    Notes
    -----
    Source: ideal gas.
    """
    set_state(res, i, gas, p, t, y_b, y_f)


@kernel
def update_reservoirs(res: Table, gas: Vector, dt: float) -> int:
    """
    Book the gains of a step: new masses, energies and states of all volumes.

    Parameters
    ----------
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table; an ambient (volume 0) keeps its state and only counts its gains. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    dt : float
        Time step. [s]

    Returns
    -------
    int
        Status, and with it nothing more: the caller looks for the bad one. [-]

    Notes
    -----
    Source: mass and energy balance of an open volume, e.g. Heywood 1988, ch. 14 (from memory).
    """
    status = OK
    for i in range(res.shape[0]):
        res[i, V_GAIN_MASS] += res[i, V_D_MASS]
        res[i, V_GAIN_BURNED] += res[i, V_D_BURNED]
        res[i, V_GAIN_FUEL] += res[i, V_D_FUEL]
        res[i, V_GAIN_ENERGY] += res[i, V_D_ENERGY]
        if res[i, V_VOLUME] > 0.0:
            mass = res[i, V_MASS] + res[i, V_D_MASS]
            burned = res[i, V_BURNED] + res[i, V_D_BURNED]
            fuel = res[i, V_FUEL] + res[i, V_D_FUEL]
            total = res[i, V_ENERGY] + res[i, V_D_ENERGY]
            y_b = burned / mass
            y_f = fuel / mass
            # Two Newton steps: from 1 % away the error is below 1e-9.
            t = res[i, V_T]
            u, cv = energy_and_capacity(gas, t, y_b, y_f)
            t += (total / mass - u) / cv
            u, cv = energy_and_capacity(gas, t, y_b, y_f)
            t += (total / mass - u) / cv
            if not (mass > 0.0 and 50.0 < t < 6000.0):
                status = BAD_VOLUME
            r = gas_constant(gas, y_b, y_f)
            res[i, V_MASS] = mass
            res[i, V_BURNED] = burned
            res[i, V_FUEL] = fuel
            res[i, V_ENERGY] = total
            res[i, V_T] = t
            res[i, V_GAMMA] = 1.0 + r / cv
            res[i, V_R] = r
            p = mass * r * t / res[i, V_VOLUME]
            rise = p - res[i, V_P]
            rate = renewal(res, i)
            pull = rise / dt + rate * (res[i, V_AHEAD] - p)
            res[i, V_PULL_CHANGE] = pull - res[i, V_PULL] + rate * rise
            res[i, V_PULL] = pull
            res[i, V_P] = p
            res[i, V_H] = total / mass + r * t
            res[i, V_YB] = y_b
            res[i, V_YF] = y_f
        res[i, V_D_MASS] = 0.0
        res[i, V_D_BURNED] = 0.0
        res[i, V_D_FUEL] = 0.0
        res[i, V_D_ENERGY] = 0.0
    return status


@kernel
def foresee(res: Table, dt: float) -> None:
    """
    Pressures that the ducts are to see during a step: volumes are coupled to them implicitly.

    Parameters
    ----------
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table; V_AHEAD holds what the ducts saw in the step before and gets the new. [-]
    dt : float
        Time step. [s]

    Notes
    -----
    A duct answers a change dp of the volume's pressure with a flow that falls by A/a dp, so that
    dp/dt = pull - K (p - p0) with K = a A/V over all openings; the pull, which the waves that
    arrive make, is extrapolated from the last two steps. The pressure a part of the step ahead is
    then p + part dt pull/(1 + part K dt). A part of 1/2 is second order, like the ducts, whose edge
    states are half a step ahead too; above K dt = 2 it grows so that no volume overshoots. Stable
    for openings that answer less than K, as throttled ones do, up to K dt = 4 (eigenvalues of the
    recurrence); steps end at 2.
    Source: E. Hairer, G. Wanner, *Solving Ordinary Differential Equations II*, Springer (linearly
    implicit one-step methods), from memory; the delayed pull and its stability: own derivation;
    equation `volume-ahead` of docs/theory/ducts.md.
    """
    for i in range(res.shape[0]):
        p = res[i, V_P]
        if res[i, V_VOLUME] > 0.0:
            swift = renewal(res, i) * dt
            part = max(0.5, 1.0 - 1.0 / swift)
            pull = res[i, V_PULL] + res[i, V_PULL_CHANGE]
            p = max(p + part * dt * pull / (1.0 + part * swift), 0.5 * p)
        res[i, V_AHEAD] = p


@formula
def renewal(res: Table, i: int) -> float:
    """
    How fast the pressure of a volume follows that in its ducts.

    Parameters
    ----------
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table. [-]
    i : int
        Which one. [-]

    Returns
    -------
    float
        a A/V, with A the area of all openings. [1/s]

    Notes
    -----
    Source: linear acoustics: a change dp of the volume's pressure drives a velocity dp/(rho a).
    """
    return math.sqrt(res[i, V_GAMMA] * res[i, V_R] * res[i, V_T]) * res[i, V_OPENING]


@kernel
def fastest_renewal(res: Table) -> float:
    """
    What the volumes ask of the step, as a speed over a length like that of the cells.

    Parameters
    ----------
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table. [-]

    Returns
    -------
    float
        Largest a A/V, times 0.4. [1/s]

    Notes
    -----
    Pressures are implicit, see :func:`foresee`, but what flows is not: at a Courant number of 0.8
    K dt stays below 2, so that gas at Mach 0.3 renews 60 % of a volume in a step. Source: the
    mesh study in decision 0022.
    """
    most = 0.0
    for i in range(res.shape[0]):
        most = max(most, renewal(res, i))
    return _SHARE * most


@formula
def give(res: Table, i: int, mass: float, y_b: float, y_f: float, energy_in: float) -> None:
    """
    Add to the gains of a reservoir in the step under way.

    Parameters
    ----------
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table. [-]
    i : int
        Which one. [-]
    mass : float
        Mass gained, negative if lost. [kg]
    y_b, y_f : float
        Burned and fuel-vapour mass fractions of that mass. [-]
    energy_in : float
        Enthalpy gained. [J]

    Notes
    -----
    Source: bookkeeping.
    """
    res[i, V_D_MASS] += mass
    res[i, V_D_BURNED] += mass * y_b
    res[i, V_D_FUEL] += mass * y_f
    res[i, V_D_ENERGY] += energy_in
