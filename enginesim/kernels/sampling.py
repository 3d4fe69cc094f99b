"""What are cylinder volumes at many crank angles?"""

from __future__ import annotations

from enginesim.base.jit import kernel
from enginesim.kernels.arrays import Table, Vector
from enginesim.kernels.phases import volume_at
from enginesim.kernels.step import own_angle


@kernel
def cylinder_volumes(out: Table, par: Table, phase: Vector, theta: Vector) -> None:
    """
    Volume of every cylinder at given engine angles.

    Parameters
    ----------
    out : ndarray, shape (n_cylinder, n)
        Gets the volumes. [m3]
    par : ndarray, shape (n_cylinder, n_parameter)
        Parameters of the cylinders. [-]
    phase : ndarray, shape (n_cylinder,)
        Engine angle of each firing top dead centre. [rad]
    theta : ndarray, shape (n,)
        Engine angles. [rad]

    Notes
    -----
    Source: :mod:`enginesim.formulas.crank`.
    """
    for c in range(par.shape[0]):
        for k in range(theta.size):
            out[c, k] = volume_at(par[c], own_angle(theta[k], phase[c]))
