"""Do engines drawn at random run, become periodic, close their books, or say why not?"""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from enginesim.base.errors import CaseError, Problem
from tests.meta.tree import ROOT
from tests.patience import PATIENCE
from tests.population import points as points_module
from tests.population.engines import CYLINDERS, FUELS, drawn
from tests.population.points import Point, outcome_of, run_point
from tests.population.table import STRATA, counts, table

SEED, ENGINES = 100, 100
LARGE_SEED, LARGE_ENGINES = 101, 1000
#: Parts of the points that may end without a periodic cycle; of those with an open throttle.
NOT_PERIODIC, WIDE_OPEN = 0.03, 0.01


def population(seed: int, n: int, folder: Path) -> list[Point]:
    """A population, run by the command in processes of its own, whatever this one is."""
    out = folder / "points.json"
    words = ["--seed", str(seed), "--engines", str(n), "--jobs", "2", "--out", str(out)]
    done = subprocess.run(
        [sys.executable, "-m", "tests.population", *words],
        cwd=ROOT, capture_output=True, text=True, timeout=n * PATIENCE, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    rows = json.loads(out.read_text("utf-8"))
    return [Point(**{k: math.nan if v is None else v for k, v in row.items()}) for row in rows]


def check(found: list[Point], n: int) -> None:
    assert len(found) == 3 * n
    account = table(found, [])
    assert all(point.reason for point in found)
    for kind in ("refused", "crashed", "unfinished", "open books"):
        assert counts(found)[kind] == 0, account
    wide = [point for point in found if point.stratum[1] == "wide open"]
    assert counts(wide)["not periodic"] <= WIDE_OPEN * len(wide), account
    assert counts(found)["not periodic"] <= NOT_PERIODIC * len(found), account


@pytest.mark.slow
def test_a_hundred_engines(tmp_path: Path) -> None:
    check(population(SEED, ENGINES, tmp_path), ENGINES)


@pytest.mark.battery
def test_a_thousand_engines(tmp_path: Path) -> None:
    check(population(LARGE_SEED, LARGE_ENGINES, tmp_path), LARGE_ENGINES)


def test_an_engine_is_the_same_every_time_and_unlike_its_neighbors() -> None:
    assert drawn(7, 3) == drawn(7, 3)
    assert len({drawn(seed, index).text for seed in (7, 8) for index in range(5)}) == 10


@pytest.mark.slow
def test_every_kind_is_drawn() -> None:
    cases = [drawn(1, index).case for index in range(100)]
    assert {case.block.n_cylinders for case in cases} == set(CYLINDERS)
    assert {case.fuel.name for case in cases} == set(FUELS)
    assert len({case.intake.layout for case in cases}) == 4
    assert len({case.exhaust.layout for case in cases}) == 6
    assert len({case.exhaust.muffler for case in cases}) == 3
    assert len({case.spark.mode for case in cases}) == 3
    waves = sum(case.numerics.fidelity == "wave" for case in cases)
    assert abs(waves - 0.7 * 100) < 4 * (0.7 * 0.3 * 100) ** 0.5  # four standard deviations


def point(outcome: Any = "periodic", opening: float = 1.0, **more: Any) -> Point:
    return Point(1, 2, 3000.0, "wave", opening, outcome, "why", **more)


def test_the_table_counts_by_stratum() -> None:
    some = [point(), point("crashed", 0.05), point(seconds=61.0), point(mass_error=1e-8)]
    lines = table([*some, point(energy_error=float("nan"))], [drawn(1, 0)]).splitlines()
    assert len([line for line in lines if line.startswith(("wave ", "filling "))]) == len(STRATA)
    wide, closed = (next(x for x in lines if x.startswith(f"wave {s}")) for s in ("wide", "below"))
    assert wide.split()[3] == "4"
    assert closed.split()[4] == "1"
    assert counts(some)["over 60 s"] == 1
    assert counts([point(energy_error=float("nan"))])["open books"] == 1
    assert "2, 3000: wave below 10 %, 0.05 open, 0 s, crashed: why" in lines


@pytest.mark.parametrize(
    "error, outcome, reason",
    [
        (CaseError([Problem("f", "block.bore", "3")]), "refused", "f: block.bore: found 3"),
        (ZeroDivisionError("by nought"), "crashed", "ZeroDivisionError: by nought"),
    ],
)
def test_whatever_is_raised_is_an_outcome(
    error: Exception, outcome: str, reason: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def raises(*_args: object, **_more: object) -> None:
        raise error

    monkeypatch.setattr(points_module, "tables_of", raises)
    engine = drawn(1, 0)
    found = run_point(engine, engine.case, 3000.0)
    assert found.outcome == outcome
    assert reason in found.reason


@pytest.mark.parametrize("ending", ["periodic", "alternating", "unsteady", "not periodic"])
def test_the_record_says_how_it_ended(ending: str) -> None:
    assert outcome_of(SimpleNamespace(ending=ending)) == ending  # type: ignore[arg-type]
