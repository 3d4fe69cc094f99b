"""Wall friction and heat of duct cells against libraries and worked numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from fluids.friction import friction_factor as colebrook

from enginesim.kernels import layout as at
from enginesim.kernels import wall

PRANDTL, MU_300, R_AIR = 0.7, 1.858e-5, 287.05
N = 18


def fully_rough(relative: float) -> float:
    # Limit of Colebrook's equation at infinite Reynolds number.
    return (2.0 * math.log10(3.7 / relative)) ** -2


def duct(*, u: float, diameter: float = 0.04, relative: float = 0.0) -> np.ndarray:
    t = 300.0
    x = np.zeros(at.BLOCK)
    rows = x.reshape(at.N_ROWS, at.STRIDE)
    rows[at.R_T], rows[at.R_P], rows[at.R_RHO] = t, 1e5, 1e5 / (R_AIR * t)
    rows[at.R_A] = math.sqrt(1.4 * R_AIR * t)
    rows[at.R_U] = u
    rows[at.R_DIAMETER] = diameter
    rows[at.R_ROUGH] = fully_rough(relative) ** 4 if relative > 0.0 else 0.0
    return rows


def terms(rows: np.ndarray) -> np.ndarray:
    gas = np.zeros(at.G_TABLES)
    gas[at.G_MU], gas[at.G_PRANDTL] = MU_300, PRANDTL
    wall.wall_terms(rows.reshape(-1), 0, N, gas)
    return rows


@pytest.mark.parametrize("reynolds", [1e4, 2e4, 5e4, 1e5, 5e5])
@pytest.mark.parametrize(
    "relative, band",
    # 2 % is the spread between explicit fits of Colebrook's equation; the sum of two laws keeps
    # it where ducts of engines lie and reaches 3 % around.
    [(0.0005, 0.024), (0.001, 0.02), (0.005, 0.02), (0.0001, 0.03), (0.01, 0.03)],
)
def test_rough_pipe_as_colebrook(reynolds: float, relative: float, band: float) -> None:
    found = wall.friction_factor(reynolds, fully_rough(relative) ** 4)
    assert found == pytest.approx(colebrook(reynolds, relative), rel=band)


@pytest.mark.parametrize(
    "reynolds, relative, expected",
    # Colebrook's equation by `fluids`, relative roughness 0.001; Blasius's law at 1e5.
    [(1e4, 1e-3, 0.03238), (5e4, 1e-3, 0.02402), (1e5, 1e-3, 0.02217), (5e5, 1e-3, 0.02024)],
)
def test_rough_pipe_worked(reynolds: float, relative: float, expected: float) -> None:
    found = wall.friction_factor(reynolds, fully_rough(relative) ** 4)
    assert found == pytest.approx(expected, rel=0.02)


def test_smooth_pipe_is_blasius() -> None:
    # 0.3164 / 1e5^0.25 = 0.01779, and within 4 % of Colebrook's equation up to 1e5.
    assert wall.friction_factor(1e5, 0.0) == pytest.approx(0.01779, rel=3e-4)
    for reynolds in (1e4, 5e4, 1e5):
        assert wall.friction_factor(reynolds, 0.0) == pytest.approx(
            colebrook(reynolds, 0.0), rel=0.04
        )


def test_friction_of_gas_at_rest_is_bounded() -> None:
    # Held where 64/Re meets Blasius's law.
    at_rest = wall.friction_factor(0.0, 0.0)
    assert at_rest == pytest.approx(64.0 / wall.LEAST_REYNOLDS, rel=1e-3)
    assert at_rest == wall.friction_factor(wall.LEAST_REYNOLDS, 0.0)


def test_friction_does_not_know_left_from_right() -> None:
    right, left = terms(duct(u=60.0)), terms(duct(u=-60.0))
    for row in (at.R_FRICTION, at.R_CONDUCTANCE):
        assert np.array_equal(right[row], left[row])


@pytest.mark.parametrize(
    "t, band", [(288.15, 0.01), (300.0, 0.01), (500.0, 0.01), (1000.0, 0.01), (1500.0, 0.03)]
)
def test_viscosity_of_air(t: float, band: float) -> None:
    # CoolProp's own uncertainty for air's viscosity is 1 % at low pressure and 3 % when hot.
    found = wall.viscosity(MU_300, t)
    assert found == pytest.approx(PropsSI("V", "T", t, "P", 101325.0, "Air"), rel=band)


def test_heat_transfer_worked() -> None:
    # Re 5e4, Pr 0.7, smooth: Nu = f/8 Re Pr^(1/3). With Blasius's f = 0.02116 that is 117.4;
    # 117.3 by the usual 0.023 Re^0.8 Pr^(1/3), a power law of the same analogy.
    diameter = 0.04
    mu = wall.viscosity(MU_300, 300.0)
    rho = 1e5 / (R_AIR * 300.0)
    rows = terms(duct(u=5e4 * mu / (rho * diameter), diameter=diameter))
    cp = 3.5 * R_AIR  # gamma 1.4
    nusselt = rows[at.R_CONDUCTANCE, 5] * diameter / 4.0 * diameter / (mu * cp / PRANDTL)
    assert nusselt == pytest.approx(117.3, rel=2e-3)


def test_heat_transfer_of_gas_at_rest_is_conduction() -> None:
    rows = terms(duct(u=0.0))
    conductivity = wall.viscosity(MU_300, 300.0) * 3.5 * R_AIR / PRANDTL
    expected = 3.66 * conductivity / 0.04 * 4.0 / 0.04
    assert rows[at.R_CONDUCTANCE, 1 : N - 1] == pytest.approx(expected, rel=1e-12)


def test_friction_row_adds_the_bend() -> None:
    rows = duct(u=80.0, relative=0.001)
    rows[at.R_BEND, 7] = 0.6
    terms(rows)
    assert rows[at.R_FRICTION, 7] - rows[at.R_FRICTION, 8] == pytest.approx(0.6, rel=1e-12)
    mu = wall.viscosity(MU_300, 300.0)
    reynolds = rows[at.R_RHO, 8] * 80.0 * 0.04 / mu
    expected = wall.friction_factor(reynolds, fully_rough(0.001) ** 4) / (2.0 * 0.04)
    assert rows[at.R_FRICTION, 8] == pytest.approx(expected, rel=1e-12)


def test_only_the_cells_of_the_group_are_written() -> None:
    rows = terms(duct(u=50.0))
    for row in (at.R_FRICTION, at.R_CONDUCTANCE):
        assert not rows[row, 0]
        assert not rows[row, N - 1 :].any()
        assert rows[row, 1 : N - 1].all()
