"""Are the tables complete, fixed once made, the same every time, and refused for nonsense?"""

from __future__ import annotations

import copy
import dataclasses
import pickle

import numpy as np
import pytest

from enginesim.base.errors import EngineSimError, GasError
from enginesim.gas import FUELS, GasTables, tables

ARRAYS = ("energy_coefficients", "r_gas", "molar_mass", "du", "dr")


@pytest.fixture(scope="module")
def made() -> GasTables:
    return tables("gasoline 91", 0.88, 0.01)


def test_shapes(made: GasTables) -> None:
    assert made.energy_coefficients.shape == (3, 10)
    assert made.r_gas.shape == made.molar_mass.shape == (3,)
    assert made.du.shape == made.dr.shape == (made.n_t, made.n_p) == (96, 32)
    assert all(np.isfinite(getattr(made, name)).all() for name in ARRAYS)


@pytest.mark.parametrize("name", ARRAYS)
@pytest.mark.parametrize("how", ["as made", "pickled", "copied"])
def test_arrays_are_read_only(made: GasTables, name: str, how: str) -> None:
    """In another process too: a run's tables reach it pickled."""
    if how == "pickled":
        made = pickle.loads(pickle.dumps(made))
    elif how == "copied":
        made = copy.deepcopy(made)
    with pytest.raises(ValueError, match="read-only"):
        getattr(made, name)[...] = 0.0


def test_fields_are_fixed(made: GasTables) -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        made.lambda_ = 1.0  # type: ignore[misc]


def test_pickled_tables_hold_the_same(made: GasTables) -> None:
    again = pickle.loads(pickle.dumps(made))
    for field in dataclasses.fields(GasTables):
        assert np.array_equal(getattr(again, field.name), getattr(made, field.name))


def test_octane_may_be_given(made: GasTables) -> None:
    assert (made.octane_research, made.octane_motor) == (95.0, 87.0)
    other = tables("gasoline 91", 0.88, 0.01, octane_research=98.0, octane_motor=88.5)
    assert (other.octane_research, other.octane_motor) == (98.0, 88.5)
    assert np.array_equal(other.du, made.du)


@pytest.mark.parametrize("kind", ["octane_research", "octane_motor"])
@pytest.mark.parametrize("value", [0.87, 59.0, 200.0, float("nan")])
def test_impossible_octane_is_refused(kind: str, value: float) -> None:
    with pytest.raises(GasError, match="octane: found"):
        tables("gasoline 91", 0.88, **{kind: value})


@pytest.mark.parametrize("lambda_", [0.59, 2.01, 14.7, 0.0, -1.0, float("nan"), float("inf")])
def test_impossible_lambda_is_refused(lambda_: float) -> None:
    with pytest.raises(GasError, match="lambda: found"):
        tables("gasoline 91", lambda_)


@pytest.mark.parametrize("lambda_", [0.6, 2.0])
def test_limits_of_lambda_are_allowed(lambda_: float) -> None:
    assert tables("gasoline 91", lambda_).lambda_ == lambda_


@pytest.mark.parametrize("humidity_ratio", [-0.001, 0.6, float("nan")])
def test_impossible_humidity_is_refused(humidity_ratio: float) -> None:
    with pytest.raises(GasError, match="humidity ratio: found"):
        tables("gasoline 91", 1.0, humidity_ratio)


def test_unknown_fuel_is_refused_with_the_nearest_name() -> None:
    with pytest.raises(GasError, match="did you mean 'gasoline 95'"):
        tables("gasolin 95", 1.0)
    with pytest.raises(GasError) as caught:
        tables("coal dust", 1.0)
    assert all(name in str(caught.value) for name in FUELS)
    assert isinstance(caught.value, EngineSimError)
    assert isinstance(caught.value, ValueError)
