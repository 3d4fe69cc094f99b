"""What does dissociation add to hot burned gas, and how fast does that grow with temperature?

Source: chemical equilibrium by Cantera, tabulated in :mod:`enginesim.gas`. Equation
`equilibrium-energy` of docs/theory/cylinder.md.
"""

from __future__ import annotations

from enginesim.base.formula import formula
from enginesim.kernels.arrays import Vector
from enginesim.kernels.layout import G_DLNP, G_DT, G_LNP0, G_NP, G_NT, G_T0, G_TABLES


@formula
def shift(gas: Vector, t: float, ln_p: float) -> tuple[float, float, float, float]:
    """
    Additions of equilibrium to frozen burned gas, with their slopes.

    Parameters
    ----------
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    t : float
        Temperature. [K]
    ln_p : float
        Natural logarithm of the pressure in Pa. [-]

    Returns
    -------
    tuple of float
        Additions to internal energy [J/kg] and gas constant [J/(kg K)], then the slopes of both
        in temperature [J/(kg K)], [J/(kg K2)].

    Notes
    -----
    Bilinear in temperature and log pressure; zero below the table's first temperature, level
    beyond its other ends. Source: chemical equilibrium by Cantera, tabulated in
    :mod:`enginesim.gas`.
    """
    x = (t - gas[G_T0]) / gas[G_DT]
    if x <= 0.0:
        return 0.0, 0.0, 0.0, 0.0
    n_t = int(gas[G_NT])
    n_p = int(gas[G_NP])
    y = (ln_p - gas[G_LNP0]) / gas[G_DLNP]
    i = int(min(x, n_t - 2.0))
    j = int(min(max(y, 0.0), n_p - 2.0))
    fx = min(x - i, 1.0)
    fy = min(max(y - j, 0.0), 1.0)
    k = G_TABLES + i * n_p + j
    m = k + n_t * n_p
    du_low = gas[k] + fy * (gas[k + 1] - gas[k])
    du_high = gas[k + n_p] + fy * (gas[k + n_p + 1] - gas[k + n_p])
    dr_low = gas[m] + fy * (gas[m + 1] - gas[m])
    dr_high = gas[m + n_p] + fy * (gas[m + n_p + 1] - gas[m + n_p])
    slope = 1.0 / gas[G_DT] if x < n_t - 1.0 else 0.0
    return (
        du_low + fx * (du_high - du_low),
        dr_low + fx * (dr_high - dr_low),
        slope * (du_high - du_low),
        slope * (dr_high - dr_low),
    )
