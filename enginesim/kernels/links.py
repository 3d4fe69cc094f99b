"""What flows through the links beside ducts in one step, when small volumes answer at once?

An orifice between two volumes follows the root of the pressure drop: near balance a small volume
evens out within far less than a step, and flows taken at the step's start would swing to and fro.
All links are therefore solved together at the pressures of the step's end, linearised.
"""

from __future__ import annotations

from enginesim.base.formula import formula
from enginesim.base.jit import kernel
from enginesim.formulas.nozzle import mass_flow
from enginesim.kernels.arrays import Index, Table, Vector
from enginesim.kernels.layout import (
    G_FUEL_AIR,
    G_H_LIQUID,
    L_FROM,
    L_TO,
    LF_AREA,
    LF_AREA_BACK,
    LF_BACK_BURNED,
    LF_BACK_ENERGY,
    LF_BACK_FUEL,
    LF_BACK_MASS,
    LF_FUEL,
    LF_GAIN_AIR,
    LF_GAIN_FUEL,
    LF_MASS,
    LF_SLOPE,
    V_GAMMA,
    V_H,
    V_P,
    V_R,
    V_SHIFT,
    V_T,
    V_VOLUME,
    V_YB,
    V_YF,
)
from enginesim.kernels.reservoir import give

_SWEEPS = 40
_CLOSE = 1e-2  # change of a pressure between sweeps that ends them [Pa]
_LEAST = 1e-5  # least drop over pressure at which the slope is taken


@formula
def through(
    area: float, p_up: float, t_up: float, p_down: float, gamma: float, r_gas: float
) -> tuple[float, float]:
    """
    Flow of an orifice and its slope in the pressure drop.

    Parameters
    ----------
    area : float
        Effective area. [m2]
    p_up, t_up : float
        Stagnation pressure [Pa] and temperature [K] upstream.
    p_down : float
        Pressure downstream. [Pa]
    gamma : float
        Ratio of specific heats upstream. [-]
    r_gas : float
        Gas constant upstream. [J/(kg K)]

    Returns
    -------
    tuple of float
        Mass flow [kg/s] and slope [kg/(s Pa)]: that of a flow with the root of the drop, none
        where it is choked.

    Notes
    -----
    Source: :func:`enginesim.formulas.nozzle.mass_flow`.
    """
    flow = mass_flow(area, p_up, t_up, p_down, gamma, r_gas)
    if p_down < p_up * (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0)):
        return flow, 0.0  # choked
    least = _LEAST * p_up
    if p_up - p_down < least:
        return flow, mass_flow(area, p_up, t_up, p_up - least, gamma, r_gas) / least
    return flow, 0.5 * flow / (p_up - p_down)


@kernel
def start_links(links: Index, link: Table, res: Table) -> None:
    """
    Flows of all links, and their slopes, at the pressures of the step's start.

    Parameters
    ----------
    links : ndarray, shape (n_link, N_LINK_INDEX)
        What each link joins. [-]
    link : ndarray, shape (n_link, N_LINK)
        Gets flow [kg/s] and slope [kg/(s Pa)].
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table. [-]

    Notes
    -----
    Source: quasi-steady orifice, :func:`enginesim.formulas.nozzle.mass_flow`.
    """
    for k in range(links.shape[0]):
        i = links[k, L_FROM]
        j = links[k, L_TO]
        area, back = link[k, LF_AREA], link[k, LF_AREA_BACK]
        p, t, gamma, r = res[j, V_P], res[j, V_T], res[j, V_GAMMA], res[j, V_R]
        flow, slope = 0.0, 0.0
        if res[i, V_P] >= p:
            if area > 0.0:
                flow, slope = through(
                    area, res[i, V_P], res[i, V_T], p, res[i, V_GAMMA], res[i, V_R]
                )
        elif back > 0.0:
            flow, slope = through(back, p, t, res[i, V_P], gamma, r)
            flow = -flow
        link[k, LF_MASS] = flow
        link[k, LF_SLOPE] = slope


