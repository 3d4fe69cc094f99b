"""What state stands at the end of a duct that meets a valve, a volume or the open air?

One solver for all three. The wave that leaves the duct and the compressible flow through the
restriction are matched at the face: the unknown is the face velocity, from which the simple-wave
relation gives the face pressure. The same mass and enthalpy then leave one side and enter the
other. In the formulas velocities are divided by the sound speed of the gas that moves, `n` is
2/(gamma - 1), and x is the sound speed at the face over that in the duct.
"""

from __future__ import annotations

import math

from enginesim.base.formula import formula
from enginesim.formulas.powers import power

_ROUNDS = 40
CLOSE = 1e-4  # a Newton step below this, relative, leaves an error of about its square


@formula
def leaving_balance(w: float, x: float, wt2: float, z2: float, share: float) -> tuple[float, float]:
    """
    Continuity of gas that leaves with a subsonic throat, squared; zero at the root.

    Parameters
    ----------
    w : float
        Face velocity over the duct's sound speed. [-]
    x : float
        Sound-speed ratio at the face. [-]
    wt2 : float
        Square of the throat's velocity over the duct's sound speed. [-]
    z2 : float
        Square of the throat's density over that of the face. [-]
    share : float
        Square of effective area over duct area. [-]

    Returns
    -------
    tuple of float
        Value and slope in `w`. [-]

    Notes
    -----
    Source: as :func:`leaving_velocity`.
    """
    part = share * z2
    return w * w - part * wt2, 2.0 * (w - part * (wt2 / x + w - x))


@formula
def leaving_velocity(n: float, x_wall: float, x_out: float, ratio: float, guess: float) -> float:
    r"""
    Face velocity of gas that leaves a duct through a restriction.

    Parameters
    ----------
    n : float
        2/(gamma - 1). [-]
    x_wall : float
        Sound-speed ratio if the end were shut; above `x_out`. [-]
    x_out : float
        Sound-speed ratio at the reservoir's pressure. [-]
    ratio : float
        Effective area over duct area, 0 to 1. [-]
    guess : float
        Start. [-]

    Returns
    -------
    float
        Velocity over the duct's sound speed. [-]

    Notes
    -----
    With :math:`x = x_{wall} - w/n` the throat (at the reservoir's pressure, or sonic) has
    :math:`w_t^2 = w^2 + n (x^2 - x_t^2)` and continuity reads
    :math:`w = \phi\,(x_t/x)^n w_t`; its squared form is smooth and is solved by Newton's method
    inside a bracket from rest to a sonic face.

    Source: J. H. Horlock, D. E. Winterbone, *The Thermodynamics and Gas Dynamics of Internal
    Combustion Engines*, vol. 2, Oxford, 1986 (outflow through a nozzle), from memory.
    """
    slant = 1.0 / n
    critical = 1.0 / (1.0 + slant)
    sonic = critical * x_wall
    if ratio >= 1.0:
        return min(n * (x_wall - x_out), sonic)
    low = 0.0
    high = min(sonic, n * (x_wall - x_out))
    w = guess if low < guess < high else 0.5 * high
    share = ratio * ratio
    x_out2 = x_out * x_out
    for _ in range(_ROUNDS):
        x = x_wall - w * slant
        inverse = 1.0 / x
        stagnation = x * x + w * w * slant
        xt2 = critical * stagnation
        if x_out2 > xt2:
            wt2 = max(n * (stagnation - x_out2), 0.0)
            z2 = power(x_out2 * inverse * inverse, n)
            f, slope = leaving_balance(w, x, wt2, z2, share)
        else:
            z2 = power(xt2 * inverse * inverse, n)
            d_wt2 = 2.0 * critical * slant * (w - x)
            d_z2 = z2 * (2.0 * (w - x) / stagnation + 2.0 * inverse)
            f = w * w - share * z2 * xt2
            slope = 2.0 * w - share * (d_z2 * xt2 + z2 * d_wt2)
        if f > 0.0:
            high = w
        else:
            low = w
        new = w - f / slope if slope > 0.0 else 0.5 * (low + high)
        if not low < new < high:
            new = 0.5 * (low + high)
        move = abs(new - w)
        w = new
        if move < CLOSE * w + 1e-15:
            break
    return w


@formula
def entering_balance(
    v: float, y: float, d_y: float, slant_out: float, share: float
) -> tuple[float, float]:
    """
    Continuity of gas that enters with a subsonic throat, squared; zero at the root.

    Parameters
    ----------
    v : float
        Inward velocity over the reservoir's sound speed. [-]
    y, d_y : float
        Sound-speed ratio of an isentrope from reservoir to face, and its slope in `v`. [-]
    slant_out : float
        (gamma - 1)/2 of the gas in the reservoir. [-]
    share : float
        Square of effective area over duct area, over `slant_out`. [-]

    Returns
    -------
    tuple of float
        Value and slope in `v`; both fall from rest to the root. [-]

    Notes
    -----
    Source: as :func:`entering_velocity`.
    """
    v2 = v * v
    y2 = y * y
    room = 1.0 - v2 * slant_out
    gap = 1.0 - y2
    part = share * room
    drop = part * room * y + 2.0 * v2 * y2 * y
    wane = 2.0 * part * gap * slant_out + y2 * y2
    return part * gap * room - v2 * y2 * y2, -2.0 * (drop * d_y + v * wane)


