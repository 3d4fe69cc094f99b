"""The scalar formulas of the kernels give on a GPU, from the same source, what they do on the CPU.

Skipped where numba finds no CUDA device.
"""

from importlib import import_module

import numba
import numpy as np
import pytest

cuda = pytest.importorskip("numba.cuda", reason="numba without CUDA")
if not cuda.is_available():
    pytest.skip("no CUDA device", allow_module_level=True)

N = 2048
#: Both sides round each operation once, but contract multiply-adds differently, and their
#: mathematical libraries may differ in the last place. Found on one H100: all within this.
CLOSE = 1e-13
#: Small differences, of lengths near top dead centre, of pressures near equality: relative to them
#: the rounding is larger.
CANCELLING = 1e-12


def _uniform(seed: int, *ranges: tuple[float, float]) -> list[np.ndarray]:
    rng = np.random.default_rng(seed)
    return [rng.uniform(low, high, N) for low, high in ranges]


# Module, function, ranges of its arguments, which results are compared, tolerance.
SCALARS = [
    ("formulas.powers", "power", [(0.3, 3.0), (-9.0, 9.0)], 1, CLOSE),
    (
        "formulas.nozzle",
        "mass_flow",
        [(1e-6, 1e-3), (1e5, 5e5), (250, 2500), (2e4, 5e5), (1.2, 1.4), (270, 300)],
        1,
        CANCELLING,
    ),
    ("formulas.wiebe", "burned_fraction", [(0.0, 1.0), (3.0, 7.0), (1.0, 4.0)], 1, CLOSE),
    ("formulas.wiebe", "burn_rate", [(0.01, 0.9), (3.0, 7.0), (1.0, 4.0)], 1, CLOSE),
    (
        "formulas.crank",
        "piston_travel",
        [(-6.0, 6.0), (0.06, 0.1), (0.12, 0.16), (-0.002, 0.002)],
        1,
        CANCELLING,
    ),
    (
        "formulas.crank",
        "travel_slope",
        [(-6.0, 6.0), (0.06, 0.1), (0.12, 0.16), (-0.002, 0.002)],
        1,
        CLOSE,
    ),
    (
        "formulas.heat_transfer",
        "woschni",
        [(0.07, 0.12), (1e5, 9e6), (300, 2600), (5, 60)],
        1,
        CLOSE,
    ),
    (
        "formulas.heat_transfer",
        "hohenberg",
        [(5e-5, 6e-4), (1e5, 9e6), (300, 2600), (3, 25)],
        1,
        CLOSE,
    ),
    ("formulas.knock", "ignition_delay", [(80, 105), (1e6, 9e6), (600, 1100)], 1, CLOSE),
    ("kernels.wall", "viscosity", [(1.8e-5, 1.9e-5), (250, 2500)], 1, CLOSE),
    ("kernels.wall", "friction_factor", [(500, 1e6), (0.0, 1e-5)], 1, CLOSE),
    ("kernels.duct", "half_slope", [(0.9, 1.1), (0.9, 1.1), (0.9, 1.1)], 1, CLOSE),
    (
        "kernels.ends",
        "face_state",
        [
            (0.3, 3.0),
            (-100, 200),
            (5e4, 3e5),
            (1.25, 1.4),
            (0.0, 1.0),
            (0.0, 1.0),
            (5e4, 6e5),
            (280, 2000),
            (1.25, 1.4),
            (280, 296),
            (-0.3, 0.3),
        ],
        3,
        CLOSE,
    ),
    (
        "kernels.ends",
        "leaving_velocity",
        [(5.0, 8.0), (1.0, 1.2), (0.7, 0.99), (0.01, 0.99), (0.0, 0.3)],
        1,
        CLOSE,
    ),
    (
        "kernels.ends",
        "entering_velocity",
        [(5.0, 8.0), (0.8, 0.99), (1.0, 1.2), (0.7, 2.0), (5.0, 8.0), (0.01, 0.99), (0.0, 0.3)],
        1,
        CLOSE,
    ),
]

# Formulas of a mixture: function, ranges of temperature or energy and of the two fractions.
MIXTURES = [
    ("energy", [(210, 3400), (0.0, 0.9), (0.0, 0.1)]),
    ("heat_capacity", [(210, 3400), (0.0, 0.9), (0.0, 0.1)]),
]


def _loop(function, n_argument: int, n_result: int, has_gas: bool, *, on_device: bool):
    """A loop over rows of arguments, to be compiled: one thread a row on the device."""
    names = [f"a{k}" for k in range(n_argument)]
    call = ", ".join(["gas"] * has_gas + [f"{name}[i]" for name in names])
    store = (
        [f"        out[0, i] = f({call})"]
        if n_result == 1
        else [f"        r = f({call})"] + [f"        out[{k}, i] = r[{k}]" for k in range(n_result)]
    )
    head = (
        ["    i = cuda.grid(1)", "    if i < out.shape[1]:"]
        if on_device
        else ["    for i in range(out.shape[1]):"]
    )
    parameters = ", ".join(["gas"] * has_gas + [*names, "out"])
    space = {"f": function, "cuda": cuda}
    exec("\n".join([f"def run({parameters}):", *head, *store]), space)
    return space["run"]


def _both(function, arguments: list[np.ndarray], n_result: int, gas: np.ndarray | None = None):
    """Values of a formula inlined into a loop, on the device and on the host."""
    given = ([np.asarray(gas).copy()] if gas is not None else []) + arguments
    out = np.zeros((2, n_result, N))
    shape = (len(arguments), n_result, gas is not None)
    device = cuda.jit(_loop(function, *shape, on_device=True))
    device[(N + 127) // 128, 128](*given, out[0])
    host = numba.njit(error_model="numpy", fastmath={"contract"})
    host(_loop(function, *shape, on_device=False))(*given, out[1])
    return out


@pytest.mark.parametrize("module,name,ranges,n_result,tolerance", SCALARS)
def test_formula(module, name, ranges, n_result, tolerance) -> None:
    arguments = _uniform(1, *ranges)
    found, expected = _both(_formula(module, name), arguments, n_result)
    scale = np.maximum(np.abs(expected), 1e-3 * np.abs(expected).max(axis=1)[:, None])
    assert np.max(np.abs(found - expected) / scale) < tolerance


@pytest.mark.parametrize("name,ranges", MIXTURES)
def test_mixture(name, ranges) -> None:
    # Of the size that real coefficients have; parity asks for no real gas.
    air = [-3.0e5, 7.5e5, -2.1e4, 6.2e4, -1.1e4, 1.3e3, 5.1e3, -2.2e3, 5.3e2, -5.0e1]
    gas = np.array([*air, *(3.0 * k for k in air), *(-0.4 * k for k in air), 287.0, -214.0, 4.0])
    arguments = _uniform(2, *ranges)
    found, expected = _both(_formula("kernels.gas", name), arguments, 1, gas)
    # The coefficients' own terms, not their sum, set the rounding.
    assert np.max(np.abs(found - expected)) < CLOSE * np.abs(gas[:30]).max()


def _formula(module: str, name: str):
    import_module("enginesim.kernels.march")  # its formulas are registered as it is compiled
    return getattr(import_module(f"enginesim.{module}"), name)
