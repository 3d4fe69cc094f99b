"""Which states stand at the faces of many duct ends at once?

The same equations as :mod:`enginesim.kernels.ends`, solved for four ends at a time: ends lie side
by side in scratch rows of the duct buffer, no loop branches, and Newton's method takes a fixed
number of rounds from the roots of the step before. An end that this does not suit (flow that has
just turned, sonic flow, a strong wave, a restriction that gas leaves through) is marked in row
`F_MISSED` and left to the bracketed solver.
"""

from __future__ import annotations

import math

import numpy as np

from enginesim.base.formula import formula
from enginesim.base.jit import kernel
from enginesim.formulas.powers import LEAST, MOST, near_exp, near_log, near_one_power
from enginesim.kernels.arrays import Vector
from enginesim.kernels.ends import CLOSE, entering_balance, face_state, leaving_balance
from enginesim.kernels.gas import energy, gas_constant
from enginesim.kernels.offsets import (
    END_AREA,
    END_FACE_P,
    END_FACE_RHO,
    END_FACE_U,
    END_FLOW,
    END_GAMMA,
    END_GAMMA_RES,
    END_H,
    END_H_RES,
    END_MISSED,
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
)

_STRAY_IN, _STRAY_OUT = 0.01, 0.004  # relative changes for which near_one_power holds


@formula
def _entering_step(
    v: float,
    v_first: float,
    y_first: float,
    pace: float,
    relation: float,
    slant_res: float,
    share: float,
) -> float:
    """One Newton step of :func:`enginesim.kernels.ends.entering_velocity`, subsonic throat."""
    d = (v - v_first) * pace
    rise = near_one_power(d, relation - 1.0)
    y = y_first * rise * (1.0 + d)
    f, slope = entering_balance(v, y, y_first * rise * relation * pace, slant_res, share)
    return v - f / slope


@kernel
def entering_faces(x: Vector, first: np.uint64, n: np.uint64) -> None:
    """
    Faces of ends that gas enters through.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer; gets rows F_NEW_ROOT to F_MISSED. [-]
    first, n : np.uint64
        Where the first column lies in the buffer, and number of columns. [-]

    Notes
    -----
    Powers of the guess are found once and corrected for the way to the root by a short series.
    Source: as :mod:`enginesim.kernels.ends`.
    """
    for i in range(n):
        j = first + i
        rho = x[j + END_RHO]
        p = x[j + END_P]
        gamma = x[j + END_GAMMA]
        ratio = x[j + END_RATIO_IN]
        p_res = x[j + END_P_RES]
        t_res = x[j + END_T_RES]
        gamma_res = x[j + END_GAMMA_RES]
        r_res = x[j + END_R_RES]
        v0 = -x[j + END_ROOT]
        slant = 0.5 * (gamma - 1.0)
        slant_res = 0.5 * (gamma_res - 1.0)
        a = math.sqrt(gamma * p / rho)
        a_res = math.sqrt(gamma_res * r_res * t_res)
        inverse_a = 1.0 / a
        x_wall = 1.0 + slant * x[j + END_U] * inverse_a
        rate = a_res * inverse_a * slant
        x0 = x_wall + v0 * rate
        pace = rate / x0
        # p_face/p = x^(n + 2), and n + 2 is gamma over slant
        power = gamma / slant
        power_res = slant_res / gamma_res
        relation = power * power_res
        share = ratio * ratio / slant_res
        rise = p / p_res
        log0 = near_log(x0)
        y0 = near_exp(power_res * near_log(rise) + relation * log0)
        v = _entering_step(v0, v0, y0, pace, relation, slant_res, share)
        v = _entering_step(v, v0, y0, pace, relation, slant_res, share)
        last = v
        v = _entering_step(v, v0, y0, pace, relation, slant_res, share)
        stray = (v - v0) * pace
        p_face = p * near_exp(power * log0) * near_one_power(stray, power)
        t_face = t_res * (1.0 - slant_res * v * v)
        is_fit = (abs(v - last) < CLOSE * v) & (v > 0.0) & (ratio > 0.0)
        is_near = (rise > LEAST) & (rise < MOST) & (x0 > LEAST) & (x0 < MOST)
        # With a positive v and p_face below p_res the root is in its bracket; above 0.6 of it
        # neither throat nor face is sonic, for any ratio of heats up to 5/3.
        is_slow = (p_face > 0.6 * p_res) & (p_face < p_res) & (abs(stray) < _STRAY_IN)
        x[j + END_FACE_RHO] = p_face / (r_res * t_face)
        x[j + END_FACE_U] = -v * a_res
        x[j + END_FACE_P] = p_face
        x[j + END_NEW_ROOT] = -v
        x[j + END_MISSED] = 0.0 if is_fit & is_near & is_slow else 1.0


