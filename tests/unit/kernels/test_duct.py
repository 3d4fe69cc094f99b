"""The three passes over duct cells: exactness, symmetry, conservation, and what is no number."""

from __future__ import annotations

import math

import numpy as np
import pytest

from enginesim.gas import tables
from enginesim.kernels import duct, gas, layout
from enginesim.network.gas_array import gas_array

at = layout
DX, N = 0.02, 42
CELLS = slice(1, N - 1)
INNER = slice(3, N - 3)  # cells whose faces and slopes the passes set themselves
FACES = slice(3, N - 2)  # and the faces of these cells
EPS = np.finfo(float).eps


@pytest.fixture(scope="module")
def gases() -> np.ndarray:
    return gas_array(tables("iso-octane", 1.0))


def filled(
    gases: np.ndarray,
    p: np.ndarray,
    t: np.ndarray,
    u: np.ndarray,
    y_b: np.ndarray,
    y_f: np.ndarray,
    area: np.ndarray,
) -> np.ndarray:
    """Rows of one group; arrays over the N cells, `area` over the N + 1 faces."""
    rows = np.zeros((at.N_ROWS, at.STRIDE))
    rows[at.R_T], rows[at.R_P], rows[at.R_A], rows[at.R_RHO] = 300.0, 1e5, 347.0, 1.2
    rows[at.R_AREA, : N + 1] = area
    volume = 0.5 * (area[1:] + area[:-1]) * DX
    rows[at.R_INVERSE_VOLUME, :N] = 1.0 / volume
    rows[at.R_INVERSE_AREA, : N + 1] = 1.0 / area
    rows[at.R_MEAN_AREA, :N] = volume / DX
    rows[at.R_INVERSE_DX, :N] = 1.0 / DX
    rows[at.R_TAPER, :N] = np.diff(area) / volume
    rows[at.R_T_WALL] = 300.0
    for i in range(N):
        r = gas.gas_constant(gases, y_b[i], y_f[i])
        e = gas.energy(gases, t[i], y_b[i], y_f[i])
        cv = gas.heat_capacity(gases, t[i], y_b[i], y_f[i])
        rho = p[i] / (r * t[i])
        rows[:13, i] = (
            rho, rho * u[i], rho * (e + 0.5 * u[i] ** 2), rho * y_b[i], rho * y_f[i],
            u[i], p[i], t[i], y_b[i], y_f[i], math.sqrt((1.0 + r / cv) * r * t[i]), e, 0.0,
        )  # fmt: skip
    return rows


def even(value: float) -> np.ndarray:
    return np.full(N, value)


def wavy(gases: np.ndarray, *, area: np.ndarray | None = None) -> np.ndarray:
    """Waves, a contact between fresh charge and burned gas, and a pressure jump."""
    i = np.arange(N)
    burned = np.where(i < 17, 0.0, 1.0)
    return filled(
        gases,
        p=1e5 * (1.0 + 0.2 * np.sin(i / 3.0) + np.where(i > 28, 1.5, 0.0)),
        t=np.where(i < 17, 350.0, 1100.0) + 20.0 * np.cos(i / 4.0),
        u=40.0 + 60.0 * np.sin(i / 5.0),
        y_b=burned,
        y_f=0.06 * (1.0 - burned),
        area=np.full(N + 1, 1e-3) if area is None else area,
    )


def taper() -> np.ndarray:
    return 1e-3 * (1.0 + 0.5 * np.sin(np.arange(N + 1) / 6.0))


def half_and_faces(rows: np.ndarray, dt: float) -> None:
    duct.half_states(rows.reshape(-1), 0, N, dt)
    duct.face_fluxes(rows.reshape(-1), 0, N)


def step(rows: np.ndarray, gases: np.ndarray, dt: float) -> None:
    half_and_faces(rows, dt)
    duct.update(rows.reshape(-1), 0, N, dt, gases)


