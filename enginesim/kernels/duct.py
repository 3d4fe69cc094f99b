"""How does gas move through a duct in one time step?

Quasi-one-dimensional Euler equations with area change, wall friction, wall heat and two passive
scalars: MUSCL-Hancock with the monotonised-central limiter and the HLLC flux. Each function is
one pass over n - 2 cells or faces of a group of ducts, so that the compiler vectorises it. Fastest
where n - 2 is a multiple of four, n about a hundred and cell 1 begins a cache line.
"""

from __future__ import annotations

import math

import numpy as np

from enginesim.base.formula import formula
from enginesim.base.jit import kernel
from enginesim.kernels.arrays import Vector
from enginesim.kernels.gas import fuel_offset, polynomial_pair
from enginesim.kernels.layout import (
    BLOCK,
    G_AIR,
    G_BURNED,
    G_FUEL,
    G_R,
)
from enginesim.kernels.offsets import (
    FLUX_BURNED,
    FLUX_ENE,
    FLUX_FUEL,
    FLUX_MASS,
    FLUX_MOM,
    LEFT_E,
    LEFT_P,
    LEFT_RHO,
    LEFT_U,
    LEFT_YB,
    LEFT_YF,
    RIGHT_E,
    RIGHT_P,
    RIGHT_RHO,
    RIGHT_U,
    RIGHT_YB,
    RIGHT_YF,
    ROW_A,
    ROW_AREA,
    ROW_BURNED,
    ROW_CONDUCTANCE,
    ROW_E,
    ROW_ENE,
    ROW_FRICTION,
    ROW_FUEL,
    ROW_HEAT_SUM,
    ROW_INVERSE_AREA,
    ROW_INVERSE_DX,
    ROW_INVERSE_VOLUME,
    ROW_MEAN_AREA,
    ROW_MOM,
    ROW_P,
    ROW_RHO,
    ROW_SOURCE,
    ROW_SPEED,
    ROW_T,
    ROW_T_WALL,
    ROW_TAPER,
    ROW_U,
    ROW_YB,
    ROW_YF,
)


@formula
def half_slope(before: float, here: float, after: float) -> float:
    """
    Half of the monotonised-central difference across a cell.

    Parameters
    ----------
    before, here, after : float
        Value in the cell before, in the cell and in the cell after. [-]

    Returns
    -------
    float
        Limited difference from the middle of the cell to its right edge. [-]

    Notes
    -----
    A quarter of the central difference, held between zero and the smaller of the two one-sided
    ones: the usual limiter with all its terms halved. Source: B. van Leer, J. Comput. Phys. 23
    (1977) 276.
    """
    backward = here - before
    forward = after - here
    upper = max(min(backward, forward), 0.0)
    lower = min(max(backward, forward), 0.0)
    return min(max(0.25 * (after - before), lower), upper)


@kernel
def half_states(x: Vector, group: int, n: int, dt: float) -> None:
    """
    Edge and mid-cell states half a step ahead, for cells 1 to n - 2 of a group.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer. [-]
    group : int
        Which group. [-]
    n : int
        Cells of the group, ghosts included. [-]
    dt : float
        Time step. [s]

    Notes
    -----
    Predictor of MUSCL-Hancock in primitive variables with the area source, so that gas at rest
    stays at rest in any taper. Edge density and pressure are kept above a tenth of the cell's.
    The momentum source of the whole step (area and friction, at mid-cell half a step ahead) is left
    for :func:`update`. All slopes here are half differences across the cell.

    The slope of velocity is that of the volume flow, u times area: u jumps where the area does, and
    a Riemann solver would take the jump for a wave (a sudden 4:1 step then reflects a fifth too
    little, on any mesh), while the volume flow of a long wave does not.
    Source: E. F. Toro, *Riemann Solvers and Numerical Methods for Fluid Dynamics*, Springer, 2009,
    ch. 14; primitive form by B. van Leer, J. Comput. Phys. 32 (1979) 101.
    """
    base = np.uint64(group * BLOCK)
    one = np.uint64(1)
    half = 0.5 * dt
    for i in range(np.uint64(n - 2)):
        j = base + i + one
        rho = x[j + ROW_RHO]
        u = x[j + ROW_U]
        p = x[j + ROW_P]
        yb = x[j + ROW_YB]
        yf = x[j + ROW_YF]
        e = x[j + ROW_E]
        d_rho = half_slope(x[j + ROW_RHO - one], rho, x[j + ROW_RHO + one])
        size = x[j + ROW_MEAN_AREA]
        d_flow = half_slope(
            x[j + ROW_U - one] * x[j + ROW_MEAN_AREA - one],
            u * size,
            x[j + ROW_U + one] * x[j + ROW_MEAN_AREA + one],
        )
        d_p = half_slope(x[j + ROW_P - one], p, x[j + ROW_P + one])
        d_yb = half_slope(x[j + ROW_YB - one], yb, x[j + ROW_YB + one])
        d_yf = half_slope(x[j + ROW_YF - one], yf, x[j + ROW_YF + one])
        d_e = half_slope(x[j + ROW_E - one], e, x[j + ROW_E + one])
        a = x[j + ROW_A]
        taper = x[j + ROW_TAPER]
        friction = x[j + ROW_FRICTION]
        c = dt * x[j + ROW_INVERSE_DX]
        cu = c * u
        v = 1.0 / rho
        stretch = dt * x[j + ROW_INVERSE_VOLUME] * d_flow
        rho_h = rho - cu * d_rho - rho * stretch
        u_h = u - c * d_p * v - u * (stretch + half * (friction * abs(u) - u * taper))
        flow_h = u_h * size
        p_h = p - cu * d_p - rho * a * a * stretch
        yb_h = yb - cu * d_yb
        yf_h = yf - cu * d_yf
        e_h = e - cu * d_e - p * v * stretch
        least_rho = 0.1 * rho
        least_p = 0.1 * p
        x[j + ROW_SOURCE] = p_h * taper - friction * rho_h * u_h * abs(u_h)
        x[j + LEFT_RHO] = max(rho_h - d_rho, least_rho)
        x[j + LEFT_U] = (flow_h - d_flow) * x[j + ROW_INVERSE_AREA]
        x[j + LEFT_P] = max(p_h - d_p, least_p)
        x[j + LEFT_YB] = yb_h - d_yb
        x[j + LEFT_YF] = yf_h - d_yf
        x[j + LEFT_E] = e_h - d_e
        x[j + RIGHT_RHO] = max(rho_h + d_rho, least_rho)
        x[j + RIGHT_U] = (flow_h + d_flow) * x[j + ROW_INVERSE_AREA + one]
        x[j + RIGHT_P] = max(p_h + d_p, least_p)
        x[j + RIGHT_YB] = yb_h + d_yb
        x[j + RIGHT_YF] = yf_h + d_yf
        x[j + RIGHT_E] = e_h + d_e


