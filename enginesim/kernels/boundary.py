"""What crosses the ends of the ducts in one step, and whom does it reach?"""

from __future__ import annotations

from enginesim.base.jit import formula, kernel
from enginesim.kernels.arrays import Index, Table, Vector
from enginesim.kernels.cylinder_layout import C_GAMMA, C_H, C_P, C_R, C_T, C_YB, C_YF
from enginesim.kernels.ends import face_state
from enginesim.kernels.gas import energy, gas_constant
from enginesim.kernels.layout import (
    BLOCK,
    D_COUNT,
    D_FIRST,
    D_GROUP,
    E_INJECTS,
    E_KIND,
    E_SIDE,
    E_TARGET,
    EF_AREA,
    EF_EVAPORATED,
    EF_MASS,
    EF_P,
    EF_RATIO_IN,
    EF_RATIO_OUT,
    EF_ROOT,
    END_CLOSED,
    END_VALVE,
    G_FUEL_AIR,
    G_H_LIQUID,
    L_FROM,
    L_KIND,
    L_SIDE,
    L_TO,
    LF_MASS,
    LINK_VALVE,
    R_A,
    R_BURNED,
    R_E,
    R_ENE,
    R_FLUX,
    R_FUEL,
    R_LEFT,
    R_MOM,
    R_P,
    R_RHO,
    R_RIGHT,
    R_T,
    R_U,
    R_YB,
    R_YF,
    STRIDE,
    V_GAMMA,
    V_H,
    V_P,
    V_R,
    V_T,
    V_YB,
    V_YF,
    X_AIR,
    X_AREA_IN,
    X_AREA_IN_BACK,
    X_AREA_OUT,
    X_AREA_OUT_BACK,
    X_BURNED,
    X_ENERGY,
    X_EXHAUST,
    X_FUEL,
    X_INTAKE,
    X_SUM_AIR,
    X_SUM_FUEL,
    X_SUM_OUT,
    X_SUM_OUT_AIR,
    X_SUM_OUT_ENERGY,
    X_SUM_OUT_FUEL,
    X_SUM_SUPPLY,
)
from enginesim.kernels.nozzle import mass_flow
from enginesim.kernels.reservoir import give, half_pressure


@kernel
def extend(x: Vector, ducts: Index, first: int, last: int) -> None:
    """
    Extend every duct by a ghost cell at each end, along the line through its last two cells.

    Fractions are extended as they are in the last cell: a straight line could leave 0 to 1.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer. [-]
    ducts : ndarray, shape (n_duct, N_DUCT)
        Where each duct lies. [-]
    first, last : int
        Range of ducts, `last` excluded. [-]

    Notes
    -----
    The ghost only serves the slopes of the end cells; its density and pressure stay above a tenth
    of theirs, and what it conserves is the end cell's gas at rest, so that the passes over all
    cells find a valid state there. Source: linear extrapolation.
    """
    for d in range(first, last):
        base = ducts[d, D_GROUP] * BLOCK + ducts[d, D_FIRST]
        n = ducts[d, D_COUNT]
        for side in range(2):
            cell = base + (n - 1) * side
            step = 1 - 2 * side
            inner = cell + (step if n > 1 else 0)
            ghost = cell - step
            for r in (R_RHO, R_P):
                k = r * STRIDE
                x[ghost + k] = max(2.0 * x[cell + k] - x[inner + k], 0.1 * x[cell + k])
            for r in (R_U, R_E):
                k = r * STRIDE
                x[ghost + k] = 2.0 * x[cell + k] - x[inner + k]
            x[ghost + R_YB * STRIDE] = x[cell + R_YB * STRIDE]
            x[ghost + R_YF * STRIDE] = x[cell + R_YF * STRIDE]
            rho = x[ghost + R_RHO * STRIDE]
            x[ghost + R_MOM * STRIDE] = 0.0
            x[ghost + R_ENE * STRIDE] = rho * x[cell + R_E * STRIDE]
            x[ghost + R_BURNED * STRIDE] = rho * x[cell + R_YB * STRIDE]
            x[ghost + R_FUEL * STRIDE] = rho * x[cell + R_YF * STRIDE]
            x[ghost + R_T * STRIDE] = x[cell + R_T * STRIDE]
            x[ghost + R_A * STRIDE] = x[cell + R_A * STRIDE]


