"""How does gas move through a duct in one time step?

Quasi-one-dimensional Euler equations with area change, wall friction, wall heat and two passive
scalars: MUSCL-Hancock with the monotonised-central limiter and the HLLC flux. Each function is
one pass over the cells of a group of ducts, so that the compiler vectorises it.
"""

from __future__ import annotations

import math

import numpy as np

from enginesim.base.jit import formula, kernel
from enginesim.kernels.layout import (
    BLOCK,
    G_AIR,
    G_BURNED,
    G_FUEL,
    G_R,
    R_A,
    R_AREA,
    R_BURNED,
    R_CONDUCTANCE,
    R_E,
    R_ENE,
    R_FLUX,
    R_FRICTION,
    R_FUEL,
    R_HALF_P,
    R_HALF_RHO,
    R_HALF_U,
    R_HEAT_SUM,
    R_INVERSE_DX,
    R_INVERSE_VOLUME,
    R_LEFT,
    R_MOM,
    R_P,
    R_RHO,
    R_RIGHT,
    R_SPEED,
    R_T,
    R_T_WALL,
    R_TAPER,
    R_U,
    R_YB,
    R_YF,
    STRIDE,
)
from enginesim.kernels.gas import polynomial, polynomial_slope
from enginesim.kernels.types import Vector