@kernel
def face_fluxes(x: Vector, group: int, n: int) -> None:
    """
    HLLC fluxes times area through the faces 1 to n - 2 of a group.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer. [-]
    group : int
        Which group. [-]
    n : int
        Cells of the group, ghosts included. [-]

    Notes
    -----
    Sound speed is the cell's, wave speeds are Davis's bounds, scalars travel with the mass flux.
    Faces beside a ghost get a value that means nothing; the ends of the ducts overwrite it.

    The bounds are held at zero or beyond it on their own side: with a bound of zero the star flux
    *is* the flux of the state behind it, so supersonic faces need no case of their own. `push` over
    `weight` is the contact's speed :math:`s_m`, and `k` is :math:`s_m / (s - s_m)`, found without
    waiting for :math:`s_m`.

    Source: E. F. Toro, M. Spruce, W. Speares, Shock Waves 4 (1994) 25; S. F. Davis, SIAM J. Sci.
    Stat. Comput. 9 (1988) 445; star fluxes as P. Batten et al., SIAM J. Sci. Comput. 18 (1997)
    1553, from memory.
    """
    base = np.uint64(group * BLOCK)
    one = np.uint64(1)
    for i in range(np.uint64(n - 2)):
        j = base + i + one
        h = j - one
        rho_l = x[h + RIGHT_RHO]
        u_l = x[h + RIGHT_U]
        p_l = x[h + RIGHT_P]
        rho_r = x[j + LEFT_RHO]
        u_r = x[j + LEFT_U]
        p_r = x[j + LEFT_P]
        a_l = x[h + ROW_A]
        a_r = x[j + ROW_A]
        s_l = min(min(u_l - a_l, u_r - a_r), 0.0)
        s_r = max(max(u_l + a_l, u_r + a_r), 0.0)
        m_l = rho_l * (s_l - u_l)
        m_r = rho_r * (s_r - u_r)
        push = p_r - p_l + m_l * u_l - m_r * u_r
        weight = m_l - m_r
        e_l = x[h + RIGHT_E] + 0.5 * u_l * u_l
        e_r = x[j + LEFT_E] + 0.5 * u_r * u_r
        from_left = push <= 0.0
        u = u_l if from_left else u_r
        p = p_l if from_left else p_r
        s = s_l if from_left else s_r
        m = m_l if from_left else m_r
        e = e_l if from_left else e_r
        s_m = push / weight
        k = push / (s * weight - push)
        p_m = p + m * (s_m - u)
        mass = k * m
        area = x[j + ROW_AREA]
        flow = mass * area
        outward = max(flow, 0.0)
        inward = min(flow, 0.0)
        x[j + FLUX_MASS] = flow
        x[j + FLUX_MOM] = (mass * s_m + p_m) * area
        x[j + FLUX_ENE] = (mass * e + k * (p_m * s_m - p * u) + p_m * s_m) * area
        x[j + FLUX_BURNED] = outward * x[h + RIGHT_YB] + inward * x[j + LEFT_YB]
        x[j + FLUX_FUEL] = outward * x[h + RIGHT_YF] + inward * x[j + LEFT_YF]


