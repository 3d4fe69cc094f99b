"""How fast is this machine at what the program does?"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from enginesim.case import assemble as assemble_case
from enginesim.cycle.curves import curve, tables_of
from enginesim.cycle.simulation import begin, run_cycle
from enginesim.kernels import layout as at
from enginesim.kernels.benchmark import repeat_passes
from enginesim.network.assemble import assemble
from enginesim.network.engine import prepare
from enginesim.network.gas_array import gas_array
from enginesim.network.pieces import Duct, End, Plan, pipe
from enginesim.network.state import first_state

if TYPE_CHECKING:
    from enginesim.case import Case

#: The engine that is timed: an invented V8 of 5.1 L, all else by default.
V8 = {
    "name": "bench V8 (invented)",
    "block.n_cylinders": 8,
    "block.bore": "4.00 in",
    "block.stroke": "3.10 in",
    "block.compression_ratio": 9.5,
    "head.intake.peak_flow": "210 cfm @ 28 inH2O",
    "cam.lifter": "hydraulic flat",
    "cam.lobe_separation": 110,
    "cam.intake.durations": "214 deg @ 0.050 in",
    "cam.intake.valve_lift": "0.460 in",
    "cam.exhaust.durations": "224 deg @ 0.050 in",
    "cam.exhaust.valve_lift": "0.470 in",
    "intake.layout": "divided plenum",
    "throttle.kind": "carburettor",
    "throttle.flow": "600 cfm @ 1.5 inHg",
    "exhaust.layout": "4-into-1",
    "exhaust.primary_diameter": "1.5 in",
}
SPEEDS = tuple(float(rpm) for rpm in range(2500, 5501, 250))
_CELLS = 240
_ROUNDS = 3000

_CHILD = """
import resource, time
start = time.perf_counter()
from enginesim.case import assemble
from enginesim.cycle.bench import V8
from enginesim.cycle import simulate
from enginesim.cycle.compiling import compile_beside
compile_beside()  # as the commands do; nothing where all is cached
case = assemble(V8)
simulate(case, 3000.0)
elapsed = time.perf_counter() - start
print(elapsed, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0)
"""


@dataclass(frozen=True)
class Figures:
    """
    What a machine does.

    Attributes
    ----------
    duct_rate : float
        Cell updates of the duct passes alone, on one core. [1/s]
    engine_rate : float
        Cell updates of a whole V8, ends, cylinders and all, on one core. [1/s]
    curve_one : float
        Wall time of 13 speeds of the V8, converged, on one core. [s]
    curve_all : float
        The same on all cores. [s]
    n_cores : int
        How many those are.
    cached_start : float
        First speed of a fresh process with compiled kernels at hand. [s]
    cold_start : float or None
        The same with nothing compiled; None if left out. [s]
    peak_memory : float
        Of that process. [MB]
    """

    duct_rate: float
    engine_rate: float
    curve_one: float
    curve_all: float
    n_cores: int
    cached_start: float
    cold_start: float | None
    peak_memory: float


def bench(*, is_cold_timed: bool = True) -> Figures:
    """
    Time kernels, a whole engine, a curve and the start of the program.

    Parameters
    ----------
    is_cold_timed : bool
        Whether to compile all kernels afresh in a cache of its own, which takes its time.

    Returns
    -------
    Figures
        The best of a few rounds each: other load on the machine only ever slows things down.
    """
    case = assemble_case(V8)
    curve(case, SPEEDS[:1])
    cached, memory = _start(os.environ.get("ENGINESIM_CACHE"))
    cold = None
    if is_cold_timed:
        with tempfile.TemporaryDirectory() as folder:
            cold, memory = _start(folder)
    return Figures(
        duct_rate=duct_rate(case),
        engine_rate=engine_rate(case),
        curve_one=_curve_time(case, 1),
        curve_all=_curve_time(case, None),
        n_cores=os.cpu_count() or 1,
        cached_start=cached,
        cold_start=cold,
        peak_memory=memory,
    )


def duct_rate(case: Case) -> float:
    """
    Cell updates a second of the duct passes, half states, fluxes and update, alone.

    Parameters
    ----------
    case : Case
        Whose gas fills the duct.

    Returns
    -------
    float
        On one core. [1/s]
    """
    plan = Plan()
    size = 0.02
    section = pipe(_CELLS * size, [0.04, 0.05], 300.0)
    plan.ducts.append(Duct("pipe", (section,), End(), End(), size))
    network = assemble(plan, gas_array(tables_of(case, 3000.0)))
    state = first_state(network)
    n = int(network.groups[0, 0])
    best = np.inf
    for rounds in (1, *[_ROUNDS] * 5):
        start = time.perf_counter()
        repeat_passes(state.x, n, 1e-6, network.gas, rounds)
        best = min(best, (time.perf_counter() - start) / rounds) if rounds > 1 else best
    return _CELLS / best


def engine_rate(case: Case) -> float:
    """
    Cell updates a second of a whole engine.

    Parameters
    ----------
    case : Case
        The engine.

    Returns
    -------
    float
        On one core, at 4000 rpm. [1/s]
    """
    run = begin(case, tables_of(case, 4000.0), 4000.0, prepare(case))
    clock = run.engine.state.clock
    best = 0.0
    for _ in range(6):
        steps, start = clock[at.T_STEPS], time.perf_counter()
        run_cycle(run)
        cells = (clock[at.T_STEPS] - steps) * run.engine.network.n_cells
        best = max(best, cells / (time.perf_counter() - start))
    return best


def _curve_time(case: Case, jobs: int | None) -> float:
    best = np.inf
    for _ in range(3):
        start = time.perf_counter()
        curve(case, SPEEDS, jobs=jobs)
        best = min(best, time.perf_counter() - start)
    return float(best)


def _start(cache: str | None) -> tuple[float, float]:
    """Seconds and megabytes of a fresh process up to its first speed."""
    environment = dict(os.environ)
    if cache is not None:
        environment["ENGINESIM_CACHE"] = cache
    start = time.perf_counter()
    result = subprocess.run(
        [sys.executable, "-c", _CHILD], env=environment, capture_output=True, text=True, check=True
    )
    return time.perf_counter() - start, float(result.stdout.split()[1])
