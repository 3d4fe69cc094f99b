"""What crosses the ends of the ducts in one step, and whom does it reach?"""

from __future__ import annotations

import numpy as np

from enginesim.base.jit import kernel
from enginesim.kernels.arrays import Index, Table, Vector
from enginesim.kernels.boundary import into_cylinder
from enginesim.kernels.cylinder_layout import C_GAMMA, C_H, C_P, C_R, C_T, C_YB, C_YF
from enginesim.kernels.faces import (
    bracketed_faces,
    end_flows,
    entering_faces,
    free_faces,
    throttled_faces,
)
from enginesim.kernels.gas import fuel_offset
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
    EF_COLUMN,
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
    STRIDE,
    THROTTLED,
    V_AHEAD,
    V_GAMMA,
    V_H,
    V_R,
    V_T,
    V_YB,
    V_YF,
    X_AREA_IN,
    X_AREA_IN_BACK,
    X_AREA_OUT,
    X_AREA_OUT_BACK,
    X_SUM_SUPPLY,
)
from enginesim.kernels.offsets import (
    EDGE_P,
    EDGE_U,
    EDGE_YB,
    EDGE_YF,
    END_AREA,
    END_FACE_P,
    END_FLOW,
    END_GAMMA,
    END_GAMMA_RES,
    END_H,
    END_H_RES,
    END_MOMENTUM,
    END_NEW_ROOT,
    END_P,
    END_P_RES,
    END_R_RES,
    END_RATIO_IN,
    END_RATIO_OUT,
    END_RHO,
    END_ROOT,
    END_T_RES,
    END_U,
    END_YB,
    END_YB_RES,
    END_YF,
    END_YF_RES,
    FLUX_BURNED,
    FLUX_ENE,
    FLUX_FUEL,
    FLUX_MASS,
    FLUX_MOM,
    LEFT_RHO,
    RIGHT_RHO,
    ROW_A,
    ROW_P,
    ROW_RHO,
    ROW_YF,
)
from enginesim.kernels.reservoir import give

_BLOCK = np.uint64(BLOCK)
_COLUMNS = np.uint64(STRIDE)
_THROTTLED = np.uint64(THROTTLED)
_FOURS = ~np.uint64(3)


@kernel
def gather_ends(
    x: Vector,
    ducts: Index,
    first: int,
    last: int,
    ends: Index,
    end: Table,
    res: Table,
    cyl: Table,
    exchange: Table,
) -> tuple[np.uint64, np.uint64, np.uint64]:
    """
    Lay duct and reservoir of every end beside those of the others.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer; gets rows F_RHO to F_ROOT. [-]
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

    Returns
    -------
    tuple of np.uint64
        Number of ends that gas entered through one step ago, from column 0 on; of those that it
        left through a restriction, from column THROTTLED on; and of the others, which end with the
        last column. [-]

    Notes
    -----
    Source: copy.
    """
    n_in = np.uint64(0)
    n_throttled = np.uint64(0)
    n_free = np.uint64(0)
    one = np.uint64(1)
    for d in range(np.uint64(first), np.uint64(last)):
        block = np.uint64(ducts[d, D_GROUP]) * _BLOCK
        cell = block + np.uint64(ducts[d, D_FIRST])
        edge = cell + LEFT_RHO
        outward = -1.0
        for e in range(d + d, d + d + np.uint64(2)):
            gamma = x[cell + ROW_A]
            gamma *= gamma * x[cell + ROW_RHO] / x[cell + ROW_P]
            area = end[e, EF_AREA]
            kind = ends[e, E_KIND]
            target = np.uint64(ends[e, E_TARGET])
            ratio_out, ratio_in = 0.0, 0.0
            if kind == END_VALVE:
                scale = 1.0 / area
                if ends[e, E_SIDE] == 0:
                    ratio_out = min(exchange[target, X_AREA_IN] * scale, 1.0)
                    ratio_in = min(exchange[target, X_AREA_IN_BACK] * scale, 1.0)
                else:
                    ratio_out = min(exchange[target, X_AREA_OUT_BACK] * scale, 1.0)
                    ratio_in = min(exchange[target, X_AREA_OUT] * scale, 1.0)
            elif kind != END_CLOSED:
                ratio_out = end[e, EF_RATIO_OUT]
                ratio_in = end[e, EF_RATIO_IN]
            root = end[e, EF_ROOT]
            if root < 0.0 and n_in < _THROTTLED:
                column = n_in
                n_in += one
            elif root > 0.0 and ratio_out < 1.0:
                column = _THROTTLED + n_throttled
                n_throttled += one
            else:
                n_free += one
                column = _COLUMNS - n_free
            end[e, EF_COLUMN] = np.float64(column)
            j = block + column
            x[j + END_RHO] = x[edge]
            x[j + END_U] = outward * x[edge + EDGE_U]
            x[j + END_P] = x[edge + EDGE_P]
            x[j + END_YB] = x[edge + EDGE_YB]
            x[j + END_YF] = x[edge + EDGE_YF]
            x[j + END_GAMMA] = gamma
            x[j + END_AREA] = area
            x[j + END_ROOT] = root
            x[j + END_RATIO_OUT] = ratio_out
            x[j + END_RATIO_IN] = ratio_in
            if ratio_out <= 0.0 and ratio_in <= 0.0:
                x[j + END_P_RES] = x[edge + EDGE_P]
            elif kind == END_VALVE:
                x[j + END_P_RES] = cyl[target, C_P]
                x[j + END_T_RES] = cyl[target, C_T]
                x[j + END_GAMMA_RES] = cyl[target, C_GAMMA]
                x[j + END_R_RES] = cyl[target, C_R]
                x[j + END_H_RES] = cyl[target, C_H]
                x[j + END_YB_RES] = cyl[target, C_YB]
                x[j + END_YF_RES] = cyl[target, C_YF]
            else:
                x[j + END_P_RES] = res[target, V_AHEAD]
                x[j + END_T_RES] = res[target, V_T]
                x[j + END_GAMMA_RES] = res[target, V_GAMMA]
                x[j + END_R_RES] = res[target, V_R]
                x[j + END_H_RES] = res[target, V_H]
                x[j + END_YB_RES] = res[target, V_YB]
                x[j + END_YF_RES] = res[target, V_YF]
            step = np.uint64(ducts[d, D_COUNT]) - one
            cell += step
            edge = cell + RIGHT_RHO
            outward = 1.0
    return n_in, n_throttled, n_free


