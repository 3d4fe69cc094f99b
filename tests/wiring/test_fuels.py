"""The case and the gas know the same fuels, and mean the same by an air-fuel ratio."""

from __future__ import annotations

import pytest

from enginesim import gas
from enginesim.case.defaults.charge import STOICHIOMETRIC
from enginesim.case.facts import walk
from enginesim.case.tree import Case

CHOICES = dict(walk(Case))["fuel.name"].choices


def test_the_same_names() -> None:
    assert set(CHOICES) == set(gas.FUELS) == set(STOICHIOMETRIC)


@pytest.mark.parametrize("name", CHOICES)
def test_the_same_stoichiometric_ratio(name: str) -> None:
    # 0.5 %: the tabled ratios have three or four digits, and blends round their volumes.
    tables = gas.tables(name, 1.0, 0.0)
    assert tables.afr_stoich == pytest.approx(STOICHIOMETRIC[name], rel=0.005)
