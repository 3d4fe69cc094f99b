"""
A small study of an invented single, as a process of its own that tests can do things to.

Prints a line for each point, as soon as its outcome is stored, and how it ended.
"""

from __future__ import annotations

import argparse
import resource
import sys
from pathlib import Path

from enginesim.base.errors import EngineSimError
from enginesim.case import Case, load
from enginesim.performance import Performance
from enginesim.study.pool import open_pool, run_points, stopping
from enginesim.study.store import Store
from enginesim.study.store_rows import Failure

SINGLE = Path(__file__).parent.parent / "cases" / "single.toml"
SPEEDS = (2000.0, 3000.0, 4000.0, 5000.0)
SEPARATIONS = (108, 110, 112)
N_POINTS = len(SPEEDS) * len(SEPARATIONS)
QUICK = ("numerics.fidelity=filling",)
# A thousand cycles on very short cells: a minute and more.
ENDLESS = (
    "numerics.bmep_tolerance=1 Pa",
    "numerics.imbalance_tolerance=1e-8",
    "numerics.min_cycles=1000",
    "numerics.cell_size=4 mm",
    "numerics.max_cycles=10000",
)


def cases(*more: str) -> list[Case]:
    """The engines of the study."""
    return [load(SINGLE, (*QUICK, f"cam.lobe_separation={lsa}", *more)) for lsa in SEPARATIONS]


def endless() -> Case:
    """An engine whose run does not end in the time of a test."""
    return load(SINGLE, ENDLESS)


def say(line: str) -> None:
    """Tell whoever watches, at once."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def main() -> int:
    """Run it."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--store", required=True)
    parser.add_argument("--log", type=Path)
    parser.add_argument("--cluster")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--limit", type=float)
    parser.add_argument("--endless", action="store_true")
    parser.add_argument("--patience", type=float, default=10.0)
    parser.add_argument("--file-size", type=int, help="largest file that may be written, in bytes")
    asked = parser.parse_args()
    points = [(case, rpm) for case in cases() for rpm in SPEEDS]
    if asked.endless:
        points.insert(1, (endless(), 3000.0))

    def tell(case: Case, result: Performance | Failure) -> None:
        kind = result.kind if isinstance(result, Failure) else "done"
        say(f"{case.digest[:12]} {result.rpm:g} {kind}")

    try:
        with (
            Store.open(asked.store, patience=asked.patience) as store,
            stopping() as cancel,
            open_pool(asked.cluster, jobs=asked.jobs) as pool,
        ):
            if asked.file_size:
                resource.setrlimit(resource.RLIMIT_FSIZE, (asked.file_size, asked.file_size))
            ended = run_points(
                points, store=store, pool=pool, time_limit=asked.limit, on_done=tell,
                cancel=cancel, log=asked.log,
            )  # fmt: skip
    except EngineSimError as error:
        sys.stderr.write(f"error: {error}\n")
        return 2
    say("stopped" if ended.is_stopped else "complete")
    return 130 if ended.is_stopped else 0


if __name__ == "__main__":
    sys.exit(main())
