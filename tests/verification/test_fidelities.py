"""Do filling and waves agree where waves have time to die away, and does the step not matter?"""

from __future__ import annotations

from pathlib import Path

import pytest

from enginesim.case import Case, amend, load
from enginesim.cycle import simulation
from enginesim.cycle.period import run_to_period
from enginesim.cycle.simulation import begin
from enginesim.kernels import layout as at
from tests.engines import FIXED_SPARK, engine, run, tables_of
from tests.population.engines import drawn

CASES = Path(__file__).parents[2] / "cases"

#: Every duct 50 mm long: a wave is back in a third of a millisecond, two degrees at 1000 rpm.
SHORT = (
    "intake.runner_lengths=50 mm",
    "exhaust.primary_lengths=50 mm",
)
WITH = {
    "coupe-v6": ("collector_length", "tail_length", "log_segment_length"),
    "delivery-six": ("collector_length", "tail_length"),
    "hill-climb-four": ("collector_length", "tail_length"),
    "lake-boat-v8": ("collector_length",),
    "teaching-single": (),
}
#: Fewer cycles than convergence to the last digit would take; the spark is none of the matter.
PLAIN = ("spark.mode=schedule", "spark.advance=15")


def short(name: str, fidelity: str) -> Case:
    """A shipped engine with short ducts."""
    lengths = [f"exhaust.{part}=50 mm" for part in WITH[name]]
    changes = (*SHORT, *lengths, *PLAIN, f"numerics.fidelity={fidelity}")
    return load(CASES / f"{name}.toml", changes)


@pytest.mark.slow
@pytest.mark.parametrize("rpm", [800.0, 1000.0, 1200.0])
@pytest.mark.parametrize("name", WITH)
def test_filling_is_wave_in_short_ducts(name: str, rpm: float) -> None:
    (record, wave), (other, filling) = (run(short(name, f), rpm) for f in ("wave", "filling"))
    assert record.converged, record.status
    assert other.converged, other.status
    assert filling.ve == pytest.approx(wave.ve, rel=0.03)
    assert filling.residual == pytest.approx(wave.residual, abs=0.015)


@pytest.mark.slow
@pytest.mark.parametrize("rpm", [800.0, 4000.0])
def test_filling_does_not_depend_on_the_step(rpm: float) -> None:
    """Small volumes answer within far less than a step: what is left is of its second order."""
    case = engine("four", *FIXED_SPARK, "numerics.fidelity=filling")
    fine = engine("four", *FIXED_SPARK, "numerics.fidelity=filling", "numerics.crank_step=0.1 deg")
    (_, coarse), (_, exact) = run(case, rpm), run(fine, rpm)
    assert coarse.torque == pytest.approx(exact.torque, rel=2e-3)
    assert coarse.ve == pytest.approx(exact.ve, rel=1e-3)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["single", "four", "minimal"])
def test_filling_does_not_hang_on_the_last_bit(name: str) -> None:
    """A first state moved by rounding ends where it would have ended: nothing is amplified."""
    case = engine(name, *FIXED_SPARK, "numerics.fidelity=filling")
    means = []
    for part in (0.0, 1e-12, -1e-12):
        moved = begin(case, tables_of(case, 1200.0), 1200.0)
        moved.engine.state.cyl[:, :4] *= 1.0 + part
        run_to_period(moved)
        means.append(moved.history[-1][0])
    assert means[1:] == pytest.approx([means[0]] * 2, rel=1e-10)


def test_books_close_without_waves() -> None:
    case = engine("four", *FIXED_SPARK, "numerics.fidelity=filling")
    moving = begin(case, tables_of(case, 1200.0), 1200.0)
    for _ in range(3):
        simulation.run_cycle(moving)
        assert moving.books is not None
        assert abs(moving.books.mass_gap / moving.books.air) < 1e-12
        assert abs(moving.books.energy_gap / moving.books.fuel_heat) < 1e-12
    # Only the crank limits the step, at 1200 rpm too, however small a volume is.
    assert moving.engine.state.clock[at.T_STEPS] == 3 * 720 / 2.5


@pytest.mark.slow
def test_little_filling_of_a_long_overlap_is_no_mode_of_the_numerics() -> None:
    """Half filled wide open: so it is with waves whose columns are too short to push."""
    lengths = ("head.exhaust.port", "exhaust.primary", "exhaust.collector", "exhaust.tail")
    changes = {f"{name}_length{'s' if 'primary' in name else ''}": "10 mm" for name in lengths}
    changes |= {
        "head.intake.port_length": "50 mm", "intake.runner_lengths": "50 mm",
        "fuel.name": "gasoline 91", "mixture.lambda": 0.9, "spark.mode": "schedule",
        "spark.advance": "20 deg", "numerics.cell_size": "8 mm",
    }  # fmt: skip
    case = amend(drawn(7, 79).case, changes)
    (_, wave), (record, filling) = (
        run(amend(case, {"numerics.fidelity": fidelity}), 1000.0)
        for fidelity in ("wave", "filling")
    )
    assert record.converged, record.status
    assert wave.ve < 0.5
    assert filling.ve == pytest.approx(wave.ve, rel=0.03)


@pytest.mark.slow
def test_waves_are_what_filling_leaves_out() -> None:
    """At the tuned speed of long pipes the two must differ, or `wave` would be for nothing."""
    case = engine("four", *FIXED_SPARK)
    plain = engine("four", *FIXED_SPARK, "numerics.fidelity=filling")
    assert run(case, 5000.0)[1].ve > 1.03 * run(plain, 5000.0)[1].ve
