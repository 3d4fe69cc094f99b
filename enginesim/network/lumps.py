"""What does an engine hold, in one number for each duct, volume and cylinder and each property?"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from enginesim.kernels import cylinder_layout as cl
from enginesim.kernels import layout as at
from enginesim.network.assemble import Network
from enginesim.network.snapshot import Snapshot, places, vessels

Array = NDArray[np.float64]

#: What counts as much as what: a bar, a thousand kelvin, all burned gas, a usual mixture's fuel.
_SCALES = (1e5, 1e3, 1.0, 0.07)
_PROPERTIES = ("pressure", "temperature", "burned gas", "fuel vapor")
_CONTENTS = ("air", "burned gas", "fuel", "duration of the burn")
# Cylinders are renewed every cycle: what they hold follows from the rest, and counts a tenth.
_CYLINDERS = 0.1
_ROWS = [0, 1, 3, 4]  # of a snapshot: pressure, temperature, fractions


class Lumps:
    """
    Ducts, volumes and cylinders of a network, each as one.

    Parameters
    ----------
    network : Network
        The arrays.
    """

    def __init__(self, network: Network) -> None:
        groups, columns = places(network)
        rows = network.mesh.reshape(-1, at.N_ROWS, at.STRIDE)
        self._volume = 1.0 / rows[groups, at.R_INVERSE_VOLUME, columns]
        counts = network.ducts[:, at.D_COUNT]
        self._first = np.cumsum(counts) - counts
        plan = network.plan
        self._places = [duct.name for duct in plan.ducts]
        self._places += [plan.volumes[i].name for i in vessels(network)]
        self._n_cylinders = plan.n_cylinders

    def values(self, given: Snapshot, share: float) -> Array:
        """
        One number for each place and property, all of the same weight.

        Parameters
        ----------
        given : Snapshot
            What the engine holds.
        share : float
            Air of a cylinder and cycle. [kg]

        Returns
        -------
        ndarray, shape (n,)
            Pressure, temperature, burned and fuel fraction of ducts (means over their mass) and
            volumes, then air, burned gas and fuel of the cylinders over the share, scaled. [-]
        """
        properties = given.volumes[_ROWS]
        if given.cells.shape[1] > 0:
            mass = given.cells[0] / given.cells[1] * self._volume
            summed = np.add.reduceat(given.cells[_ROWS] * mass, self._first, axis=1)
            ducts = summed / np.add.reduceat(mass, self._first)
            properties = np.concatenate([ducts, properties], axis=1)
        properties = properties / np.array(_SCALES)[:, None]
        held = given.cylinders[:, [cl.C_AIR, cl.C_BURNED, cl.C_FUEL]].T
        cylinders = _CYLINDERS * held / share / np.array([1.0, 1.0, _SCALES[3]])[:, None]
        burns = _CYLINDERS * np.log(np.maximum(given.cylinders[:, cl.C_LAST_LENGTH], 1e-3))
        return np.concatenate([properties.ravel(), cylinders.ravel(), burns])

    def largest(self, change: Array) -> str:
        """
        Which place and property a change moves most, in words.

        Parameters
        ----------
        change : ndarray, shape (n,)
            Difference of two of :meth:`values`. [-]

        Returns
        -------
        str
            Such as ``burned gas in muffler by 1.2 %``.
        """
        worst = int(np.argmax(np.abs(change)))
        n = len(self._places)
        if worst < 4 * n:
            kind, place = divmod(worst, n)
            size = change[worst] * _SCALES[kind]
            amount = (f"{size / 1e3:+.2g} kPa", f"{size:+.2g} K", f"{1e2 * size:+.2g} %")[
                min(kind, 2)
            ]
            return f"{_PROPERTIES[kind]} in {self._places[place]} by {amount}"
        kind, place = divmod(worst - 4 * n, self._n_cylinders)
        size = 1e2 * change[worst] / _CYLINDERS * (1.0, 1.0, _SCALES[3], 1.0)[kind]
        if kind == 3:
            return f"{_CONTENTS[kind]} in cylinder {place + 1} by {size:+.2g} %"
        return f"{_CONTENTS[kind]} in cylinder {place + 1} by {size:+.2g} % of the air"