@kernel
def settle_links(links: Index, link: Table, res: Table, dt: float) -> None:
    """
    Flows of all links at the pressures that they leave at the end of the step.

    Parameters
    ----------
    links : ndarray, shape (n_link, N_LINK_INDEX)
        What each link joins. [-]
    link : ndarray, shape (n_link, N_LINK)
        Gets the flow, positive from its start to its finish. [kg/s]
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table. [-]
    dt : float
        Time step. [s]

    Notes
    -----
    Implicit Euler with one Newton step: the shifts of all pressures by Gauss and Seidel's sweeps,
    each volume answering a gain of mass with a^2/V. What one volume gives another gets, whatever
    the sweeps leave over. Source: E. Hairer, G. Wanner, *Solving Ordinary Differential Equations
    II*, Springer (linearly implicit Euler), from memory.
    """
    if links.shape[0] == 0:
        return
    start_links(links, link, res)
    for i in range(res.shape[0]):
        res[i, V_SHIFT] = 0.0
    for _ in range(_SWEEPS):
        most = 0.0
        for i in range(res.shape[0]):
            if res[i, V_VOLUME] > 0.0:
                gain, stiffness = 0.0, 0.0
                for k in range(links.shape[0]):
                    slope = link[k, LF_SLOPE]
                    if links[k, L_FROM] == i:
                        gain += slope * res[links[k, L_TO], V_SHIFT] - link[k, LF_MASS]
                        stiffness += slope
                    elif links[k, L_TO] == i:
                        gain += slope * res[links[k, L_FROM], V_SHIFT] + link[k, LF_MASS]
                        stiffness += slope
                a2 = res[i, V_GAMMA] * res[i, V_R] * res[i, V_T]
                new = gain / (stiffness + res[i, V_VOLUME] / (a2 * dt))
                most = max(most, abs(new - res[i, V_SHIFT]))
                res[i, V_SHIFT] = new
        if most < _CLOSE:
            break
    for k in range(links.shape[0]):
        shift = res[links[k, L_FROM], V_SHIFT] - res[links[k, L_TO], V_SHIFT]
        link[k, LF_MASS] += link[k, LF_SLOPE] * shift


@formula
def pass_on(
    res: Table,
    links: Index,
    link: Table,
    gas: Vector,
    k: int,
    i: int,
    j: int,
    mass: float,
    y_b: float,
    y_f: float,
    h: float,
) -> None:
    """
    Book what passes one orifice during a step.

    Parameters
    ----------
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table. [-]
    links : ndarray, shape (n_link, N_LINK_INDEX)
        What each link joins. [-]
    link : ndarray, shape (n_link, N_LINK)
        Link table. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    k, i, j : int
        The link, and the reservoirs up- and downstream. [-]
    mass : float
        What passes. [kg]
    y_b, y_f : float
        Burned and fuel-vapour mass fractions of what leaves the reservoir upstream. [-]
    h : float
        Its enthalpy. [J/kg]

    Notes
    -----
    Source: as :func:`flow_links`.
    """
    flow = mass * h
    is_mouth = res[links[k, L_FROM], V_VOLUME] == 0.0
    is_forward = i == links[k, L_FROM]
    if is_mouth and not is_forward:
        give(res, i, -mass, y_b, y_f, -flow)
        link[k, LF_BACK_MASS] += mass
        link[k, LF_BACK_BURNED] += mass * y_b
        link[k, LF_BACK_FUEL] += mass * y_f
        link[k, LF_BACK_ENERGY] += flow
    elif is_mouth and link[k, LF_BACK_MASS] > 0.0 and mass > 0.0:
        part = min(mass / link[k, LF_BACK_MASS], 1.0)
        back = part * link[k, LF_BACK_MASS]
        rest = mass - back
        give(res, i, -rest, y_b, y_f, -rest * h)
        flow = rest * h + part * link[k, LF_BACK_ENERGY]
        y_b = (rest * y_b + part * link[k, LF_BACK_BURNED]) / mass
        y_f = (rest * y_f + part * link[k, LF_BACK_FUEL]) / mass
        for stock in range(LF_BACK_MASS, LF_BACK_ENERGY + 1):
            link[k, stock] *= 1.0 - part
        give(res, j, mass, y_b, y_f, flow)
    else:
        give(res, i, -mass, y_b, y_f, -flow)
        give(res, j, mass, y_b, y_f, flow)
    if is_forward:
        air = mass * (1.0 - y_b - y_f)
        link[k, LF_GAIN_AIR] += air
        short = max(gas[G_FUEL_AIR] * air - mass * y_f, 0.0)
        fuel = link[k, LF_FUEL] * short
        if fuel > 0.0:
            link[k, LF_GAIN_FUEL] += fuel
            give(res, j, fuel, 0.0, 1.0, fuel * gas[G_H_LIQUID])


@kernel
def flow_links(res: Table, links: Index, link: Table, gas: Vector, dt: float) -> None:
    """
    Book what passes every orifice between two reservoirs during one step.

    Parameters
    ----------
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table. [-]
    links : ndarray, shape (n_link, N_LINK_INDEX)
        What each link joins. [-]
    link : ndarray, shape (n_link, N_LINK)
        Fuel, and the flows that :func:`settle_links` found. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    dt : float
        Time step. [s]

    Notes
    -----
    A link with fuel (a carburettor) gives the air that passes forward the stated fraction of the
    mixture's fuel as vapour that brings the enthalpy of the liquid: the gas behind is colder by
    the heat of vaporisation. What a pulse blows back into the open air waits before the mouth and
    is drawn in first, so that a carburettor does not give it its fuel twice.
    Source: bookkeeping.
    """
    for k in range(links.shape[0]):
        i = links[k, L_FROM]
        j = links[k, L_TO]
        if link[k, LF_MASS] < 0.0:
            i = links[k, L_TO]
            j = links[k, L_FROM]
        mass = abs(link[k, LF_MASS]) * dt
        pass_on(res, links, link, gas, k, i, j, mass, res[i, V_YB], res[i, V_YF], res[i, V_H])