@formula
def into_cylinder(
    exchange: Table,
    c: int,
    side: int,
    gas: Vector,
    flow: float,
    y_b: float,
    y_f: float,
    h: float,
    dt: float,
) -> None:
    """
    Book a flow through the valves of one side of a cylinder.

    Parameters
    ----------
    exchange : ndarray, shape (n_cylinder, N_EXCHANGE)
        Exchange table. [-]
    c, side : int
        Cylinder; 0 intake, 1 exhaust. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    flow : float
        Mass flow into the cylinder. [kg/s]
    y_b, y_f : float
        Burned and fuel-vapour mass fractions of the gas that flows. [-]
    h : float
        Its stagnation enthalpy. [J/kg]
    dt : float
        Time step. [s]

    Notes
    -----
    Fuel that the air still lacks for the mixture comes with it as liquid through an intake valve
    and evaporates in the cylinder. Source: bookkeeping.
    """
    mass = flow * dt
    burned = mass * y_b
    fuel = mass * y_f
    air = mass - burned - fuel
    enthalpy = mass * h
    exchange[c, X_AIR] += air
    exchange[c, X_BURNED] += burned
    if side == 0:
        liquid = 0.0
        if flow > 0.0:
            liquid = max(gas[G_FUEL_AIR] * air - fuel, 0.0)
        exchange[c, X_SUM_SUPPLY] += liquid
        fuel += liquid
        enthalpy += liquid * gas[G_H_LIQUID]
        exchange[c, X_INTAKE] += flow
        exchange[c, X_SUM_AIR] += air
        exchange[c, X_SUM_FUEL] += fuel
    else:
        exchange[c, X_EXHAUST] -= flow
        exchange[c, X_SUM_OUT] -= mass
        exchange[c, X_SUM_OUT_ENERGY] -= enthalpy
        exchange[c, X_SUM_OUT_AIR] -= air
        exchange[c, X_SUM_OUT_FUEL] -= fuel
    exchange[c, X_FUEL] += fuel
    exchange[c, X_ENERGY] += enthalpy


@kernel
def end_fluxes(
    x: Vector,
    ducts: Index,
    first: int,
    last: int,
    ends: Index,
    end: Table,
    res: Table,
    cyl: Table,
    exchange: Table,
    gas: Vector,
    dt: float,
) -> None:
    """
    Fluxes through both ends of a range of ducts, and what they bring to volumes and cylinders.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer. [-]
    ducts : ndarray, shape (n_duct, N_DUCT)
        Where each duct lies. [-]
    first, last : int
        Range of ducts, `last` excluded. [-]
    ends : ndarray, shape (n_end, N_END_INDEX)
        What each end meets. [-]
    end : ndarray, shape (n_end, N_END)
        Parameters of the ends and what the last step left. [-]
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table. [-]
    cyl : ndarray, shape (n_cylinder, n_column)
        Cylinder table. [-]
    exchange : ndarray, shape (n_cylinder, N_EXCHANGE)
        Exchange table. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    dt : float
        Time step. [s]

    Notes
    -----
    A port injector gives the gas beside the valve the stated fraction of its fuel as vapour; it
    enters with the flux through this end. The face beyond the ghost gets no flux: what the pass
    over the faces left there belongs to no duct and need not be a number. Source: as
    :mod:`enginesim.kernels.ends`.
    """
    for d in range(first, last):
        base = ducts[d, D_GROUP] * BLOCK + ducts[d, D_FIRST]
        n = ducts[d, D_COUNT]
        for side in range(2):
            e = 2 * d + side
            cell = base + (n - 1) * side
            face = base + n * side
            edge = cell + (R_RIGHT if side == 1 else R_LEFT) * STRIDE
            outward = 2.0 * side - 1.0
            rho = x[edge]
            u = outward * x[edge + STRIDE]
            p = x[edge + 2 * STRIDE]
            y_b = x[edge + 3 * STRIDE]
            y_f = x[edge + 4 * STRIDE]
            a_cell = x[cell + R_A * STRIDE]
            gamma = a_cell * a_cell * x[cell + R_RHO * STRIDE] / x[cell + R_P * STRIDE]
            area = end[e, EF_AREA]
            kind = ends[e, E_KIND]
            target = ends[e, E_TARGET]
            ratio_out = end[e, EF_RATIO_OUT]
            ratio_in = end[e, EF_RATIO_IN]
            p_r, t_r, gamma_r, r_r, h_r, yb_r, yf_r = p, 300.0, gamma, 287.0, 0.0, 0.0, 0.0
            valve_side = ends[e, E_SIDE]
            if kind == END_VALVE:
                if valve_side == 0:
                    ratio_out = min(exchange[target, X_AREA_IN] / area, 1.0)
                    ratio_in = min(exchange[target, X_AREA_IN_BACK] / area, 1.0)
                else:
                    ratio_out = min(exchange[target, X_AREA_OUT_BACK] / area, 1.0)
                    ratio_in = min(exchange[target, X_AREA_OUT] / area, 1.0)
                if ratio_out > 0.0 or ratio_in > 0.0:
                    p_r, t_r, gamma_r = cyl[target, C_P], cyl[target, C_T], cyl[target, C_GAMMA]
                    r_r, h_r = cyl[target, C_R], cyl[target, C_H]
                    yb_r, yf_r = cyl[target, C_YB], cyl[target, C_YF]
            elif kind != END_CLOSED:
                p_r = half_pressure(res, target, dt)
                t_r, gamma_r = res[target, V_T], res[target, V_GAMMA]
                r_r, h_r = res[target, V_R], res[target, V_H]
                yb_r, yf_r = res[target, V_YB], res[target, V_YF]
            else:
                ratio_out = 0.0
                ratio_in = 0.0
            rho_f, u_f, p_f, root = face_state(
                rho, u, p, gamma, ratio_out, ratio_in, p_r, t_r, gamma_r, r_r, end[e, EF_ROOT]
            )
            flow = rho_f * u_f * area
            if u_f > 0.0:
                t_f = p_f / (rho_f * gas_constant(gas, y_b, y_f))
                h = energy(gas, t_f, y_b, y_f) + p_f / rho_f + 0.5 * u_f * u_f
            else:
                h = h_r
                y_b = yb_r
                y_f = yf_r
            end[e, EF_ROOT] = root
            end[e, EF_MASS] = flow
            end[e, EF_P] = p_f
            mass = flow
            fuel = flow * y_f
            enthalpy = flow * h
            if kind == END_VALVE:
                if flow != 0.0:
                    into_cylinder(exchange, target, valve_side, gas, flow, y_b, y_f, h, dt)
                if ends[e, E_INJECTS] == 1 and flow > 0.0:
                    upstream = cell - (2 * side - 1) * min(1, n - 1)
                    air = flow * (1.0 - y_b - y_f)
                    wanted = end[e, EF_EVAPORATED] * gas[G_FUEL_AIR] * air
                    vapour = max(wanted - flow * x[upstream + R_YF * STRIDE], 0.0)
                    exchange[target, X_SUM_SUPPLY] += vapour * dt
                    mass -= vapour
                    fuel -= vapour
                    enthalpy -= vapour * gas[G_H_LIQUID]
            elif kind != END_CLOSED:
                give(res, target, flow * dt, y_b, y_f, enthalpy * dt)
            flux = face + R_FLUX * STRIDE
            x[flux] = outward * mass
            x[flux + STRIDE] = (rho_f * u_f * u_f + p_f) * area
            x[flux + 2 * STRIDE] = outward * enthalpy
            x[flux + 3 * STRIDE] = outward * flow * y_b
            x[flux + 4 * STRIDE] = outward * fuel
            outer = flux + (2 * side - 1)
            for k in range(5):
                x[outer + k * STRIDE] = 0.0


