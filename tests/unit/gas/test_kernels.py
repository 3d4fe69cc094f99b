"""Do the compiled look-ups say the same as plain numpy, and as Cantera?"""

from __future__ import annotations

import cantera as ct
import numpy as np
import pytest

from enginesim.base.constants import T_REF
from enginesim.gas import GasTables, dissociation, energy, gas_constant, heat_capacity, tables
from enginesim.kernels import equilibrium
from enginesim.kernels import gas as kernels
from enginesim.network.gas_array import gas_array
from tests.unit.gas import oracle

# Sums of the same terms in another order.
SAME = 1e-12
# What the run asks for.
BAND = 1e-3

MIXTURES = [(0.0, 0.0), (0.0, 0.06), (1.0, 0.0), (0.3, 0.04), (0.08, 0.0)]  # burned, fuel


@pytest.fixture(scope="module")
def made() -> GasTables:
    return tables("gasoline 95", 0.88, 0.01)


@pytest.mark.parametrize("y_b, y_f", MIXTURES)
def test_frozen_properties(made: GasTables, y_b: float, y_f: float) -> None:
    array, y = gas_array(made), np.array([1.0 - y_b - y_f, y_f, y_b])
    assert kernels.gas_constant(array, y_b, y_f) == pytest.approx(
        float(gas_constant(made, y)), rel=SAME
    )
    for t in (200.0, 298.15, 700.0, 999.9, 1000.0, 1000.1, 2000.0, 3500.0):
        # The datum may lie near zero: terms of 1e5 J/kg cancel there, so the scale is theirs.
        scale = float(np.abs(y @ made.energy_coefficients[:, :6] * (t / 1e3) ** np.arange(6)).sum())
        assert kernels.energy(array, t, y_b, y_f) == pytest.approx(
            float(energy(made, t, y)), abs=SAME * max(scale, 1e6)
        )
        assert kernels.heat_capacity(array, t, y_b, y_f) == pytest.approx(
            float(heat_capacity(made, t, y)), rel=SAME
        )


def _looked_up(array: np.ndarray, t: float, p: float) -> tuple[float, float]:
    du, dr, _, _ = equilibrium.shift(array, t, float(np.log(p)))
    return du, dr


def test_dissociation(made: GasTables) -> None:
    array = gas_array(made)
    for t in (300.0, 1700.0, 1700.1, 1719.9, 1720.0, 2345.6, 3599.9, 3600.0, 4000.0):
        for p in (1e3, 0.2e5, 1e5, 12.3e5, 199.9e5, 200e5, 1e9):
            expected = tuple(float(part) for part in dissociation(made, t, p))
            found = _looked_up(array, t, p)
            # Indices come from a quotient near 100, good to 1e-14: 1e-12 of the table's range.
            assert found[0] == pytest.approx(expected[0], rel=SAME, abs=SAME * made.du.max())
            assert found[1] == pytest.approx(expected[1], rel=SAME, abs=SAME * made.dr.max())


@pytest.mark.parametrize("y_b, y_f", MIXTURES)
def test_temperature_is_found_from_energy(made: GasTables, y_b: float, y_f: float) -> None:
    array = gas_array(made)
    for t in (250.0, 600.0, 1000.0, 1600.0, 3000.0):
        u = kernels.energy(array, t, y_b, y_f)
        assert kernels.temperature(array, u, y_b, y_f, 1.05 * t) == pytest.approx(t, rel=1e-9)


@pytest.mark.parametrize("fuel", ["gasoline 95", "methanol"])
def test_burned_gas_is_that_of_cantera(fuel: str) -> None:
    """Frozen at 1700 K and below, equilibrium above; within the 0.1 % that a run asks for."""
    made = tables(fuel, 0.9, 0.01)
    array = gas_array(made)
    gas = oracle.burned(fuel, 0.9, 0.01)
    gas.TP = T_REF, ct.one_atm
    reference, frozen = gas.int_energy_mass, gas.X
    datum = kernels.energy(array, T_REF, 1.0, 0.0)
    for p in (1e5, 40e5):
        for t in (200.0, 400.0, 900.0, 1500.0, 1750.0, 2250.0, 2850.0, 3500.0):
            gas.TPX = t, p, frozen
            if t > 1700.0:
                gas.equilibrate("TP")
            du, dr = _looked_up(array, t, p)
            u = kernels.energy(array, t, 1.0, 0.0) + du - datum
            assert u == pytest.approx(gas.int_energy_mass - reference, rel=BAND)
            r_gas = kernels.gas_constant(array, 1.0, 0.0) + dr
            assert r_gas == pytest.approx(ct.gas_constant / gas.mean_molecular_weight, rel=BAND)


def test_unburned_gas_is_that_of_cantera() -> None:
    made = tables("e10", 0.9, 0.01)
    array = gas_array(made)
    gas = oracle.charge("e10", 0.9, 0.01)
    y_f = made.fuel_air_ratio / (1.0 + made.fuel_air_ratio)
    for t in np.linspace(200.0, 1500.0, 14):
        gas.TP = t, ct.one_atm
        assert kernels.heat_capacity(array, t, 0.0, y_f) == pytest.approx(gas.cv_mass, rel=BAND)


def test_slopes_of_dissociation(made: GasTables) -> None:
    """Values as above; slopes are those of the look-up itself, by differences inside a cell."""
    array = gas_array(made)
    step = 0.25
    for t in (1000.0, 1710.0, 2350.0, 3590.0, 3800.0):
        for p in (1e3, 1e5, 40e5):
            du, dr, du_dt, dr_dt = equilibrium.shift(array, t, float(np.log(p)))
            expected = tuple(float(part) for part in dissociation(made, t, p))
            assert (du, dr) == pytest.approx(expected, rel=1e-10)
            above = _looked_up(array, t + step, p)
            below = _looked_up(array, t - step, p)
            # Differences of numbers near 1e6 over 0.5 K: 1e-9 of them.
            assert du_dt == pytest.approx((above[0] - below[0]) / (2.0 * step), abs=1e-2)
            assert dr_dt == pytest.approx((above[1] - below[1]) / (2.0 * step), abs=1e-6)
