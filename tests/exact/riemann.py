"""What happens after a membrane between two states of a perfect gas is removed?

Source: E. F. Toro, *Riemann Solvers and Numerical Methods for Fluid Dynamics*, chapter 4 (from
memory): the pressure between the waves is where the velocity changes across both waves add up
to the given one. Solved here in the variable p^((gamma-1)/(2 gamma)), in which the rarefaction
branch is a straight line, and bracketed, so that it cannot fail where an answer exists.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from tests.exact.convergence import cell_means

Samples = NDArray[np.float64]


class State(NamedTuple):
    """Density [kg/m3], velocity [m/s] and pressure [Pa]; each a number or an array."""

    rho: float
    u: float
    p: float


class Star(NamedTuple):
    """Between the waves: pressure, velocity, density left and right of the contact."""

    p: float
    u: float
    rho_left: float
    rho_right: float


class Speeds(NamedTuple):
    """Speeds of the waves from left to right [m/s]; head and tail of a shock are the same."""

    left_head: float
    left_tail: float
    contact: float
    right_tail: float
    right_head: float


def sound_speed(state: State, gamma: float) -> float:
    """Sound speed of a perfect gas [m/s]."""
    return math.sqrt(gamma * state.p / state.rho)


def velocity_change(p: float, ahead: State, gamma: float) -> float:
    """
    Velocity that a wave into `ahead` adds when it brings the pressure to `p` [m/s].

    Positive for compression, along the way the wave travels: Hugoniot curve above the pressure
    ahead, isentrope below it.
    """
    a = sound_speed(ahead, gamma)
    if p > ahead.p:
        strength = 2.0 / ((gamma + 1.0) * ahead.rho)
        return (p - ahead.p) * math.sqrt(strength / (p + (gamma - 1.0) / (gamma + 1.0) * ahead.p))
    ratio = (p / ahead.p) ** ((gamma - 1.0) / (2.0 * gamma))
    return 2.0 * a / (gamma - 1.0) * (ratio - 1.0)


def density_behind(p: float, ahead: State, gamma: float) -> float:
    """Density behind the wave that brings `ahead` to pressure `p` [kg/m3]."""
    ratio = p / ahead.p
    if ratio > 1.0:
        step = (gamma - 1.0) / (gamma + 1.0)
        return ahead.rho * (ratio + step) / (step * ratio + 1.0)
    return ahead.rho * ratio ** (1.0 / gamma)


def star(left: State, right: State, gamma: float) -> Star:
    """
    State between the two waves.

    Raises
    ------
    ValueError
        If the two sides part so fast that a vacuum opens between them.
    """
    power = (gamma - 1.0) / (2.0 * gamma)

    def excess(z: float) -> float:
        p = z ** (1.0 / power)
        return velocity_change(p, left, gamma) + velocity_change(p, right, gamma) + right.u - left.u

    if excess(0.0) >= 0.0:
        raise ValueError("a vacuum opens between the two sides")
    high = max(left.p, right.p) ** power
    while excess(high) < 0.0:
        high *= 2.0
    p = brentq(excess, 0.0, high, xtol=1e-300, rtol=1e-15) ** (1.0 / power)
    change_left = velocity_change(p, left, gamma)
    change_right = velocity_change(p, right, gamma)
    u = 0.5 * (left.u - change_left + right.u + change_right)
    return Star(p, u, density_behind(p, left, gamma), density_behind(p, right, gamma))


def speeds(left: State, right: State, gamma: float) -> Speeds:
    """Speeds of both waves and of the contact [m/s]."""
    middle = star(left, right, gamma)

    def outer(ahead: State, rho: float, sign: float) -> tuple[float, float]:
        a = sound_speed(ahead, gamma)
        if middle.p > ahead.p:
            factor = (gamma + 1.0) / (2.0 * gamma) * (middle.p / ahead.p - 1.0)
            shock = ahead.u + sign * a * math.sqrt(1.0 + factor)
            return shock, shock
        a_star = math.sqrt(gamma * middle.p / rho)
        return ahead.u + sign * a, middle.u + sign * a_star

    left_head, left_tail = outer(left, middle.rho_left, -1.0)
    right_head, right_tail = outer(right, middle.rho_right, 1.0)
    return Speeds(left_head, left_tail, middle.u, right_tail, right_head)


def _fan(ahead: State, xi: Samples, gamma: float, sign: float) -> tuple[Samples, Samples, Samples]:
    """Inside a rarefaction that travels to the side of `sign`; `xi` is place over time [m/s]."""
    a_ahead = sound_speed(ahead, gamma)
    u = 2.0 / (gamma + 1.0) * (xi - sign * a_ahead + 0.5 * (gamma - 1.0) * ahead.u)
    a = sign * (xi - u)
    ratio = a / a_ahead
    return (
        ahead.rho * ratio ** (2.0 / (gamma - 1.0)),
        u,
        ahead.p * ratio ** (2.0 * gamma / (gamma - 1.0)),
    )


def sample(left: State, right: State, gamma: float, xi: Samples) -> State:
    """State at place over time `xi` [m/s], shape (n,); three arrays of that shape."""
    middle, wave = star(left, right, gamma), speeds(left, right, gamma)
    rho, u, p = (np.empty_like(xi, dtype=float) for _ in range(3))

    def put(where: NDArray[np.bool_], state: tuple[float, float, float]) -> None:
        for array, value in zip((rho, u, p), state, strict=True):
            array[where] = value

    put(xi <= wave.left_head, left)
    put(xi >= wave.right_head, right)
    put((xi >= wave.left_tail) & (xi < wave.contact), (middle.rho_left, middle.u, middle.p))
    put((xi >= wave.contact) & (xi <= wave.right_tail), (middle.rho_right, middle.u, middle.p))
    for ahead, head, tail, sign in (
        (left, wave.left_head, wave.left_tail, -1.0),
        (right, wave.right_head, wave.right_tail, 1.0),
    ):
        inside = (sign * xi < sign * head) & (sign * xi > sign * tail)
        if inside.any():
            for array, value in zip((rho, u, p), _fan(ahead, xi[inside], gamma, sign), strict=True):
                array[inside] = value
    return State(rho, u, p)


def profile(
    left: State, right: State, gamma: float, edges: Samples, membrane: float, time: float
) -> State:
    """Means of density, velocity and pressure over the cells between `edges` [m], shape (n,)."""

    def means(name: str) -> Samples:
        return cell_means(
            lambda x: getattr(sample(left, right, gamma, (x - membrane) / time), name), edges
        )

    return State(means("rho"), means("u"), means("p"))
