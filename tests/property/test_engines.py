"""Does any plausible engine run, or say why not, with books that close and no number missing?"""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, note, settings
from hypothesis import strategies as st

from enginesim.base.errors import CaseError, CycleError
from enginesim.case import amend, assemble
from enginesim.case.tree import Case
from enginesim.cycle.curves import simulate, tables_of
from enginesim.performance.summary import summarise
from tests.strategies import plausible_cases

#: Not numbers where there is no plenum, by definition.
WITHOUT_PLENUM = {"ve_plenum", "manifold_pressure", "manifold_depression"}
#: Not numbers without ducts: no port, no state of the gas in it.
WITHOUT_PORT = {"p_port", "p_port_closing", "t_port", "t_mixed", "t_warmed"}
#: The same examples every time: a red run can be repeated, and each costs a second.
FEW = settings(max_examples=8, derandomize=True, suppress_health_check=list(HealthCheck))
MORE = settings(max_examples=25, derandomize=True, suppress_health_check=list(HealthCheck))


def missing(result: object) -> list[str]:
    """Names of the fields that hold something that is not a finite number."""
    found = []
    for f in fields(result):  # type: ignore[arg-type]
        value = getattr(result, f.name)
        if isinstance(value, float | np.ndarray) and not np.all(np.isfinite(value)):
            found.append(f.name)
    return found


def built(entries: dict[str, Any]) -> Case:
    try:
        return assemble(entries)
    except CaseError as error:  # drawn dimensions that do not fit each other
        note(str(error))
        assume(False)
        raise


def check_run(case: Case, rpm: float) -> None:
    try:
        record = simulate(case, rpm)
    except CaseError as error:  # a flow that the port cannot pass: said in words
        if not error.problems:
            raise
        return
    except CycleError as error:
        pytest.fail(f"a plausible engine broke down: {error}")
    if not record.converged:
        # Or say why: in a sentence with the numbers that are still too large.
        assert any(word in record.status for word in ("not periodic", "alternate"))
        assert f"{case.numerics.max_cycles} cycles" in record.status
    result = summarise(case, tables_of(case, rpm), record)
    assert missing(record) == []
    has_plenum = case.intake.layout.endswith("plenum") and case.throttle.kind != "none"
    has_port = case.numerics.fidelity == "wave"
    expected = (set() if has_plenum else WITHOUT_PLENUM) | (set() if has_port else WITHOUT_PORT)
    assert set(missing(result)) == expected
    assert abs(record.mass_error) <= 1e-12
    assert abs(record.energy_error) <= 1e-12
    if record.converged:
        assert record.imbalance <= case.numerics.imbalance_tolerance
    # No engine of this kind makes less or more than this on any fuel at full throttle.
    assert 0.2 < result.ve < 1.45
    assert 2e5 < result.imep_net < 20e5
    assert 0.0 <= result.residual < 0.6
    assert np.all(record.pressure > 0.0)
    assert np.all((record.temperature > 150.0) & (record.temperature < 3500.0))


@pytest.mark.slow
@given(plausible_cases(), st.sampled_from([1200.0, 3000.0, 5000.0]))
@FEW
def test_engines_with_waves(entries: dict[str, Any], rpm: float) -> None:
    check_run(built(entries), rpm)


@pytest.mark.slow
@given(plausible_cases(), st.sampled_from([1200.0, 3000.0, 5000.0]))
@MORE
def test_engines_without_waves(entries: dict[str, Any], rpm: float) -> None:
    check_run(amend(built(entries), {"numerics.fidelity": "filling"}), rpm)
