"""The public functions fit together as the manual shows them."""

import numpy as np
import pytest

import enginesim
from enginesim.cycle.curves import tables_of

CASE = "cases/teaching-single.toml"
WITHOUT_WAVES = ("numerics.fidelity=filling",)


@pytest.fixture(scope="module")
def single():
    return enginesim.load(CASE, WITHOUT_WAVES)


def test_curve_is_what_summaries_say(single) -> None:
    """A curve holds, speed by speed, what one simulation and its summary give."""
    curve = enginesim.curve(single, [3000.0, 2000.0])
    assert list(curve["rpm"]) == [2000.0, 3000.0]
    for rpm, torque in zip(curve["rpm"], curve["torque"], strict=True):
        point = enginesim.summarise(single, enginesim.simulate(single, float(rpm)))
        assert point.torque == torque


def test_gas_is_that_of_the_mixture(single) -> None:
    made = enginesim.gas_tables(single, 2500.0)
    assert made.lambda_ == single.mixture.at(2500.0)
    assert np.array_equal(made.energy_coefficients, tables_of(single, 2500.0).energy_coefficients)


def test_build_gives_the_parts_of_a_run(single) -> None:
    engine = enginesim.build(single, enginesim.gas_tables(single, 2500.0), 2500.0)
    assert engine.network.plan.n_cylinders == 1
    assert len(engine.state.cyl) == 1


@pytest.mark.parametrize("name", enginesim.__all__)
def test_every_public_name_exists(name: str) -> None:
    assert callable(getattr(enginesim, name)) or name == "__version__"
