"""Of which pieces an exhaust consists."""

from __future__ import annotations

import pytest

from enginesim.network.exhaust import add_exhaust
from enginesim.network.pieces import Plan
from tests.unit.case.engines import changed


@pytest.mark.parametrize("more", ["exhaust.tail_length=60 in", "exhaust.collector_length=14 in"])
def test_single_pipes_that_meet_lead_on_in_one(more: str) -> None:
    plan = Plan(n_cylinders=8)
    add_exhaust(changed("exhaust.layout=single", "exhaust.crossover=true", more), plan)
    assert [duct.name for duct in plan.ducts if duct.name.startswith("exhaust")] == ["exhaust"]
    assert all(duct.sections for duct in plan.ducts)
    assert sum(volume.name == "crossover" for volume in plan.volumes) == 1
