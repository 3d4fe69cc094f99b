"""The public functions fit together as the manual shows them."""

from dataclasses import replace

import numpy as np
import pytest

import enginesim
from enginesim.base.errors import CaseError, ResultError
from enginesim.cycle.curves import tables_of
from tests.records import DEG

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
        point = enginesim.summarise(enginesim.simulate(single, float(rpm)))
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


def test_a_single_speed_is_a_curve(single) -> None:
    assert list(enginesim.curve(single, 3000)["rpm"]) == [3000.0]


@pytest.mark.parametrize("speeds", ["2000", [], [-1.0], [2000.0, float("nan")], float("inf")])
def test_speeds_that_are_none(single, speeds) -> None:
    with pytest.raises(ResultError, match="expected positive numbers in rpm"):
        enginesim.curve(single, speeds)


def test_a_record_knows_its_case(single) -> None:
    record = enginesim.simulate(single, 3000.0)
    assert record.case is single
    assert len(repr(record)) < 200
    with pytest.raises(ResultError, match="it has no case"):
        enginesim.summarise(replace(record, case=None))


def test_fields_are_changed_by_path_or_keyword_in_units_or_si(single) -> None:
    as_text = enginesim.load(CASE, {"block.bore": "90 mm", "cam.lobe_separation": 112 * DEG})
    assert as_text.block.bore == pytest.approx(0.090)
    assert as_text.cam.lobe_separation == pytest.approx(112 * DEG)
    assert enginesim.load(CASE, "block.bore=90 mm").block.bore == as_text.block.bore
    changed = single.amend({"block.bore": np.float64(0.090)}, numerics__fidelity="wave")
    assert changed.block.bore == pytest.approx(0.090)
    assert changed.numerics.fidelity == "wave"
    assert single.numerics.fidelity == "filling"
    assert len(repr(changed)) < 200


def test_a_number_is_si_whatever_its_type(single) -> None:
    with pytest.raises(CaseError, match=r"112\.0 rad"):
        single.amend({"cam.lobe_separation": 112})


def test_a_list_of_numbers_is_si(single) -> None:
    changed = single.amend({"intake.runner_lengths": [0.30]})
    assert changed.intake.runner_lengths == (pytest.approx(0.30),)
