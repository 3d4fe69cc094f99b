"""What flows between the vessels of an engine without ducts in one step, all solved together?

Every vessel, volume or cylinder, answers what flows in and out with a change of pressure, and the
flows follow the pressures part of the step ahead: a half, which is second order, and more where a
vessel is renewed within less than a step, so that it settles instead of swinging about its balance.
Newton's method finds pressures and flows; what leaves a vessel is the mean of what it holds over
the step. Equations `vessel-answer`, `vessel-part` and `vessel-mean` of docs/theory/filling.md.
"""

from __future__ import annotations

import numpy as np

from enginesim.base.formula import formula
from enginesim.base.jit import kernel
from enginesim.formulas.openings import passage
from enginesim.kernels.arrays import Index, Table, Vector
from enginesim.kernels.vessel_layout import (
    J_AHEAD,
    J_BACK,
    J_FINISH,
    J_START,
    Q_AREA,
    Q_AREA_BACK,
    Q_AT_START,
    Q_BY_FINISH,
    Q_BY_START,
    Q_MASS,
    Q_SIDE,
    Z_COLDER,
    Z_CV,
    Z_DIAGONAL,
    Z_FORCED,
    Z_GAMMA,
    Z_MEAN_T,
    Z_P,
    Z_PART,
    Z_R,
    Z_RIGHT,
    Z_ROOM,
    Z_SEEN,
    Z_SHIFT,
    Z_SPEED,
    Z_STIFF,
)


@formula
def _linearise(drop: float, colder: float, scale: float) -> tuple[float, float]:
    """Flow per pressure upstream and per pressure downstream."""
    flow, slope = passage(drop, colder)
    slope *= scale
    return scale * flow + slope * (1.0 - drop), slope


@formula
def _answer(vessel: Table, i: np.uint64, d: np.uint64) -> float:
    """Volume times rise of pressure per mass that comes from vessel `d` into vessel `i` [J/kg]."""
    t, t_in, r_in = vessel[i, Z_MEAN_T], vessel[d, Z_MEAN_T], vessel[d, Z_R]
    capacity = 0.5 * (vessel[i, Z_CV] + vessel[d, Z_CV])
    return r_in * t + (vessel[i, Z_GAMMA] - 1.0) * (capacity * (t_in - t) + r_in * t_in)


@kernel
def linearise(vessel: Table, joint: Table, joints: Index, entry: Vector, dt: float) -> None:
    """
    Flows of all links as straight lines in the shifts, and with them the vessels' equations.

    Parameters
    ----------
    vessel : ndarray, shape (n_vessel, N_VESSEL)
        Vessels, see :mod:`enginesim.kernels.vessel_layout`. [-]
    joint : ndarray, shape (n_link, N_JOINT)
        Links of the step, linearised. [-]
    joints : ndarray, shape (n_link, 4)
        Which vessels they join, see :mod:`enginesim.network.elimination`. [-]
    entry : ndarray, shape (n_entry,)
        Gets what each vessel's equation has of its neighbours' shifts. [J/Pa]
    dt : float
        Time step. [s]

    Notes
    -----
    A flow that has turned round since the last round is linearised at balance, as seen from where
    it came: a root, followed by its tangent, would turn round for ever.
    Source: Newton's method; equation `vessel-answer` of docs/theory/filling.md.
    """
    for k in range(entry.size):
        entry[k] = 0.0
    for v in range(vessel.shape[0]):
        vessel[v, Z_DIAGONAL] = vessel[v, Z_ROOM]
        vessel[v, Z_RIGHT] = vessel[v, Z_FORCED]
        vessel[v, Z_STIFF] = 0.0
    for k in range(joints.shape[0]):
        i, j = np.uint64(joints[k, J_START]), np.uint64(joints[k, J_FINISH])
        seen_i, seen_j = vessel[i, Z_SEEN], vessel[j, Z_SEEN]
        is_forward = seen_i >= seen_j
        # A flow that turns round passes its balance first, as seen from where it comes.
        turns = joint[k, Q_SIDE] * (seen_i - seen_j) < 0.0
        if turns:
            is_forward = not is_forward
        joint[k, Q_SIDE] = 0.0 if turns else (1.0 if is_forward else -1.0)
        area = joint[k, Q_AREA] if is_forward else joint[k, Q_AREA_BACK]
        if area <= 0.0:
            joint[k, Q_AT_START] = 0.0
            joint[k, Q_BY_START] = 0.0
            joint[k, Q_BY_FINISH] = 0.0
            continue
        if is_forward:
            drop = 0.0 if turns else (seen_i - seen_j) / seen_i
            up, down = _linearise(drop, vessel[i, Z_COLDER], area * vessel[i, Z_SPEED])
            by_i, by_j = up, down
            out_i = vessel[i, Z_GAMMA] * vessel[i, Z_R] * vessel[i, Z_MEAN_T]
            out_j = _answer(vessel, j, i)
        else:
            drop = 0.0 if turns else (seen_j - seen_i) / seen_j
            up, down = _linearise(drop, vessel[j, Z_COLDER], area * vessel[j, Z_SPEED])
            by_i, by_j = down, up
            out_i = _answer(vessel, i, j)
            out_j = vessel[j, Z_GAMMA] * vessel[j, Z_R] * vessel[j, Z_MEAN_T]
        base = by_i * vessel[i, Z_P] - by_j * vessel[j, Z_P]
        vessel[i, Z_STIFF] += out_i * by_i
        vessel[j, Z_STIFF] += out_j * by_j
        by_i *= vessel[i, Z_PART]
        by_j *= vessel[j, Z_PART]
        joint[k, Q_AT_START] = base
        joint[k, Q_BY_START] = by_i
        joint[k, Q_BY_FINISH] = by_j
        out_i *= dt
        out_j *= dt
        vessel[i, Z_DIAGONAL] += out_i * by_i
        vessel[i, Z_RIGHT] -= out_i * base
        vessel[j, Z_DIAGONAL] += out_j * by_j
        vessel[j, Z_RIGHT] += out_j * base
        ahead = joints[k, J_AHEAD]
        if ahead >= 0:
            entry[np.uint64(ahead)] -= out_i * by_j
            entry[np.uint64(joints[k, J_BACK])] -= out_j * by_i


