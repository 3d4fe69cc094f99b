"""The record: names, units, and each cylinder in its own time."""

from __future__ import annotations

import pickle
from dataclasses import fields

import numpy as np
import pytest

from enginesim.base.errors import ResultError
from enginesim.base.quantity import quantities
from enginesim.cycle.record import CycleRecord
from tests.meta.units import SI, is_unit
from tests.records import DEG, record


def test_every_field_says_what_it_is() -> None:
    known = quantities(CycleRecord)
    assert set(known) == {field.name for field in fields(CycleRecord)}
    for quantity in known.values():
        assert quantity.label
        assert quantity.definition.endswith(".")
        assert quantity.unit == "" or is_unit(quantity.unit, SI), quantity


def test_shapes_are_those_declared() -> None:
    made = record(traces=True)
    axes = {"cylinder": 4, "sample": 721, "volume": 2, "cell": 65}
    for quantity in quantities(CycleRecord).values():
        if quantity.shape:
            names = quantity.shape.strip("(),").split(", ")
            assert np.shape(made[quantity.name]) == tuple(axes[n] for n in names), quantity.name


def test_unknown_name_gets_the_nearest() -> None:
    with pytest.raises(ResultError, match=r"no 'presure' \(did you mean 'pressure'\?\)"):
        record()["presure"]


def test_a_cylinder_in_its_own_time() -> None:
    made = record()
    for cylinder in range(4):
        angle, p = made.of_cylinder("pressure", cylinder)
        assert angle[0] == pytest.approx(-2 * np.pi)
        assert angle[-1] == pytest.approx(2 * np.pi)
        assert np.all(np.diff(angle) > 0)
        # Every cylinder of the invented engine has the same cycle; its peak is after the centre.
        assert p == pytest.approx(made.of_cylinder("pressure", 0)[1])
        assert 0 < angle[np.argmax(p)] < 40 * DEG


def test_a_channel_of_no_cylinder() -> None:
    with pytest.raises(ResultError, match="no channel 'volume_pressure' of a cylinder"):
        record().of_cylinder("volume_pressure", 0)
    with pytest.raises(ResultError, match="no channel 'intake_lift'"):
        record(intake_lift=None).of_cylinder("intake_lift", 0)


def test_a_record_goes_to_another_process_and_back() -> None:
    made = record(traces=True)
    copy = pickle.loads(pickle.dumps(made))
    for field in fields(CycleRecord):
        if field.name != "tracts":
            assert np.array_equal(copy[field.name], made[field.name])
    assert np.array_equal(copy.tracts[1].cells, made.tracts[1].cells)
