"""Smooth waves that the scheme is given, and how far it leaves each of them from the exact one.

Both waves in a pipe are exact: a hot spot that rides with the flow, and a pressure pulse of finite
height before it breaks, so that no error of linearisation hides the scheme's own. In a cone a small
spherical pulse is.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from enginesim.network.pieces import End
from tests.exact import simple_wave, travelling
from tests.exact.convergence import cell_means, mean_error
from tests.exact.riemann import State
from tests.verification.rig import (
    A_REST,
    GAMMA,
    P_REST,
    RHO_REST,
    Rig,
    Samples,
    at,
    straight,
    tapered,
)

CENTRE, WIDTH, WAY = 0.35, 0.25, 0.3  # of a pipe of 1 m
Profile = Callable[[Samples, float], State]


def hot_spot(x: Samples, time: float) -> State:
    return travelling.entropy_wave(x, time, State(RHO_REST, 100.0, P_REST), 0.3, CENTRE, WIDTH)


def pulse(x: Samples, time: float) -> State:
    """20 m/s, 7 kPa: far from breaking on this way."""

    def start(x_0: Samples) -> Samples:
        return 20.0 * travelling.bump(x_0 - CENTRE, WIDTH)

    u = simple_wave.travelled(start, x, time, A_REST, GAMMA)
    p = simple_wave.pressure_at(u, P_REST, A_REST, GAMMA)
    return State(RHO_REST * (p / P_REST) ** (1.0 / GAMMA), u, p)


def conserved(profile: Profile, edges: Samples, time: float) -> list[Samples]:
    """Means of mass, momentum and energy over the cells: what the scheme itself holds."""
    return [
        cell_means(lambda x: profile(x, time).rho, edges, 4),
        cell_means(lambda x: profile(x, time).rho * profile(x, time).u, edges, 4),
        cell_means(
            lambda x: (
                profile(x, time).p / (GAMMA - 1.0)
                + 0.5 * profile(x, time).rho * profile(x, time).u ** 2
            ),
            edges,
            4,
        ),
    ]


def pipe_errors(profile: Profile, beyond: State, time: float, n: int) -> list[float]:
    """Mean errors of mass, momentum and energy after the wave has gone its way."""
    rig = Rig([straight(1.0, 0.04, n)])
    rho, momentum, energy = conserved(profile, rig.edges(), 0.0)
    u = momentum / rho
    rig.fill(rho, u, (GAMMA - 1.0) * (energy - 0.5 * rho * u**2))
    rig.advance_between(beyond, beyond, time)
    rows = (rig.row(at.R_RHO), rig.row(at.R_MOM), rig.row(at.R_ENE))
    exact = conserved(profile, rig.edges(), time)
    return [mean_error(*pair) for pair in zip(rows, exact, strict=True)]


#: Name: what travels, the flow beyond it, and for how long.
WAVES = {
    "entropy wave": (hot_spot, State(RHO_REST, 100.0, P_REST), WAY / 100.0),
    "acoustic pulse": (pulse, State(RHO_REST, 0.0, P_REST), WAY / A_REST),
}


def cone_errors(n: int) -> list[float]:
    """Mean errors of pressure and velocity of a small pulse from 0.5 to 1.5 m of the apex."""
    first, height, centre, width = 0.5, 1e-5, 0.7, 0.15
    rest = State(RHO_REST, 0.0, P_REST)
    fine = first + np.linspace(0.0, 1.0, 16 * n + 1)
    rig = Rig([tapered(1.0, 1e-3 * fine**2, n, End(), End())])
    edges = first + rig.edges()

    def means(name: str, time: float) -> Samples:
        """Over the volume of the cells, which is what the scheme holds."""

        def weighed(r: Samples) -> Samples:
            state = travelling.spherical_pulse(r, time, rest, height, centre, width, GAMMA)
            return getattr(state, name) * r**2

        return cell_means(weighed, edges, 4) / cell_means(np.square, edges, 4)

    rig.fill(*(means(name, 0.0) for name in ("rho", "u", "p")))
    time = 0.3 / A_REST
    rig.advance(time)
    _, u, p = rig.flow()
    return [
        mean_error(p, means("p", time)) / (height * P_REST),
        mean_error(u, means("u", time)) / (height * A_REST),
    ]
