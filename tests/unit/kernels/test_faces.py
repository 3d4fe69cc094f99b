"""Do the loops over many duct ends find what the bracketed solver finds at each?"""

from __future__ import annotations

import numpy as np
import pytest

from enginesim.base.jit import kernel
from enginesim.formulas.powers import LEAST, MOST, near_exp, near_log, near_one_power
from enginesim.kernels import layout as at
from enginesim.kernels.arrays import Table
from enginesim.kernels.ends import face_state
from enginesim.kernels.faces import bracketed_faces, entering_faces, free_faces, throttled_faces

N = 80  # columns of each kind
SEED = 20251125


@kernel
def one_by_one(found: Table, given: Table) -> None:
    """Face of every column by the bracketed solver, from no guess."""
    for i in range(given.shape[0]):
        row = given[i]
        found[i] = face_state(
            row[0], row[1], row[2], row[3], row[4], row[5], row[6], row[7], row[8], row[9], 0.0
        )


def ends(spread: float) -> np.ndarray:
    """Random ducts and reservoirs, the wilder the larger the spread."""
    rng = np.random.default_rng(SEED)
    p = 1e5 * np.exp(rng.uniform(-spread, spread, N))
    t = rng.uniform(280.0, 1500.0, N)
    gamma = rng.uniform(1.25, 1.4, N)
    rho = p / (287.0 * t)
    u = spread * rng.uniform(-0.5, 0.5, N) * np.sqrt(gamma * p / rho)
    ratio = rng.uniform(0.05, 1.3, N).clip(max=1.0)
    p_res = 1e5 * np.exp(rng.uniform(-spread, spread, N))
    return np.stack(
        [
            rho, u, p, gamma, ratio, ratio, p_res,
            rng.uniform(280.0, 2000.0, N), rng.uniform(1.25, 1.4, N), rng.uniform(285.0, 295.0, N),
        ],
        axis=1,
    )  # fmt: skip


def solved(given: np.ndarray, error: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Bracketed answers; those of the loops from roots off by `error`; which of them were found."""
    exact = np.empty((N, 4))
    one_by_one(exact, given)
    x = np.zeros(at.BLOCK)
    rows = x.reshape(at.N_ROWS, at.STRIDE)
    columns = {"in": [], "throttled": [], "free": []}
    for i in range(N):
        leaves, is_throttled = exact[i, 3] >= 0.0, given[i, 4] < 1.0
        columns["throttled" if leaves and is_throttled else "free" if leaves else "in"].append(i)
    starts = {"in": 0, "throttled": at.THROTTLED, "free": at.STRIDE - N}
    inputs = (
        at.F_RHO, at.F_U, at.F_P, at.F_GAMMA, at.F_RATIO_OUT, at.F_RATIO_IN, at.F_P_RES,
        at.F_T_RES, at.F_GAMMA_RES, at.F_R_RES,
    )  # fmt: skip
    got, is_found = np.empty((N, 4)), np.zeros(N, dtype=bool)
    for kind, loop in (
        ("in", entering_faces), ("throttled", throttled_faces), ("free", free_faces)
    ):  # fmt: skip
        place = starts[kind] + np.arange(len(columns[kind]))
        for k, row in enumerate(inputs):
            rows[row, place] = given[columns[kind], k]
        rows[at.F_ROOT, place] = exact[columns[kind], 3] * (1.0 + error)
        first, n = np.uint64(starts[kind]), np.uint64(len(place))
        loop(x, first, n)
        is_found[columns[kind]] = rows[at.F_MISSED, place] == 0.0
        bracketed_faces(x, first, n)
        for k, row in enumerate((at.F_FACE_RHO, at.F_FACE_U, at.F_FACE_P, at.F_NEW_ROOT)):
            got[columns[kind], k] = rows[row, place]
    return exact, got, is_found


@pytest.mark.parametrize("error", [0.0, 1e-3, -0.02, 3.0])
@pytest.mark.parametrize("spread", [0.02, 0.1, 0.4, 1.5])
def test_same_faces(spread: float, error: float) -> None:
    """Whatever the guess: 2e-9 is a last Newton step squared, 3e-5 the bracket's near sonic."""
    exact, got, is_found = solved(ends(spread), error)
    allowed = np.where(is_found, 2e-9, 3e-5)
    for k in (0, 2):
        assert np.all(np.abs(got[:, k] / exact[:, k] - 1.0) < allowed)
    assert np.all(np.abs(got[:, 1] - exact[:, 1]) < 10.0 * allowed * (np.abs(exact[:, 1]) + 1.0))


def test_weak_waves_are_found_at_once() -> None:
    """From nearly the last root nine ends in ten of a weak flow need no bracket."""
    _, _, is_found = solved(ends(0.1), 1e-3)
    assert is_found.mean() > 0.9


def test_strong_ones_are_left_to_the_bracket() -> None:
    """Sonic flow and pressures beyond the series' range are never taken for solved."""
    given = ends(0.1)
    given[:, 6] *= np.where(np.arange(N) % 2, 3.0, 0.3)
    _, _, is_found = solved(given, 0.0)
    assert not is_found.any()


@kernel
def powers(found: Table, x: Table) -> None:
    for i in range(x.shape[0]):
        found[i, 0] = near_log(x[i, 0])
        found[i, 1] = near_exp(x[i, 1])
        found[i, 2] = near_one_power(x[i, 2], x[i, 3])


def test_series() -> None:
    """Within what their docstrings promise, over the whole of their ranges."""
    n = 2001
    x = np.stack(
        [
            np.linspace(LEAST, MOST, n), np.linspace(-6.0, 6.0, n),
            np.linspace(-0.01, 0.01, n), np.linspace(-12.0, 12.0, n),
        ],
        axis=1,
    )  # fmt: skip
    found = np.empty((n, 3))
    powers(found, x)
    assert np.max(np.abs(found[:, 0] - np.log(x[:, 0]))) < 1e-12
    assert np.max(np.abs(found[:, 1] / np.exp(x[:, 1]) - 1.0)) < 2e-11
    # The first binomial term left out, of exponent -12 and the sixth power of 0.01, is
    # 12376e-12.
    assert np.max(np.abs(found[:, 2] / (1.0 + x[:, 2]) ** x[:, 3] - 1.0)) < 1.3e-8