@kernel
def valve_links(
    links: Index, link: Table, res: Table, cyl: Table, exchange: Table, gas: Vector, dt: float
) -> None:
    """
    Flow between volumes and cylinders where no duct stands between them.

    Parameters
    ----------
    links : ndarray, shape (n_link, N_LINK_INDEX)
        What each link joins. [-]
    link : ndarray, shape (n_link, N_LINK)
        What the last step left. [-]
    res : ndarray, shape (n_reservoir, N_RESERVOIR)
        Reservoir table. [-]
    cyl : ndarray, shape (n_cylinder, n_column)
        Cylinder table. [-]
    exchange : ndarray, shape (n_cylinder, N_EXCHANGE)
        Exchange table. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    dt : float
        Time step. [s]

    Notes
    -----
    Source: quasi-steady orifice, :func:`enginesim.kernels.nozzle.mass_flow`.
    """
    for k in range(links.shape[0]):
        if links[k, L_KIND] == LINK_VALVE:
            i = links[k, L_FROM]
            c = links[k, L_TO]
            side = links[k, L_SIDE]
            inward = exchange[c, X_AREA_IN] if side == 0 else exchange[c, X_AREA_OUT_BACK]
            outward = exchange[c, X_AREA_IN_BACK] if side == 0 else exchange[c, X_AREA_OUT]
            flow = 0.0
            if inward > 0.0 or outward > 0.0:
                if res[i, V_P] >= cyl[c, C_P]:
                    flow = mass_flow(
                        inward, res[i, V_P], res[i, V_T], cyl[c, C_P], res[i, V_GAMMA], res[i, V_R]
                    )
                    y_b, y_f, h = res[i, V_YB], res[i, V_YF], res[i, V_H]
                else:
                    flow = -mass_flow(
                        outward, cyl[c, C_P], cyl[c, C_T], res[i, V_P], cyl[c, C_GAMMA], cyl[c, C_R]
                    )
                    y_b, y_f, h = cyl[c, C_YB], cyl[c, C_YF], cyl[c, C_H]
                into_cylinder(exchange, c, side, gas, flow, y_b, y_f, h, dt)
                give(res, i, -flow * dt, y_b, y_f, -flow * dt * h)
            link[k, LF_MASS] = flow