@pytest.mark.parametrize("u", [0.0, 30.0, -30.0, 345.0, -345.0, 500.0, -500.0])
def test_equal_states_give_the_exact_flux(gases: np.ndarray, u: float) -> None:
    # Subsonic, near sonic (a = 348 m/s here) and supersonic, both ways.
    y_b, y_f, area = 0.1, 0.04, 8e-4
    rows = filled(
        gases, even(1.3e5), even(320.0), even(u), even(y_b), even(y_f), np.full(N + 1, area)
    )
    rho, energy = rows[at.R_RHO, 5], rows[at.R_ENE, 5]
    half_and_faces(rows, 2e-5)
    flow = rho * u * area
    mom, ene = (rho * u * u + 1.3e5) * area, (energy + 1.3e5) * u * area
    exact = (flow, mom, ene, flow * y_b, flow * y_f)
    scale = rho * 350.0 * area
    sizes = (scale, scale * 350.0, scale * abs(energy + 1.3e5) / rho, scale, scale)
    for k, (value, size) in enumerate(zip(exact, sizes, strict=True)):
        # A few roundings, of numbers up to the sum of the terms.
        assert rows[at.R_FLUX + k, FACES] == pytest.approx(value, rel=1e-13, abs=20 * EPS * size)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_supersonic_flux_is_the_upstream_state_s(gases: np.ndarray, sign: float) -> None:
    rng = np.random.default_rng(3)
    p, t = 1e5 * rng.uniform(0.9, 1.2, N), rng.uniform(300.0, 360.0, N)
    u = sign * rng.uniform(480.0, 520.0, N)
    rows = filled(gases, p, t, u, even(0.0), even(0.0), np.full(N + 1, 1e-3))
    half_and_faces(rows, 1e-5)
    edge, shift = (at.R_RIGHT, 1) if sign > 0.0 else (at.R_LEFT, 0)
    up = slice(FACES.start - shift, FACES.stop - shift)
    rho, v, pressure, e = (rows[edge + k, up] for k in (0, 1, 2, 5))
    # The star formula loses no more than the ratio of its terms to their sum: about ten roundings.
    assert rows[at.R_FLUX, FACES] == pytest.approx(rho * v * 1e-3, rel=1e-13)
    assert rows[at.R_FLUX + 1, FACES] == pytest.approx((rho * v * v + pressure) * 1e-3, rel=1e-13)
    work = (rho * (e + 0.5 * v * v) + pressure) * v * 1e-3
    assert rows[at.R_FLUX + 2, FACES] == pytest.approx(work, rel=1e-12)


def test_mirror_image(gases: np.ndarray) -> None:
    rows = wavy(gases, area=taper())
    mirror = np.zeros_like(rows)
    mirror[:, :N] = rows[:, N - 1 :: -1][:, :N]
    for row in (at.R_AREA, at.R_INVERSE_AREA):
        mirror[row, : N + 1] = rows[row, N::-1]
    for row in (at.R_MOM, at.R_U, at.R_TAPER):
        mirror[row] *= -1.0
    for rows_ in (rows, mirror):
        rows_[at.R_FRICTION, :N], rows_[at.R_CONDUCTANCE, :N] = 0.3, 50.0
        step(rows_, gases, 1e-5)
    for row in range(13):
        sign = -1.0 if row in (at.R_MOM, at.R_U) else 1.0
        reflected = sign * mirror[row, N - 1 :: -1][INNER]
        size = np.abs(rows[row, INNER]).max()
        # The fused multiply-adds of left and right round in another order.
        assert rows[row, INNER] == pytest.approx(reflected, rel=0.0, abs=1e-13 * size), row


@pytest.mark.parametrize("hot", [False, True])
def test_gas_at_rest_stays_at_rest_in_a_taper(gases: np.ndarray, hot: bool) -> None:
    # Even pressure, and, `hot`, a temperature and composition that differ from cell to cell.
    i = np.arange(N)
    t = np.where(i < 20, 300.0, 1200.0) if hot else even(300.0)
    y_b = np.where(i < 20, 0.0, 1.0) if hot else even(0.0)
    rows = filled(gases, even(1e5), t, even(0.0), y_b, even(0.0), taper())
    before = rows.copy()
    dt = 1e-5
    step(rows, gases, dt)
    # Momentum is the sum of p A / V terms times dt, each rounded: a few units of the last place.
    unit = 4.0 * EPS * dt * 1e5 / DX
    assert np.abs(rows[at.R_MOM, INNER]).max() <= 4.0 * unit
    for row in (at.R_RHO, at.R_ENE, at.R_BURNED, at.R_FUEL, at.R_P, at.R_T):
        assert rows[row, INNER] == pytest.approx(before[row, INNER], rel=1e-13), row