@kernel
def update(x: Vector, group: int, n: int, dt: float, gas: Vector) -> None:
    """
    New conserved and primitive states of cells 1 to n - 2 of a group.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer. [-]
    group : int
        Which group. [-]
    n : int
        Cells of the group, ghosts included. [-]
    dt : float
        Time step. [s]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]

    Notes
    -----
    Temperature by one Newton step from the old one: what is left over is of second order in the
    change over one step and does not add up, since the next step starts from the energy, which
    stays exactly conserved. Wall heat at the old temperature.
    Source: finite-volume form; R. J. LeVeque, *Finite Volume Methods for Hyperbolic Problems*,
    Cambridge, 2002, ch. 17 (sources), from memory.
    """
    base = np.uint64(group * BLOCK)
    one = np.uint64(1)
    k0, k1, k2, k3, k4 = gas[G_AIR], gas[G_AIR + 1], gas[G_AIR + 2], gas[G_AIR + 3], gas[G_AIR + 4]
    k5, k6, k7, k8, k9 = (
        gas[G_AIR + 5],
        gas[G_AIR + 6],
        gas[G_AIR + 7],
        gas[G_AIR + 8],
        gas[G_AIR + 9],
    )
    f0, f1, f2, f3, f4 = (
        gas[G_FUEL] - fuel_offset(gas),
        gas[G_FUEL + 1],
        gas[G_FUEL + 2],
        gas[G_FUEL + 3],
        gas[G_FUEL + 4],
    )
    f5, f6, f7, f8, f9 = (
        gas[G_FUEL + 5],
        gas[G_FUEL + 6],
        gas[G_FUEL + 7],
        gas[G_FUEL + 8],
        gas[G_FUEL + 9],
    )
    b0, b1, b2, b3, b4 = (
        gas[G_BURNED],
        gas[G_BURNED + 1],
        gas[G_BURNED + 2],
        gas[G_BURNED + 3],
        gas[G_BURNED + 4],
    )
    b5, b6, b7, b8, b9 = (
        gas[G_BURNED + 5],
        gas[G_BURNED + 6],
        gas[G_BURNED + 7],
        gas[G_BURNED + 8],
        gas[G_BURNED + 9],
    )
    r_air, r_fuel, r_burned = gas[G_R], gas[G_R + 1], gas[G_R + 2]
    for i in range(np.uint64(n - 2)):
        j = base + i + one
        w = dt * x[j + ROW_INVERSE_VOLUME]
        t_old = x[j + ROW_T]
        heat = dt * x[j + ROW_CONDUCTANCE] * (x[j + ROW_T_WALL] - t_old)
        rho = x[j + ROW_RHO] + w * (x[j + FLUX_MASS] - x[j + FLUX_MASS + one])
        mom = (
            x[j + ROW_MOM] + w * (x[j + FLUX_MOM] - x[j + FLUX_MOM + one]) + dt * x[j + ROW_SOURCE]
        )
        ene = x[j + ROW_ENE] + w * (x[j + FLUX_ENE] - x[j + FLUX_ENE + one]) + heat
        burned = x[j + ROW_BURNED] + w * (x[j + FLUX_BURNED] - x[j + FLUX_BURNED + one])
        fuel = x[j + ROW_FUEL] + w * (x[j + FLUX_FUEL] - x[j + FLUX_FUEL + one])
        v = 1.0 / rho
        u = mom * v
        e = ene * v - 0.5 * u * u
        yb = burned * v
        yf = fuel * v
        c0 = k0 + yf * f0 + yb * b0
        c1 = k1 + yf * f1 + yb * b1
        c2 = k2 + yf * f2 + yb * b2
        c3 = k3 + yf * f3 + yb * b3
        c4 = k4 + yf * f4 + yb * b4
        c5 = k5 + yf * f5 + yb * b5
        d2 = k6 + yf * f6 + yb * b6
        d3 = k7 + yf * f7 + yb * b7
        d4 = k8 + yf * f8 + yb * b8
        d5 = k9 + yf * f9 + yb * b9
        e_old, cv = polynomial_pair(t_old, c0, c1, c2, c3, c4, c5, d2, d3, d4, d5)
        inverse_cv = 1.0 / cv
        t = t_old + inverse_cv * (e - e_old)
        r = r_air + yf * r_fuel + yb * r_burned
        rt = r * t
        a = math.sqrt((1.0 + r * inverse_cv) * rt)
        x[j + ROW_RHO] = rho
        x[j + ROW_MOM] = mom
        x[j + ROW_ENE] = ene
        x[j + ROW_BURNED] = burned
        x[j + ROW_FUEL] = fuel
        x[j + ROW_U] = u
        x[j + ROW_P] = rho * rt
        x[j + ROW_T] = t
        x[j + ROW_YB] = yb
        x[j + ROW_YF] = yf
        x[j + ROW_A] = a
        x[j + ROW_E] = e
        x[j + ROW_HEAT_SUM] += heat
        x[j + ROW_SPEED] = (abs(u) + a) * x[j + ROW_INVERSE_DX]
