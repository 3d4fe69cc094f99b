"""An invented engine's curve, and its stamp."""

from __future__ import annotations

import pytest

from enginesim import gas
from enginesim.base.provenance import Provenance, stamp
from enginesim.performance import Curve, summarise
from tests.records import case, record


@pytest.fixture(scope="session")
def gas_tables() -> gas.GasTables:
    return gas.tables("gasoline 91", 0.88, 0.0)


@pytest.fixture(scope="session")
def curve(gas_tables: gas.GasTables) -> Curve:
    """Nine speeds, of which the second did not converge."""
    ended = {"converged": False, "status": "not periodic after 40 cycles"}
    return Curve(
        summarise(case(), gas_tables, record(float(rpm), **(ended if rpm == 2500 else {})))
        for rpm in range(2000, 6001, 500)
    )


@pytest.fixture
def provenance() -> Provenance:
    return stamp(case().digest)