@formula
def limited(backward: float, forward: float) -> float:
    """
    Monotonised-central slope.

    Parameters
    ----------
    backward, forward : float
        Differences to the cell before and to the cell after. [-]

    Returns
    -------
    float
        Limited difference across the cell. [-]

    Notes
    -----
    Source: B. van Leer, J. Comput. Phys. 23 (1977) 276.
    """
    least = backward if backward < forward else forward
    most = forward if backward < forward else backward
    middle = 0.5 * (backward + forward)
    rising = min(2.0 * least, middle)
    falling = max(2.0 * most, middle)
    return max(rising, 0.0) + min(falling, 0.0)


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
    Source: E. F. Toro, *Riemann Solvers and Numerical Methods for Fluid Dynamics*, Springer, 2009,
    ch. 14; primitive form by B. van Leer, J. Comput. Phys. 32 (1979) 101.
    """
    base = np.uint64(group * BLOCK)
    one = np.uint64(1)
    row = np.uint64(STRIDE)
    half = 0.5 * dt
    for i in range(np.uint64(n - 2)):
        j = base + i + one
        rho = x[j + row * np.uint64(R_RHO)]
        u = x[j + row * np.uint64(R_U)]
        p = x[j + row * np.uint64(R_P)]
        yb = x[j + row * np.uint64(R_YB)]
        yf = x[j + row * np.uint64(R_YF)]
        a = x[j + row * np.uint64(R_A)]
        d_rho = limited(rho - x[j + row * np.uint64(R_RHO) - one],
                        x[j + row * np.uint64(R_RHO) + one] - rho)
        d_u = limited(u - x[j + row * np.uint64(R_U) - one],
                      x[j + row * np.uint64(R_U) + one] - u)
        d_p = limited(p - x[j + row * np.uint64(R_P) - one],
                      x[j + row * np.uint64(R_P) + one] - p)
        d_yb = limited(yb - x[j + row * np.uint64(R_YB) - one],
                       x[j + row * np.uint64(R_YB) + one] - yb)
        d_yf = limited(yf - x[j + row * np.uint64(R_YF) - one],
                       x[j + row * np.uint64(R_YF) + one] - yf)
        e = x[j + row * np.uint64(R_E)]
        d_e = limited(e - x[j + row * np.uint64(R_E) - one],
                      x[j + row * np.uint64(R_E) + one] - e)
        c = half * x[j + row * np.uint64(R_INVERSE_DX)]
        taper = half * u * x[j + row * np.uint64(R_TAPER)]
        stretch = c * d_u + taper
        cu = c * u
        drag = half * x[j + row * np.uint64(R_FRICTION)] * u * abs(u)
        rho_h = max(rho - cu * d_rho - rho * stretch, 0.1 * rho)
        v = 1.0 / rho
        u_h = u - cu * d_u - c * d_p * v - drag
        e_h = e - cu * d_e - p * v * stretch
        p_h = max(p - cu * d_p - rho * a * a * stretch, 0.1 * p)
        yb_h = yb - cu * d_yb
        yf_h = yf - cu * d_yf
        least_rho = 0.1 * rho
        least_p = 0.1 * p
        x[j + row * np.uint64(R_HALF_RHO)] = rho_h
        x[j + row * np.uint64(R_HALF_U)] = u_h
        x[j + row * np.uint64(R_HALF_P)] = p_h
        x[j + row * np.uint64(R_LEFT)] = max(rho_h - 0.5 * d_rho, least_rho)
        x[j + row * np.uint64(R_LEFT + 1)] = u_h - 0.5 * d_u
        x[j + row * np.uint64(R_LEFT + 2)] = max(p_h - 0.5 * d_p, least_p)
        x[j + row * np.uint64(R_LEFT + 3)] = yb_h - 0.5 * d_yb
        x[j + row * np.uint64(R_LEFT + 4)] = yf_h - 0.5 * d_yf
        x[j + row * np.uint64(R_LEFT + 5)] = e_h - 0.5 * d_e
        x[j + row * np.uint64(R_RIGHT)] = max(rho_h + 0.5 * d_rho, least_rho)
        x[j + row * np.uint64(R_RIGHT + 1)] = u_h + 0.5 * d_u
        x[j + row * np.uint64(R_RIGHT + 2)] = max(p_h + 0.5 * d_p, least_p)
        x[j + row * np.uint64(R_RIGHT + 3)] = yb_h + 0.5 * d_yb
        x[j + row * np.uint64(R_RIGHT + 4)] = yf_h + 0.5 * d_yf
        x[j + row * np.uint64(R_RIGHT + 5)] = e_h + 0.5 * d_e


@kernel
def face_fluxes(x: Vector, group: int, n: int) -> None:
    """
    HLLC fluxes times area through the faces 2 to n - 2 of a group.

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
    Faces between two ducts get a value that means nothing; their ends overwrite it.
    Source: E. F. Toro, M. Spruce, W. Speares, Shock Waves 4 (1994) 25; S. F. Davis, SIAM J. Sci.
    Stat. Comput. 9 (1988) 445.
    """
    base = np.uint64(group * BLOCK)
    one = np.uint64(1)
    row = np.uint64(STRIDE)
    for i in range(np.uint64(n - 3)):
        j = base + i + one + one
        h = j - one
        rho_l = x[h + row * np.uint64(R_RIGHT)]
        u_l = x[h + row * np.uint64(R_RIGHT + 1)]
        p_l = x[h + row * np.uint64(R_RIGHT + 2)]
        rho_r = x[j + row * np.uint64(R_LEFT)]
        u_r = x[j + row * np.uint64(R_LEFT + 1)]
        p_r = x[j + row * np.uint64(R_LEFT + 2)]
        a_l = x[h + row * np.uint64(R_A)]
        a_r = x[j + row * np.uint64(R_A)]
        s_l = min(u_l - a_l, u_r - a_r)
        s_r = max(u_l + a_l, u_r + a_r)
        m_l = rho_l * (s_l - u_l)
        m_r = rho_r * (s_r - u_r)
        s_m = (p_r - p_l + m_l * u_l - m_r * u_r) / (m_l - m_r)
        from_left = s_m >= 0.0
        yb_l = x[h + row * np.uint64(R_RIGHT + 3)]
        yb_r = x[j + row * np.uint64(R_LEFT + 3)]
        yf_l = x[h + row * np.uint64(R_RIGHT + 4)]
        yf_r = x[j + row * np.uint64(R_LEFT + 4)]
        e_l = x[h + row * np.uint64(R_RIGHT + 5)]
        e_r = x[j + row * np.uint64(R_LEFT + 5)]
        rho = rho_l if from_left else rho_r
        u = u_l if from_left else u_r
        p = p_l if from_left else p_r
        s = s_l if from_left else s_r
        m = m_l if from_left else m_r
        yb = yb_l if from_left else yb_r
        yf = yf_l if from_left else yf_r
        e = (e_l if from_left else e_r) + 0.5 * u * u
        inward = min(s_l, 0.0)
        outward = max(s_r, 0.0)
        outer = inward if from_left else outward
        rho_star = m / (s - s_m)
        mom = rho * u
        mass_flux = mom + outer * (rho_star - rho)
        mom_flux = mom * u + p + outer * (rho_star * s_m - mom)
        e_star = e + (s_m - u) * (s_m + p / m)
        ene_flux = (rho * e + p) * u + outer * (rho_star * e_star - rho * e)
        area = x[j + row * np.uint64(R_AREA)]
        x[j + row * np.uint64(R_FLUX)] = mass_flux * area
        x[j + row * np.uint64(R_FLUX + 1)] = mom_flux * area
        x[j + row * np.uint64(R_FLUX + 2)] = ene_flux * area
        x[j + row * np.uint64(R_FLUX + 3)] = mass_flux * area * yb
        x[j + row * np.uint64(R_FLUX + 4)] = mass_flux * area * yf


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
    The area source is the half-step cell pressure times the difference of the face areas; friction
    and wall heat act at the half step. Temperature by two Newton steps from the old one: their error
    is of fourth order in the change over one step, and the energy itself stays exactly conserved.
    Source: finite-volume form; R. J. LeVeque, *Finite Volume Methods for Hyperbolic Problems*,
    Cambridge, 2002, ch. 17 (sources), from memory.
    """
    base = np.uint64(group * BLOCK)
    one = np.uint64(1)
    row = np.uint64(STRIDE)
    k0, k1, k2, k3, k4 = gas[G_AIR], gas[G_AIR + 1], gas[G_AIR + 2], gas[G_AIR + 3], gas[G_AIR + 4]
    k5, k6, k7, k8, k9 = (gas[G_AIR + 5], gas[G_AIR + 6], gas[G_AIR + 7], gas[G_AIR + 8],
                          gas[G_AIR + 9])
    f0, f1, f2, f3, f4 = (gas[G_FUEL], gas[G_FUEL + 1], gas[G_FUEL + 2], gas[G_FUEL + 3],
                          gas[G_FUEL + 4])
    f5, f6, f7, f8, f9 = (gas[G_FUEL + 5], gas[G_FUEL + 6], gas[G_FUEL + 7], gas[G_FUEL + 8],
                          gas[G_FUEL + 9])
    b0, b1, b2, b3, b4 = (gas[G_BURNED], gas[G_BURNED + 1], gas[G_BURNED + 2], gas[G_BURNED + 3],
                          gas[G_BURNED + 4])
    b5, b6, b7, b8, b9 = (gas[G_BURNED + 5], gas[G_BURNED + 6], gas[G_BURNED + 7],
                          gas[G_BURNED + 8], gas[G_BURNED + 9])
    r_air, r_fuel, r_burned = gas[G_R], gas[G_R + 1], gas[G_R + 2]
    for i in range(np.uint64(n - 2)):
        j = base + i + one
        w = dt * x[j + row * np.uint64(R_INVERSE_VOLUME)]
        flux = j + row * np.uint64(R_FLUX)
        rho_h = x[j + row * np.uint64(R_HALF_RHO)]
        u_h = x[j + row * np.uint64(R_HALF_U)]
        p_h = x[j + row * np.uint64(R_HALF_P)]
        t_old = x[j + row * np.uint64(R_T)]
        push = p_h * (x[j + row * np.uint64(R_AREA) + one] - x[j + row * np.uint64(R_AREA)])
        drag = dt * x[j + row * np.uint64(R_FRICTION)] * rho_h * u_h * abs(u_h)
        heat = dt * x[j + row * np.uint64(R_CONDUCTANCE)] * (x[j + row * np.uint64(R_T_WALL)] - t_old)
        rho = x[j + row * np.uint64(R_RHO)] + w * (x[flux] - x[flux + one])
        mom = x[j + row * np.uint64(R_MOM)] + w * (
            x[flux + row] - x[flux + row + one] + push) - drag
        ene = x[j + row * np.uint64(R_ENE)] + w * (
            x[flux + row * np.uint64(2)] - x[flux + row * np.uint64(2) + one]) + heat
        burned = x[j + row * np.uint64(R_BURNED)] + w * (
            x[flux + row * np.uint64(3)] - x[flux + row * np.uint64(3) + one])
        fuel = x[j + row * np.uint64(R_FUEL)] + w * (
            x[flux + row * np.uint64(4)] - x[flux + row * np.uint64(4) + one])
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
        cv = polynomial_slope(t_old, c1, c2, c3, c4, c5, d2, d3, d4, d5)
        inverse_cv = 1.0 / cv
        t = t_old + inverse_cv * (
            e - polynomial(t_old, c0, c1, c2, c3, c4, c5, d2, d3, d4, d5))
        r = r_air + yf * r_fuel + yb * r_burned
        rt = r * t
        a = math.sqrt((1.0 + r * inverse_cv) * rt)
        x[j + row * np.uint64(R_RHO)] = rho
        x[j + row * np.uint64(R_MOM)] = mom
        x[j + row * np.uint64(R_ENE)] = ene
        x[j + row * np.uint64(R_BURNED)] = burned
        x[j + row * np.uint64(R_FUEL)] = fuel
        x[j + row * np.uint64(R_U)] = u
        x[j + row * np.uint64(R_P)] = rho * rt
        x[j + row * np.uint64(R_T)] = t
        x[j + row * np.uint64(R_YB)] = yb
        x[j + row * np.uint64(R_YF)] = yf
        x[j + row * np.uint64(R_A)] = a
        x[j + row * np.uint64(R_E)] = e
        x[j + row * np.uint64(R_HEAT_SUM)] += heat
        x[j + row * np.uint64(R_SPEED)] = (abs(u) + a) * x[j + row * np.uint64(R_INVERSE_DX)]