def test_what_leaves_one_cell_enters_the_next(gases: np.ndarray) -> None:
    rows = wavy(gases, area=taper())
    before = rows.copy()
    dt = 1e-5
    step(rows, gases, dt)
    volume = 1.0 / rows[at.R_INVERSE_VOLUME, INNER]
    for k, row in enumerate((at.R_RHO, at.R_MOM, at.R_ENE, at.R_BURNED, at.R_FUEL)):
        change = ((rows[row, INNER] - before[row, INNER]) * volume).sum()
        inflow = dt * (rows[at.R_FLUX + k, INNER.start] - rows[at.R_FLUX + k, INNER.stop])
        if row == at.R_MOM:
            inflow += dt * (rows[at.R_SOURCE, INNER] * volume).sum()
        content = (np.abs(before[row, INNER]) * volume).sum()
        assert change == pytest.approx(inflow, rel=0.0, abs=20 * EPS * content), row
        assert abs(inflow) > 1e-6 * content or row == at.R_FUEL


def test_wall_heat_is_booked(gases: np.ndarray) -> None:
    rows = filled(
        gases, even(1e5), even(300.0), even(0.0), even(0.0), even(0.0), np.full(N + 1, 1e-3)
    )
    rows[at.R_CONDUCTANCE], rows[at.R_T_WALL] = 2e4, 500.0
    energy = rows[at.R_ENE].copy()
    step(rows, gases, 1e-5)
    # By hand: 2e4 W/(m3 K) * 200 K * 1e-5 s = 40 J/m3; cv rho = 846 J/(m3 K), so 0.047 K warmer.
    assert rows[at.R_HEAT_SUM, INNER] == pytest.approx(40.0, rel=1e-14)
    assert rows[at.R_T, INNER] == pytest.approx(300.047, abs=1e-3)
    step(rows, gases, 1e-5)
    both = rows[at.R_HEAT_SUM, INNER]
    assert both == pytest.approx(40.0 + 0.2 * (500.0 - 300.047), rel=1e-5)
    assert rows[at.R_ENE, INNER] - energy[INNER] == pytest.approx(both, rel=1e-9)


