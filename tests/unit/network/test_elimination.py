"""Do volumes and cylinders that answer one another get the pressures of a full solve?"""

from __future__ import annotations

import numpy as np
import pytest

from enginesim.kernels import vessel_layout as at
from enginesim.kernels.coupled import eliminate
from enginesim.kernels.layout import V_VOLUME
from enginesim.network.engine import prepare
from tests.engines import SHAPES, shape


@pytest.mark.parametrize("name", SHAPES)
def test_elimination_is_a_solve(name: str) -> None:
    network = prepare(shape(name, "numerics.fidelity=filling")).network
    coupling = network.coupling
    assert coupling is not None
    rng = np.random.default_rng(5)
    n = len(coupling.first) - 1
    vessel, entry = np.zeros((n, at.N_VESSEL)), np.zeros(coupling.n_entry)
    matrix = np.zeros((n, n))
    for a, b, ahead, back in coupling.joints:
        if ahead >= 0:
            entry[ahead], entry[back] = matrix[a, b], matrix[b, a] = -rng.uniform(0.0, 9.0, 2)
    # What one vessel gives another gets: each column's diagonal outweighs it.
    vessel[:, at.Z_DIAGONAL] = 1.0 - matrix.sum(axis=0)
    vessel[:, at.Z_RIGHT] = rng.normal(size=n)
    vessel[:, at.Z_P] = vessel[:, at.Z_PART] = 1.0
    np.fill_diagonal(matrix, vessel[:, at.Z_DIAGONAL])
    unknown = coupling.script[coupling.starts]
    assert len(set(unknown)) == n - np.count_nonzero(network.res[:, V_VOLUME] == 0.0)
    part = np.ix_(unknown, unknown)
    wanted = np.linalg.solve(matrix[part], vessel[unknown, at.Z_RIGHT])
    eliminate(vessel, coupling.script, coupling.starts, entry)
    assert vessel[unknown, at.Z_SHIFT] == pytest.approx(wanted, rel=1e-11)
    assert vessel[unknown, at.Z_SEEN] == pytest.approx(1.0 + wanted, rel=1e-11)
