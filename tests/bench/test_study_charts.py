"""How long do ten thousand stored curves take to be asked for, drawn and written?"""

from __future__ import annotations

import math
import os
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

import pytest

from enginesim.case import Case
from enginesim.study.evaluation import Done, Evaluation
from enginesim.study.plan import points
from enginesim.study.reading import Options, load
from enginesim.study.store import Store
from tests.unit.study.results import result

CASES = Path(__file__).parents[2] / "cases"
MAP = ("intake.runner_lengths=4:20:0.1616 in", "cam.lobe_separation=104:116:0.1212 deg")
WIDE = (
    "cam=parts/cam-six-204.toml,parts/cam-six-214.toml,parts/cam-six-224.toml",
    "intake.runner_lengths=140:740 mm",
    "exhaust.primary_lengths=200:900 mm",
    "exhaust.primary_diameter=32:44 mm",
)
SPEEDS = "2000:6000:500"


def torque(case: Case, rpm: float) -> float:
    """A surface with ridges that move with the speed, as runs give it [N m]."""
    runner = case.intake.runner_lengths[0] + case.head.intake.port_length
    waves = math.cos(2 * math.pi * runner * rpm / 900.0)
    apart = math.degrees(case.cam.lobe_separation) - 109.0
    primary = case.exhaust.primary_lengths[0] * rpm / 2400.0
    fall = ((rpm - 4000.0) / 4000.0) ** 2
    return 400.0 * (1.0 - fall) + 12.0 * waves - 0.3 * apart**2 + 6.0 * math.cos(primary)


def filled(store: Store, engine: str, vary: tuple[str, ...], samples: int | None) -> int:
    """Fill a store with a whole study of invented results; how many curves."""
    options = Options(vary=vary, rpm=SPEEDS, samples=samples)
    plan = load(CASES / f"{engine}.toml", options)

    def run(todo: Iterable[tuple[Case, float]], total: int, done: Done) -> None:
        block = []
        for case, rpm in todo:
            found = result(rpm, torque=torque(case, rpm), power=torque(case, rpm) * rpm / 9.55)
            block.append((case, found, 0.1))
            done(case, found)
            if len(block) == 5000:
                store.put_many(block)
                block.clear()
        store.put_many(block)

    return len(Evaluation(plan, store, run).assess(points(plan.study)))


# The command as it is, with a clock about two of its steps.
CLOCKED = """
import resource, sys, time
begun = time.perf_counter()
from enginesim.base.threads import keep_to_one_thread
keep_to_one_thread()  # as `main` does, before it loads anything
from enginesim.cli import study_results
from enginesim.cli.main import main
from enginesim.study.evaluation import Evaluation

def clocked(name, step):
    def run(*arguments):
        wall, own = time.perf_counter(), time.process_time()
        found = step(*arguments)
        wall, own = time.perf_counter() - wall, time.process_time() - own
        print(f"  {name}: {wall:.2f} s, {own:.2f} s of this process", file=sys.stderr)
        return found
    return run

Evaluation.assess = clocked("asked for", Evaluation.assess)
study_results.write = clocked("drawn and written", study_results.write)
main(sys.argv[1:])
who = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
used = sum(sum(resource.getrusage(w)[:2]) for w in who)
print(f"  whole command: {time.perf_counter() - begun:.2f} s, {used:.2f} s of processors",
      file=sys.stderr)
"""


@pytest.mark.parametrize(
    "engine, vary, samples", [("lake-boat-v8", MAP, None), ("delivery-six", WIDE, 10_000)]
)
def test_charts_of_ten_thousand(
    engine: str, vary: tuple[str, ...], samples: int | None, tmp_path: Path
) -> None:
    """The command in fresh processes, three times, from a store that has every curve."""
    file = tmp_path / "full.sqlite"
    with Store.open(file) as store:
        n = filled(store, engine, vary, samples)
    words = ["sweep", str(CASES / f"{engine}.toml"), "--rpm", SPEEDS, "--store", str(file)]
    words += [word for text in vary for word in ("--vary", text)]
    words += ["--samples", str(samples)] if samples else []
    words += ["--out", str(tmp_path / "charts")]
    for _ in range(3):
        done = subprocess.run(
            [sys.executable, "-c", CLOCKED, *words], check=True, capture_output=True, text=True
        )
        print(f"\n{n} curves of {engine}, load {os.getloadavg()[0]:.1f}\n{done.stderr}", end="")
