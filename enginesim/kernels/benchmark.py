"""Which loop times the duct passes alone?"""

from __future__ import annotations

from enginesim.base.jit import kernel
from enginesim.kernels.arrays import Vector
from enginesim.kernels.duct import face_fluxes, half_states, update


@kernel
def repeat_passes(x: Vector, n: int, dt: float, gas: Vector, rounds: int) -> None:
    """
    Run the three passes over the first group of ducts many times.

    Parameters
    ----------
    x : ndarray, shape (n_group * BLOCK,)
        Duct buffer. [-]
    n : int
        Cells of the group, ghosts included. [-]
    dt : float
        Time step. [s]
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    rounds : int
        How many times. [-]

    Notes
    -----
    Source: :mod:`enginesim.kernels.duct`.
    """
    for _ in range(rounds):
        half_states(x, 0, n, dt)
        face_fluxes(x, 0, n)
        update(x, 0, n, dt, gas)
