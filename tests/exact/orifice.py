"""What flows through an opening, and what through one at the end of a pipe that carries a wave?

Source: NACA Report 1135 (1953), isentropic flow to a throat; J. B. Heywood, *Internal Combustion
Engine Fundamentals*, appendix C (both from memory). The end of a pipe joins that opening to the
wave that the opening itself sends into the pipe (`tests.exact.riemann.velocity_change`): quasi-
steady valve boundary, as in R. S. Benson, *The Thermodynamics and Gas Dynamics of Internal-
Combustion Engines* (1982; from memory), constant-pressure model.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from scipy.optimize import brentq

from tests.exact.riemann import State, density_behind, velocity_change


def critical_ratio(gamma: float) -> float:
    """Throat over stagnation pressure at and beyond which the throat is sonic [-]."""
    return (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))


def choked_coefficient(gamma: float) -> float:
    """C in: mass flow = C area p0 / sqrt(R T0), throat sonic [-]."""
    return math.sqrt(gamma) * (2.0 / (gamma + 1.0)) ** ((gamma + 1.0) / (2.0 * (gamma - 1.0)))


def mass_flow(
    area: float, p_up: float, t_up: float, p_down: float, gamma: float, r_gas: float
) -> float:
    """Flow from stagnation state `p_up` [Pa], `t_up` [K] to pressure `p_down` [kg/s]."""
    ratio = p_down / p_up
    if ratio <= critical_ratio(gamma):
        return area * p_up / math.sqrt(r_gas * t_up) * choked_coefficient(gamma)
    speed = math.sqrt(
        2.0 * gamma / (gamma - 1.0) * r_gas * t_up * (1.0 - ratio ** ((gamma - 1.0) / gamma))
    )
    return area * p_up / (r_gas * t_up) * ratio ** (1.0 / gamma) * speed


class PipeEnd(NamedTuple):
    """Just inside the pipe: pressure [Pa], velocity into the pipe [m/s], flow [kg/s], rho."""

    p: float
    u: float
    mass_flow: float
    rho: float


def pipe_end(
    opening: float, pipe: float, p_0: float, t_0: float, inside: State, gamma: float, r_gas: float
) -> PipeEnd:
    """
    Flow between a reservoir at rest and a pipe, through an opening of given effective area.

    `opening` and `pipe` are areas [m2]; `p_0`, `t_0` the reservoir; `inside` the pipe's state
    before the opening made itself felt, velocity and flow positive *into* the pipe. The jet loses
    its head (throat pressure is that of the receiving side), stagnation enthalpy is kept.

    Raises
    ------
    ValueError
        If the flow in the pipe would have to be supersonic.
    """

    def u_of(p: float) -> float:
        return inside.u + velocity_change(p, inside, gamma)

    wall = brentq(u_of, 1e-6 * inside.p, 1e3 * inside.p, xtol=1e-12, rtol=1e-14)

    def inward(p: float) -> tuple[float, float, float]:
        """Density, flow by the pipe, flow by the opening."""
        u = u_of(p)
        temperature = t_0 - 0.5 * u**2 * (gamma - 1.0) / (gamma * r_gas)
        rho = p / (r_gas * temperature)
        return rho, rho * u * pipe, mass_flow(opening, p_0, t_0, p, gamma, r_gas)

    def outward(p: float) -> tuple[float, float, float]:
        u, rho = u_of(p), density_behind(p, inside, gamma)
        square = u**2 * rho / (gamma * p)
        rise = 1.0 + 0.5 * (gamma - 1.0) * square
        p_total, t_total = p * rise ** (gamma / (gamma - 1.0)), p / (rho * r_gas) * rise
        if p_total <= p_0:
            return rho, rho * u * pipe, 0.0
        return rho, rho * u * pipe, -mass_flow(opening, p_total, t_total, p_0, gamma, r_gas)

    # With the end shut the wall pressure tells which way the opened end flows. Either way the flow
    # in the pipe is at most sonic, which bounds its pressure on the other side.
    if p_0 > wall:
        side, low, high = inward, wall, p_0
        sonic = math.sqrt(2.0 * gamma / (gamma + 1.0) * r_gas * t_0)
        if u_of(p_0) > sonic:
            high = brentq(lambda p: u_of(p) - sonic, wall, p_0, rtol=1e-14)
            if side(high)[1] < side(high)[2]:
                raise ValueError("the flow in the pipe would have to be supersonic")
    else:
        side, high = outward, wall
        low = brentq(
            lambda p: u_of(p) + math.sqrt(gamma * p / density_behind(p, inside, gamma)),
            *(1e-6 * wall, wall),
            rtol=1e-14,
        )
        if side(low)[1] - side(low)[2] > -1e-12 * abs(side(low)[1]):
            high = low  # fully open: the pipe itself chokes
    p = low
    if high > low:
        p = float(brentq(lambda p: side(p)[1] - side(p)[2], low, high, xtol=1e-10, rtol=1e-14))
    rho, flow, _ = side(p)
    u = u_of(p)
    return PipeEnd(p, u, flow, rho)