def test_even_ramp_is_carried_exactly(gases: np.ndarray) -> None:
    # At one pressure and velocity, ramps of density and burned fraction move as they are: the
    # scheme of second order in space and time makes no error on them.
    dt, u = 2e-5, 60.0
    x = DX * (np.arange(N) - N // 2)
    y_b = 0.5 + 0.4 * x
    r = np.array([gas.gas_constant(gases, y, 0.0) for y in y_b])
    rows = filled(
        gases, even(1e5), 1e5 / (r * (0.8 + 0.5 * x)), even(u), y_b, even(0.0), np.full(N + 1, 1e-3)
    )
    step(rows, gases, dt)
    density = 0.8 + 0.5 * (x - u * dt)
    burned = density * (0.5 + 0.4 * (x - u * dt))
    assert rows[at.R_RHO, INNER] == pytest.approx(density[INNER], rel=1e-12)
    assert rows[at.R_BURNED, INNER] == pytest.approx(burned[INNER], rel=1e-12)


def test_half_a_step_of_even_expansion_follows_the_adiabat(gases: np.ndarray) -> None:
    # u = g x from even gas: exactly, mass thins by exp(-g t) and every cell keeps its entropy.
    dt, g = 1e-5, 200.0
    u = g * DX * (np.arange(N) - N // 2)
    rows = filled(gases, even(2e5), even(600.0), u, even(0.2), even(0.03), np.full(N + 1, 1e-3))
    duct.half_states(rows.reshape(-1), 0, N, dt)
    rho, p, e = (rows[r, 5] for r in (at.R_RHO, at.R_P, at.R_E))
    gamma = rows[at.R_A, 5] ** 2 * rho / p
    thinned = math.exp(-0.5 * g * dt)
    change = 0.5 * g * dt
    for k, start, exact in (
        (0, rho, rho * thinned),
        (2, p, p * thinned**gamma),
        (5, e, e - p / rho * (1.0 - thinned ** (gamma - 1.0)) / (gamma - 1.0)),
    ):
        middle = 0.5 * (rows[at.R_LEFT + k, INNER] + rows[at.R_RIGHT + k, INNER])
        # The predictor is of first order: what it leaves out is the square of the change.
        size = abs(exact - start)
        assert size > 0.0
        assert middle == pytest.approx(exact, rel=0.0, abs=2.0 * gamma * change * size), k


def test_friction_slows_both_ways(gases: np.ndarray) -> None:
    # Even flow: du/dt = -k u |u| exactly, u = u0 / (1 + k |u0| t).
    dt = 2e-5
    for u in (80.0, -80.0):
        rows = filled(
            gases, even(1e5), even(300.0), even(u), even(0.0), even(0.0), np.full(N + 1, 1e-3)
        )
        rows[at.R_FRICTION] = 0.5
        step(rows, gases, dt)
        exact = u / (1.0 + 0.5 * 80.0 * dt)
        # Midpoint rule: error of the order (k u dt)^3 = 5e-10 of u.
        assert rows[at.R_U, INNER] == pytest.approx(exact, rel=1e-9)
        assert abs(rows[at.R_U, 10]) < 79.95


def test_temperature_belongs_to_the_energy(gases: np.ndarray) -> None:
    rows = wavy(gases)
    for _ in range(2):
        step(rows, gases, 2e-6)
    before = rows[at.R_T].copy()
    step(rows, gases, 2e-6)
    for i in range(5, N - 5):
        y_b, y_f, u = rows[at.R_YB, i], rows[at.R_YF, i], rows[at.R_U, i]
        e = rows[at.R_ENE, i] / rows[at.R_RHO, i] - 0.5 * u * u + y_f * gas.fuel_offset(gases)
        exact = gas.temperature(gases, e, y_b, y_f, rows[at.R_T, i])
        move = abs(rows[at.R_T, i] - before[i]) / exact
        # One Newton step: second order in the move; cv changes by less than its own size over T.
        assert abs(rows[at.R_T, i] - exact) <= (move * move + 4 * EPS) * exact


def test_half_slope_is_the_monotonised_central_one() -> None:
    for before, here, after, expected in (
        (0.0, 1.0, 2.0, 0.5),  # even: half the difference
        (0.0, 1.0, 2.5, 0.625),  # a quarter of the central difference
        (0.0, 1.0, 9.0, 1.0),  # twice the smaller, halved
        (9.0, 1.0, 0.0, -1.0),
        (0.0, 1.0, 0.5, 0.0),  # a peak
        (1.0, 0.0, 1.0, 0.0),
        (1.0, 1.0, 5.0, 0.0),
    ):
        assert duct.half_slope(before, here, after) == expected


@pytest.mark.parametrize("row", [layout.R_RHO, layout.R_ENE, layout.R_BURNED])
def test_what_is_no_number_stays_in_sight(gases: np.ndarray, row: int) -> None:
    # No flag of the compiler may assume it away: the step's check must meet it.
    rows = wavy(gases)
    rows[row, 20] = math.nan
    step(rows, gases, 1e-6)
    assert math.isnan(rows[at.R_SPEED, 20])
    assert np.isfinite(rows[at.R_SPEED, 5:10]).all()


@pytest.mark.parametrize("row", [layout.R_RHO, layout.R_P, layout.R_U])
def test_no_number_in_a_neighbour_arrives(gases: np.ndarray, row: int) -> None:
    rows = wavy(gases)
    rows[row, 20] = math.nan
    step(rows, gases, 1e-6)
    assert not np.isfinite(rows[at.R_SPEED, 19:22]).all()