@formula
def _leaving_step(
    w: float,
    w_first: float,
    z2_first: float,
    pace: float,
    x_wall: float,
    x_res2: float,
    slant: float,
    n: float,
    share: float,
) -> float:
    """One Newton step of :func:`enginesim.kernels.ends.leaving_velocity`, subsonic throat."""
    d = (w_first - w) * pace
    z2 = z2_first * near_one_power(d, -2.0 * n)
    x = x_wall - w * slant
    f, slope = leaving_balance(w, x, n * (x * x - x_res2) + w * w, z2, share)
    return w - f / slope


@kernel
def throttled_faces(x: Vector, first: np.uint64, n: np.uint64) -> None:
    """
    Faces of ends that gas leaves through a restriction.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer; gets rows F_NEW_ROOT to F_MISSED. [-]
    first, n : np.uint64
        Where the first column lies in the buffer, and number of columns. [-]

    Notes
    -----
    Powers as in :func:`entering_faces`. Source: as :mod:`enginesim.kernels.ends`.
    """
    for i in range(n):
        j = first + i
        rho = x[j + END_RHO]
        p = x[j + END_P]
        gamma = x[j + END_GAMMA]
        ratio = x[j + END_RATIO_OUT]
        w0 = x[j + END_ROOT]
        slant = 0.5 * (gamma - 1.0)
        n_gas = 1.0 / slant
        a = math.sqrt(gamma * p / rho)
        x_wall = 1.0 + slant * x[j + END_U] / a
        x0 = x_wall - w0 * slant
        pace = slant / x0
        inverse_gamma = 1.0 / gamma
        rise = x[j + END_P_RES] / p
        log_rise = near_log(rise)
        log0 = near_log(x0)
        x_res2 = near_exp(2.0 * slant * inverse_gamma * log_rise)
        z2 = near_exp(2.0 * (inverse_gamma * log_rise - n_gas * log0))
        share = ratio * ratio
        w = _leaving_step(w0, w0, z2, pace, x_wall, x_res2, slant, n_gas, share)
        w = _leaving_step(w, w0, z2, pace, x_wall, x_res2, slant, n_gas, share)
        last = w
        w = _leaving_step(w, w0, z2, pace, x_wall, x_res2, slant, n_gas, share)
        stray = (w0 - w) * pace
        density = near_exp(n_gas * log0) * near_one_power(stray, n_gas)
        x_face = x_wall - w * slant
        stagnation = x_face * x_face + slant * w * w
        is_fit = (abs(w - last) < CLOSE * w) & (w > 0.0) & (ratio > 0.0) & (ratio < 1.0)
        is_near = (rise > LEAST) & (rise < MOST) & (x0 > LEAST) & (x0 < MOST)
        # Not choked, and the face slower than the throat
        is_slow = (x_res2 * (1.0 + slant) > stagnation) & (x_face * x_face > x_res2)
        is_fit = is_fit & is_near & is_slow & (abs(stray) < _STRAY_OUT)
        is_fit = is_fit & (x_wall < 1.0 + slant)  # nor supersonic in the duct
        x[j + END_FACE_RHO] = rho * density
        x[j + END_FACE_U] = w * a
        x[j + END_FACE_P] = p * density * x_face * x_face
        x[j + END_NEW_ROOT] = w
        x[j + END_MISSED] = 0.0 if is_fit else 1.0


