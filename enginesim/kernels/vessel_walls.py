"""How hard do the walls of a duct that became a volume heat its gas?"""

from __future__ import annotations

from enginesim.base.jit import kernel
from enginesim.kernels.arrays import Index, Table, Vector
from enginesim.kernels.layout import (
    G_MU,
    G_PRANDTL,
    L_FROM,
    L_KIND,
    L_TO,
    LF_MASS,
    LINK_VALVE,
    V_CONDUCTANCE,
    V_GAMMA,
    V_R,
    V_T,
    V_WALL_REACH,
    V_WALL_ROUGH,
    V_WALL_STILL,
    V_WALL_WAY,
)
from enginesim.kernels.wall import LEAST_NUSSELT, friction_factor, viscosity


@kernel
def warm_walls(res: Table, links: Index, link: Table, gas: Vector) -> None:
    """
    Heat that the walls of ducts give as volumes, per kelvin, at the present flows.

    Parameters
    ----------
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table. [-]
    links : ndarray, shape (n_link, N_LINK_INDEX)
        What each link joins. [-]
    link : ndarray, shape (n_link, N_LINK)
        Flows of the last step. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]

    Notes
    -----
    As in a duct's cells, with the mean of what flows in and out in all of them.
    Source: :func:`enginesim.kernels.wall.wall_terms`.
    """
    inverse_prandtl = 1.0 / gas[G_PRANDTL]
    analogy = 0.125 * inverse_prandtl ** (2.0 / 3.0)
    for i in range(res.shape[0]):
        res[i, V_CONDUCTANCE] = 0.0
    for k in range(links.shape[0]):
        half = 0.5 * abs(link[k, LF_MASS])
        res[links[k, L_FROM], V_CONDUCTANCE] += half
        if links[k, L_KIND] != LINK_VALVE:
            res[links[k, L_TO], V_CONDUCTANCE] += half
    for i in range(res.shape[0]):
        flow = res[i, V_CONDUCTANCE]
        mu = viscosity(gas[G_MU], res[i, V_T])
        f = friction_factor(flow * res[i, V_WALL_REACH] / mu, res[i, V_WALL_ROUGH])
        turbulent = analogy * f * flow * res[i, V_WALL_WAY]
        laminar = LEAST_NUSSELT * mu * inverse_prandtl * res[i, V_WALL_STILL]
        cp = res[i, V_R] * res[i, V_GAMMA] / (res[i, V_GAMMA] - 1.0)
        res[i, V_CONDUCTANCE] = cp * max(turbulent, laminar)