@kernel
def eliminate(vessel: Table, script: Index, starts: Index, entry: Vector) -> float:
    """
    Solve the vessels' equations for the shifts of their pressures.

    Parameters
    ----------
    vessel : ndarray, shape (n_vessel, N_VESSEL)
        Vessels, see :mod:`enginesim.kernels.vessel_layout`. [-]
    script, starts : ndarray
        The elimination, see :mod:`enginesim.network.elimination`. [-]
    entry : ndarray, shape (n_entry,)
        What each equation has of the neighbours' shifts; changed. [J/Pa]

    Returns
    -------
    float
        Largest change of a shift since the last round, over the pressure. [-]

    Notes
    -----
    Each column's diagonal outweighs the rest of it, since what one vessel gives another gets: no
    pivot need be sought. Source: Gauss's elimination.
    """
    one, three = np.uint64(1), np.uint64(3)
    at = np.uint64(0)
    for _ in range(starts.size):
        pivot, n = np.uint64(script[at]), np.uint64(script[at + one])
        at += one + one
        change = at + three * n
        inverse = 1.0 / vessel[pivot, Z_DIAGONAL]
        right = vessel[pivot, Z_RIGHT]
        for a in range(n):
            row = at + three * a
            i = np.uint64(script[row])
            own = entry[np.uint64(script[row + one])]
            share = entry[np.uint64(script[row + one + one])] * inverse
            vessel[i, Z_DIAGONAL] -= share * own
            vessel[i, Z_RIGHT] -= share * right
            for b in range(n):
                if a != b:
                    other = entry[np.uint64(script[at + three * b + one])]
                    entry[np.uint64(script[change])] -= share * other
                    change += one
        at = change
    most = 0.0
    for s in range(starts.size):
        at = np.uint64(starts[starts.size - 1 - s])
        pivot, n = np.uint64(script[at]), np.uint64(script[at + one])
        value = vessel[pivot, Z_RIGHT]
        at += one + one
        for a in range(n):
            row = at + three * a
            own = entry[np.uint64(script[row + one])]
            value -= own * vessel[np.uint64(script[row]), Z_SHIFT]
        value /= vessel[pivot, Z_DIAGONAL]
        most = max(most, abs(value - vessel[pivot, Z_SHIFT]) / vessel[pivot, Z_P])
        vessel[pivot, Z_SHIFT] = value
        vessel[pivot, Z_SEEN] = vessel[pivot, Z_P] + vessel[pivot, Z_PART] * value
    return most


@kernel
def flows(vessel: Table, joint: Table, joints: Index) -> None:
    """
    Flows of all links at the shifts found.

    Parameters
    ----------
    vessel : ndarray, shape (n_vessel, N_VESSEL)
        Vessels, see :mod:`enginesim.kernels.vessel_layout`. [-]
    joint : ndarray, shape (n_link, N_JOINT)
        Links of the step, linearised. [-]
    joints : ndarray, shape (n_link, 4)
        Which vessels they join, see :mod:`enginesim.network.elimination`. [-]

    Notes
    -----
    From the same straight lines as the shifts, so that what flows and what pressures do agree.
    Source: linearisation.
    """
    for k in range(joints.shape[0]):
        joint[k, Q_MASS] = (
            joint[k, Q_AT_START]
            + joint[k, Q_BY_START] * vessel[np.uint64(joints[k, J_START]), Z_SHIFT]
            - joint[k, Q_BY_FINISH] * vessel[np.uint64(joints[k, J_FINISH]), Z_SHIFT]
        )
