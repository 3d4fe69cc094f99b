"""Does the kernels' gas array give back what the tables hold?"""

from __future__ import annotations

import math

import numpy as np
import pytest

from enginesim import gas as room
from enginesim.kernels import gas as kernels
from enginesim.kernels import layout
from enginesim.kernels.equilibrium import shift
from enginesim.network.gas_array import gas_array

TABLES = room.tables("e10", 0.9, 0.008, octane_research=96.0, octane_motor=84.0)
GAS = gas_array(TABLES)


@pytest.mark.parametrize("y_b,y_f", [(0.0, 0.0), (0.0, 1.0), (1.0, 0.0), (0.2, 0.06)])
@pytest.mark.parametrize("t", [260.0, 999.0, 1600.0])
def test_mixtures_are_weighted_by_mass(t: float, y_b: float, y_f: float) -> None:
    weights = np.array([1.0 - y_b - y_f, y_f, y_b])
    x, z = t / 1e3, max(t / 1e3 - 1.0, 0.0)
    powers = np.array([*(x**k for k in range(6)), *(z**k for k in range(2, 6))])
    expected = weights @ (TABLES.energy_coefficients @ powers)
    assert kernels.energy(GAS, t, y_b, y_f) == pytest.approx(expected, rel=1e-12, abs=1e-6)
    assert kernels.gas_constant(GAS, y_b, y_f) == pytest.approx(weights @ TABLES.r_gas)


@pytest.mark.parametrize("i,j", [(0, 0), (37, 11), (95, 31)])
def test_dissociation_at_the_points_of_the_table(i: int, j: int) -> None:
    t = TABLES.t_0 + i * TABLES.dt_grid
    ln_p = TABLES.ln_p_0 + j * TABLES.dlnp
    expected = [TABLES.du[i, j], TABLES.dr[i, j]]
    assert shift(GAS, t, ln_p)[:2] == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("t", [1500.0, 1701.0, 2345.0, 3590.0, 3700.0])
@pytest.mark.parametrize("p", [0.1e5, 7e5, 90e5, 300e5])
def test_slopes_are_those_of_the_table(t: float, p: float) -> None:
    du, dr, du_t, dr_t = shift(GAS, t, math.log(p))
    ahead = shift(GAS, t + 0.5, math.log(p))
    # Straight between two temperatures of the table.
    assert ahead[:2] == pytest.approx((du + 0.5 * du_t, dr + 0.5 * dr_t), rel=1e-9, abs=1e-9)


def test_single_numbers() -> None:
    assert GAS[layout.G_OCTANE] == 90.0
    assert GAS[layout.G_FUEL_AIR] == TABLES.fuel_air_ratio
    assert GAS[layout.G_H_LIQUID] == TABLES.liquid_enthalpy
    assert GAS[layout.G_MU] == TABLES.mu_300
    assert GAS[layout.G_PRANDTL] == TABLES.prandtl


def test_nobody_can_write_on_it() -> None:
    with pytest.raises(ValueError, match="read-only"):
        GAS[0] = 1.0
