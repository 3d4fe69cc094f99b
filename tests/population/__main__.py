"""
A population from a seed, and the table of what came of it.

`python -m tests.population --seed 7 --engines 500` runs it; `--only 3 17` runs some of it again;
`--only 3 --text` shows the case of an engine instead.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from dataclasses import asdict
from pathlib import Path
from typing import Any

from enginesim.base.provenance import PHYSICS_VERSION
from tests.population.engines import drawn
from tests.population.points import Point
from tests.population.processes import run_all, run_engine
from tests.population.table import table


def main() -> int:
    """Run what was asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.population", description=__doc__)
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--engines", type=int, default=500, help="from the first")
    parser.add_argument("--only", type=int, nargs="+", help="these engines instead")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--out", type=Path, help="every point, as JSON; begun anew")
    parser.add_argument("--text", action="store_true", help="show the cases, run nothing")
    asked = parser.parse_args()
    indices = asked.only or range(asked.engines)
    if asked.text:
        for index in indices:
            engine = drawn(asked.seed, index)
            sys.stdout.write(f"# engine {index}: {engine.speeds} rpm\n{engine.text}\n")
        return 0
    run_engine(0, 1, lambda _: None)  # loads the kernels once, for all processes to come
    told = 0

    def tell(point: Point) -> None:
        nonlocal told
        told += 1
        sys.stderr.write(f"{told}/{3 * len(indices)}  {point.index}, {point.rpm:g}: "
                         f"{point.outcome}, {point.seconds:.1f} s\n")  # fmt: skip

    points = run_all(asked.seed, indices, asked.jobs, tell)
    head = f"seed {asked.seed}, {len(indices)} engines, physics {PHYSICS_VERSION}\n\n"
    sys.stdout.write(head + table(points, (drawn(asked.seed, i) for i in indices)))
    if asked.out:
        rows = [{key: _number(value) for key, value in asdict(p).items()} for p in points]
        asked.out.write_text(json.dumps(rows, indent=0) + "\n", "utf-8")
    return 0


def _number(value: Any) -> Any:
    return None if isinstance(value, float) and not math.isfinite(value) else value


if __name__ == "__main__":
    sys.exit(main())