@kernel
def free_faces(x: Vector, first: np.uint64, n: np.uint64) -> None:
    """
    Faces of shut ends and of ends that gas leaves through with no restriction.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer; gets rows F_NEW_ROOT to F_MISSED. [-]
    first, n : np.uint64
        Where the first column lies in the buffer, and number of columns. [-]

    Notes
    -----
    Source: as :mod:`enginesim.kernels.ends`.
    """
    for i in range(n):
        j = first + i
        rho = x[j + END_RHO]
        p = x[j + END_P]
        gamma = x[j + END_GAMMA]
        ratio = x[j + END_RATIO_OUT]
        ratio_in = x[j + END_RATIO_IN]
        p_res = x[j + END_P_RES]
        slant = 0.5 * (gamma - 1.0)
        n_gas = 1.0 / slant
        inverse_gamma = 1.0 / gamma
        a = math.sqrt(gamma * p / rho)
        x_wall = 1.0 + slant * x[j + END_U] / a
        rise = p_res / p
        is_shut = max(ratio, ratio_in) <= 0.0
        base_of_power = x_wall if is_shut else rise
        log = near_log(base_of_power)
        density = near_exp((n_gas if is_shut else inverse_gamma) * log)
        x_res = near_exp(slant * inverse_gamma * log)
        w = 0.0 if is_shut else n_gas * (x_wall - x_res)
        # Gas must leave, and slower than sound, in the duct too.
        is_slow = (w < x_res) & (x_wall < 1.0 + slant)
        is_fit = is_shut | ((ratio >= 1.0) & (w > 0.0) & is_slow)
        is_fit = is_fit & (base_of_power > LEAST) & (base_of_power < MOST)
        x[j + END_FACE_RHO] = rho * density
        x[j + END_FACE_U] = w * a
        x[j + END_FACE_P] = p * density * x_wall * x_wall if is_shut else p_res
        x[j + END_NEW_ROOT] = w
        x[j + END_MISSED] = 0.0 if is_fit else 1.0


@kernel
def bracketed_faces(x: Vector, first: np.uint64, n: np.uint64) -> None:
    """
    Faces of the ends that the loops over many ends have missed.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer; gets rows F_FACE_RHO to F_FACE_P and F_ROOT. [-]
    first, n : np.uint64
        Where the first column lies in the buffer, and number of columns. [-]

    Notes
    -----
    Source: as :mod:`enginesim.kernels.ends`.
    """
    for i in range(n):
        j = first + i
        if x[j + END_MISSED] == 0.0:
            continue
        rho, u, p, root = face_state(
            x[j + END_RHO],
            x[j + END_U],
            x[j + END_P],
            x[j + END_GAMMA],
            x[j + END_RATIO_OUT],
            x[j + END_RATIO_IN],
            x[j + END_P_RES],
            x[j + END_T_RES],
            x[j + END_GAMMA_RES],
            x[j + END_R_RES],
            x[j + END_ROOT],
        )
        x[j + END_FACE_RHO] = rho
        x[j + END_FACE_U] = u
        x[j + END_FACE_P] = p
        x[j + END_NEW_ROOT] = root


@kernel
def end_flows(x: Vector, first: np.uint64, n: np.uint64, gas: Vector) -> None:
    """
    What crosses the faces of ends, outwards counted positive.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer; gets rows F_FLOW to F_H, and in F_YB and F_YF the gas that moves. [-]
    first, n : np.uint64
        Where the first column lies in the buffer, and number of columns. [-]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]

    Notes
    -----
    Source: definition.
    """
    for i in range(n):
        j = first + i
        rho = x[j + END_FACE_RHO]
        u = x[j + END_FACE_U]
        p = x[j + END_FACE_P]
        area = x[j + END_AREA]
        yb_duct = x[j + END_YB]
        yf_duct = x[j + END_YF]
        yb_res = x[j + END_YB_RES]
        yf_res = x[j + END_YF_RES]
        h_res = x[j + END_H_RES]
        inverse = 1.0 / rho
        t = p * inverse / gas_constant(gas, yb_duct, yf_duct)
        h_duct = energy(gas, t, yb_duct, yf_duct) + p * inverse + 0.5 * u * u
        leaves = u > 0.0
        h = h_duct if leaves else h_res
        y_b = yb_duct if leaves else yb_res
        y_f = yf_duct if leaves else yf_res
        x[j + END_YB] = y_b
        x[j + END_YF] = y_f
        x[j + END_FLOW] = rho * u * area
        x[j + END_MOMENTUM] = (rho * u * u + p) * area
        x[j + END_H] = h