@formula
def entering_velocity(
    n: float, x_wall: float, x_out: float, a_ratio: float, n_out: float, ratio: float, guess: float
) -> float:
    r"""
    Face velocity of gas that enters a duct from a reservoir through a restriction.

    Parameters
    ----------
    n : float
        2/(gamma - 1) of the gas in the duct. [-]
    x_wall : float
        Sound-speed ratio if the end were shut; below `x_out`. [-]
    x_out : float
        Sound-speed ratio at the reservoir's pressure. [-]
    a_ratio : float
        Sound speed of the reservoir over that of the duct. [-]
    n_out : float
        2/(gamma - 1) of the gas in the reservoir. [-]
    ratio : float
        Effective area over duct area, 0 to 1. [-]
    guess : float
        Start. [-]

    Returns
    -------
    float
        Inward velocity over the reservoir's sound speed, at most sonic at the face. [-]

    Notes
    -----
    Isentropic to the throat, whose static pressure is the face's (no recovery), then mixing to the
    duct area at constant stagnation enthalpy. With :math:`y = (p_{face}/p_{res})^{(\gamma-1)/2
    \gamma}` continuity reads :math:`v\,y^2 = \phi \sqrt{n (1-y^2)}\,(1 - v^2/n)`, or, choked,
    :math:`v\,y^{n+2} = \phi\,y_*^{n+1} (1 - v^2/n)`. A supersonic face is held at sonic.

    Source: as :func:`leaving_velocity` (inflow, constant-pressure model), from memory.
    """
    slant_out = 1.0 / n_out
    critical = 1.0 / (1.0 + slant_out)
    sonic = math.sqrt(critical)
    relation = (n + 2.0) / (n_out + 2.0)
    rate = a_ratio / n
    inverse_out = 1.0 / x_out
    low = 0.0
    high = min(sonic, (x_out - x_wall) / rate)
    v = guess if low < guess < high else 0.5 * high
    share = ratio * ratio * n_out
    for _ in range(_ROUNDS):
        x = x_wall + v * rate
        y = power(max(x * inverse_out, 1e-6), relation)
        d_y = relation * y * rate / x
        room = 1.0 - v * v * slant_out
        if y * y > critical:
            f, slope = entering_balance(v, y, d_y, slant_out, share)
        else:
            choked = ratio * power(critical, 0.5 * (n_out + 1.0))
            rise = power(y, n_out + 2.0)
            f = choked * room - v * rise
            slope = -2.0 * choked * v * slant_out - rise - v * (n_out + 2.0) * rise / y * d_y
        if f > 0.0:
            low = v
        else:
            high = v
        new = v - f / slope if slope < 0.0 else 0.5 * (low + high)
        if not low < new < high:
            new = 0.5 * (low + high)
        move = abs(new - v)
        v = new
        if move < CLOSE * v + 1e-15:
            break
    return v


@formula
def face_state(
    rho: float,
    u: float,
    p: float,
    gamma: float,
    ratio_out: float,
    ratio_in: float,
    p_res: float,
    t_res: float,
    gamma_res: float,
    r_res: float,
    guess: float,
) -> tuple[float, float, float, float]:
    """
    Density, outward velocity and pressure at the face of a duct's end.

    Parameters
    ----------
    rho, u, p : float
        Density [kg/m3], outward velocity [m/s] and pressure [Pa] of the duct at its end.
    gamma : float
        Ratio of specific heats in the duct. [-]
    ratio_out, ratio_in : float
        Effective area over duct area for gas leaving and entering; 0 for a shut end. [-]
    p_res, t_res : float
        Pressure [Pa] and temperature [K] of the reservoir, at rest.
    gamma_res : float
        Ratio of specific heats in the reservoir. [-]
    r_res : float
        Gas constant in the reservoir. [J/(kg K)]
    guess : float
        Root of the step before: outward velocity over the sound speed of the moving gas. [-]

    Returns
    -------
    tuple of float
        Density [kg/m3], outward velocity [m/s], pressure [Pa], root. [-]

    Notes
    -----
    The wave is a simple one (isentropic): for pressure ratios met here the difference to a shock
    is of third order. A supersonic stream leaves as it comes, unless the restriction or the
    pressure beyond lets less through: then a shock has to walk into the duct. Source: as
    :func:`leaving_velocity`.
    """
    slant = 0.5 * (gamma - 1.0)
    n = 1.0 / slant
    a = math.sqrt(gamma * p / rho)
    x_wall = max(1.0 + slant * u / a, 0.05)
    if ratio_out <= 0.0 and ratio_in <= 0.0:
        rise = power(x_wall, n)
        return rho * rise, 0.0, p * rise * x_wall * x_wall, 0.0
    x_res = power(p_res / p, slant / gamma)
    leaves = x_wall > x_res
    ratio = ratio_out if leaves else ratio_in
    if ratio <= 0.0 or abs(x_wall - x_res) < 1e-15:
        rise = power(x_wall, n)
        return rho * rise, 0.0, p * rise * x_wall * x_wall, 0.0
    if leaves:
        w = leaving_velocity(n, x_wall, x_res, ratio, guess)
        x = x_wall - w * slant
        rise = power(x, n)
        if u > a and rise * w * a >= u:
            return rho, u, p, w  # supersonic: it leaves as it is, the end cannot draw more
        return rho * rise, w * a, p * rise * x * x, w
    n_res = 2.0 / (gamma_res - 1.0)
    a_res = math.sqrt(gamma_res * r_res * t_res)
    a_ratio = a_res / a
    v = entering_velocity(n, x_wall, x_res, a_ratio, n_res, ratio, -guess)
    t_face = t_res * (1.0 - 0.5 * (gamma_res - 1.0) * v * v)
    x = x_wall + v * a_ratio * slant
    p_face = p * power(x, n + 2.0)
    critical = n_res / (n_res + 1.0)
    if v * v > (1.0 - 4.0 * CLOSE) * critical:
        # Sonic face: more comes than the wave could take, so the choked flow fixes the pressure.
        p_face = ratio * p_res * power(critical, 0.5 * n_res) * critical
    return p_face / (r_res * t_face), -v * a_res, p_face, -v