@kernel
def share_out(
    x: Vector,
    ducts: Index,
    first: int,
    last: int,
    ends: Index,
    end: Table,
    res: Table,
    exchange: Table,
    gas: Vector,
    dt: float,
) -> None:
    """
    Give what crosses the ends to ducts, volumes and cylinders.

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
    over the faces left there belongs to no duct and need not be a number. Source: bookkeeping.
    """
    one = np.uint64(1)
    offset = fuel_offset(gas)
    for d in range(np.uint64(first), np.uint64(last)):
        block = np.uint64(ducts[d, D_GROUP]) * _BLOCK
        n = np.uint64(ducts[d, D_COUNT])
        face = block + np.uint64(ducts[d, D_FIRST])
        upstream = face + (one if n > one else np.uint64(0))
        outer = face - one
        outward = -1.0
        for e in range(d + d, d + d + np.uint64(2)):
            j = block + np.uint64(end[e, EF_COLUMN])
            flow = x[j + END_FLOW]
            h = x[j + END_H]
            y_b = x[j + END_YB]
            y_f = x[j + END_YF]
            end[e, EF_ROOT] = x[j + END_NEW_ROOT]
            end[e, EF_MASS] = flow
            end[e, EF_P] = x[j + END_FACE_P]
            mass = flow
            fuel = flow * y_f
            enthalpy = flow * h
            kind = ends[e, E_KIND]
            target = ends[e, E_TARGET]
            if kind == END_VALVE:
                if flow != 0.0:
                    into_cylinder(exchange, target, ends[e, E_SIDE], gas, flow, y_b, y_f, h, dt)
                if ends[e, E_INJECTS] == 1 and flow > 0.0:
                    air = flow * (1.0 - y_b - y_f)
                    wanted = end[e, EF_EVAPORATED] * gas[G_FUEL_AIR] * air
                    vapour = max(wanted - flow * x[upstream + ROW_YF], 0.0)
                    exchange[target, X_SUM_SUPPLY] += vapour * dt
                    mass -= vapour
                    fuel -= vapour
                    enthalpy -= vapour * gas[G_H_LIQUID]
            elif kind != END_CLOSED:
                give(res, target, flow * dt, y_b, y_f, enthalpy * dt)
            x[face + FLUX_MASS] = outward * mass
            x[face + FLUX_MOM] = x[j + END_MOMENTUM]
            x[face + FLUX_ENE] = outward * (enthalpy - offset * fuel)
            x[face + FLUX_BURNED] = outward * flow * y_b
            x[face + FLUX_FUEL] = outward * fuel
            x[outer + FLUX_MASS] = 0.0
            x[outer + FLUX_MOM] = 0.0
            x[outer + FLUX_ENE] = 0.0
            x[outer + FLUX_BURNED] = 0.0
            x[outer + FLUX_FUEL] = 0.0
            face += n
            outer = face + one
            upstream = face - (np.uint64(2) if n > one else one)
            outward = 1.0


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
    Source: as :mod:`enginesim.kernels.ends`.
    """
    if last <= first:
        return
    n_in, n_throttled, n_free = gather_ends(x, ducts, first, last, ends, end, res, cyl, exchange)
    # Whole fours: the columns beside may hold anything, nobody reads them.
    three = np.uint64(3)
    m_in = (n_in + three) & _FOURS
    m_throttled = (n_throttled + three) & _FOURS
    m_free = (n_free + three) & _FOURS
    entering = np.uint64(ducts[first, D_GROUP]) * _BLOCK
    throttled = entering + _THROTTLED
    free = entering + _COLUMNS - m_free
    entering_faces(x, entering, m_in)
    throttled_faces(x, throttled, m_throttled)
    free_faces(x, free, m_free)
    bracketed_faces(x, entering, n_in)
    bracketed_faces(x, throttled, n_throttled)
    bracketed_faces(x, free + m_free - n_free, n_free)
    end_flows(x, entering, m_in, gas)
    end_flows(x, throttled, m_throttled, gas)
    end_flows(x, free, m_free, gas)
    share_out(x, ducts, first, last, ends, end, res, exchange, gas, dt)
