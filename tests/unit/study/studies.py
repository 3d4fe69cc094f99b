"""Studies of the smallest case, and a runner that works results out by a formula."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path

from enginesim.case import Case
from enginesim.performance import Performance
from enginesim.study.evaluation import Done
from enginesim.study.reading import Options, Plan, load
from enginesim.study.store import Store
from enginesim.study.store_rows import Failure
from tests.unit.study.results import result

CASES = Path(__file__).parents[2] / "cases"
SINGLE = CASES / "single.toml"
INCH = 0.0254


def plan(*vary: str, rpm: str = "2000,3000", **options: tuple[str, ...] | int) -> Plan:
    """A study of the single, as from the command line."""
    return load(SINGLE, Options(vary=vary, rpm=rpm, **options))  # type: ignore[arg-type]


def hill(case: Case, rpm: float) -> float:
    """Torque [N m] with a top at 110 deg of lobe separation and 200 mm of runner."""
    separation = math.degrees(case.cam.lobe_separation)
    runner = case.intake.runner_lengths[0]
    return 100.0 - (separation - 110.0) ** 2 / 10 - ((runner - 0.2) / 0.05) ** 2 + rpm / 1000


def never(case: Case, rpm: float) -> bool:
    return False


def calm(case: Case, rpm: float) -> float:
    return 0.0


@dataclass
class FormulaRunner:
    """Works out results at once, and counts them."""

    torque: Callable[[Case, float], float] = hill
    store: Store | None = None
    broken: Callable[[Case, float], bool] = never
    restless: Callable[[Case, float], bool] = never
    margin: Callable[[Case, float], float] = calm
    stop_after: int = 10**9
    runs: list[tuple[str, float]] = field(default_factory=list)

    def __call__(self, points: Iterable[tuple[Case, float]], total: int, done: Done) -> None:
        assert total > 0
        for case, rpm in points:
            if len(self.runs) >= self.stop_after:
                return
            self.runs.append((case.digest, rpm))
            found: Performance | Failure
            if self.broken(case, rpm):
                found = Failure(rpm, "broke down", "invented breakdown")
            else:
                torque = self.torque(case, rpm)
                found = result(
                    rpm,
                    torque=torque,
                    power=torque * rpm * math.pi / 30,
                    converged=not self.restless(case, rpm),
                    residual=0.05 + case.intake.runner_lengths[0],
                    knock_margin=self.margin(case, rpm),
                )
            if self.store is not None:
                self.store.put(case, found)
            done(case, found)
