"""What flows through all links of one step, when small volumes answer at once?

An orifice between two volumes follows the root of the pressure drop: near balance a small volume
evens out within far less than a step, and flows taken at the step's start would swing to and fro.
All links are therefore solved together at the pressures of the step's end, linearised.
"""

from __future__ import annotations

from enginesim.base.formula import formula
from enginesim.base.jit import kernel
from enginesim.formulas.nozzle import mass_flow
from enginesim.kernels.arrays import Index, Table
from enginesim.kernels.cylinder_layout import C_GAMMA, C_P, C_R, C_T, C_VOLUME
from enginesim.kernels.layout import (
    L_FROM,
    L_KIND,
    L_SIDE,
    L_TO,
    LF_AREA,
    LF_AREA_BACK,
    LF_MASS,
    LF_SLOPE,
    LINK_VALVE,
    V_GAMMA,
    V_P,
    V_R,
    V_SHIFT,
    V_T,
    V_VOLUME,
    X_AREA_IN,
    X_AREA_IN_BACK,
    X_AREA_OUT,
    X_AREA_OUT_BACK,
    X_SHIFT,
)

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
def start_links(links: Index, link: Table, res: Table, cyl: Table, exchange: Table) -> None:
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
    cyl : ndarray, shape (n_cylinder, n_column)
        Cylinder table. [-]
    exchange : ndarray, shape (n_cylinder, N_EXCHANGE)
        Exchange table with the valve areas. [-]

    Notes
    -----
    Source: quasi-steady orifice, :func:`enginesim.formulas.nozzle.mass_flow`.
    """
    for k in range(links.shape[0]):
        i = links[k, L_FROM]
        j = links[k, L_TO]
        area, back = link[k, LF_AREA], link[k, LF_AREA_BACK]
        if links[k, L_KIND] == LINK_VALVE:
            if links[k, L_SIDE] == 0:
                area, back = exchange[j, X_AREA_IN], exchange[j, X_AREA_IN_BACK]
            else:
                area, back = exchange[j, X_AREA_OUT_BACK], exchange[j, X_AREA_OUT]
            p, t, gamma, r = cyl[j, C_P], cyl[j, C_T], cyl[j, C_GAMMA], cyl[j, C_R]
        else:
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
def settle_links(
    links: Index, link: Table, res: Table, cyl: Table, exchange: Table, dt: float
) -> None:
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
    cyl : ndarray, shape (n_cylinder, n_column)
        Cylinder table. [-]
    exchange : ndarray, shape (n_cylinder, N_EXCHANGE)
        Exchange table with the valve areas. [-]
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
    start_links(links, link, res, cyl, exchange)
    for i in range(res.shape[0]):
        res[i, V_SHIFT] = 0.0
    for c in range(cyl.shape[0]):
        exchange[c, X_SHIFT] = 0.0
    for _ in range(_SWEEPS):
        most = 0.0
        for i in range(res.shape[0]):
            if res[i, V_VOLUME] > 0.0:
                gain, stiffness = 0.0, 0.0
                for k in range(links.shape[0]):
                    is_valve = links[k, L_KIND] == LINK_VALVE
                    slope = link[k, LF_SLOPE]
                    other = links[k, L_TO]
                    if links[k, L_FROM] == i:
                        shift = exchange[other, X_SHIFT] if is_valve else res[other, V_SHIFT]
                        gain += slope * shift - link[k, LF_MASS]
                        stiffness += slope
                    elif other == i and not is_valve:
                        gain += slope * res[links[k, L_FROM], V_SHIFT] + link[k, LF_MASS]
                        stiffness += slope
                a2 = res[i, V_GAMMA] * res[i, V_R] * res[i, V_T]
                new = gain / (stiffness + res[i, V_VOLUME] / (a2 * dt))
                most = max(most, abs(new - res[i, V_SHIFT]))
                res[i, V_SHIFT] = new
        for c in range(cyl.shape[0]):
            gain, stiffness = 0.0, 0.0
            for k in range(links.shape[0]):
                if links[k, L_KIND] == LINK_VALVE and links[k, L_TO] == c:
                    slope = link[k, LF_SLOPE]
                    gain += slope * res[links[k, L_FROM], V_SHIFT] + link[k, LF_MASS]
                    stiffness += slope
            if stiffness > 0.0:
                a2 = cyl[c, C_GAMMA] * cyl[c, C_R] * cyl[c, C_T]
                new = gain / (stiffness + cyl[c, C_VOLUME] / (a2 * dt))
                most = max(most, abs(new - exchange[c, X_SHIFT]))
                exchange[c, X_SHIFT] = new
        if most < _CLOSE:
            break
    for k in range(links.shape[0]):
        j = links[k, L_TO]
        is_valve = links[k, L_KIND] == LINK_VALVE
        shift = exchange[j, X_SHIFT] if is_valve else res[j, V_SHIFT]
        link[k, LF_MASS] += link[k, LF_SLOPE] * (res[links[k, L_FROM], V_SHIFT] - shift)
