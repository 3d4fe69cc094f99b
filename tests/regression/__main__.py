"""
Write what the shipped cases give now to the file of pins.

Refused if numbers have moved and `PHYSICS_VERSION` has not, or the other way round. `--look` writes
nothing and only says what has moved.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import sys
import tempfile
from pathlib import Path

from enginesim.base.provenance import PHYSICS_VERSION
from tests.regression.engines import pinned
from tests.regression.formats import exit_codes, keys
from tests.regression.measured import Measured, measure
from tests.regression.pins import FILE, Pins, RefusedError, moved, read, rewritten, write


def measure_all(jobs: int) -> dict[str, dict[str, Measured]]:
    """What every pinned engine gives, measured in some processes."""
    engines = pinned()
    with multiprocessing.get_context("spawn").Pool(jobs) as pool:
        found = pool.map(measure, engines.values(), chunksize=4)
    return dict(zip(engines, found, strict=True))


def main() -> int:
    """Measure, compare, write or refuse."""
    parser = argparse.ArgumentParser(prog="python -m tests.regression", description=__doc__)
    parser.add_argument("--look", action="store_true")
    parser.add_argument("--jobs", type=int, default=min(os.cpu_count() or 1, 4))
    asked = parser.parse_args()
    pins, measured = read(), measure_all(asked.jobs)
    if asked.look:
        found = moved(pins, measured)
        _say(*found, f"{len(found)} numbers moved; pins of physics {pins.physics}, "
             f"PHYSICS_VERSION {PHYSICS_VERSION}")  # fmt: skip
        return 0
    try:
        results, found = rewritten(pins, measured, PHYSICS_VERSION)
    except RefusedError as error:
        _say(f"{error}")
        return 1
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        new = Pins(PHYSICS_VERSION, results, codes=exit_codes(folder))
        (written := folder / "files").mkdir()
        new.keys = keys(written)
    _say(*found, *_differences(pins, new))
    write(new)
    _say(f"{FILE.name}: physics {PHYSICS_VERSION}, {len(results)} engines, {len(found)} numbers "
         "moved")  # fmt: skip
    return 0


def _differences(old: Pins, new: Pins) -> list[str]:
    """What else is new, gone or different, in words."""
    found = [f"pinned from now on: {name}" for name in sorted(new.results.keys() - old.results)]
    found += [f"no longer pinned: {name}" for name in sorted(old.results.keys() - new.results)]
    for name, known in old.keys.items():
        gone = [key for key in known if key not in new.keys.get(name, ())]
        if gone:
            found.append(f"{name} has lost {', '.join(gone)}: breaking, say so in the change log")
    for name, code in old.codes.items():
        if new.codes.get(name) != code:
            found.append(f"exit code of {name!r} was {code}, is {new.codes.get(name)}: breaking, "
                         "say so in the change log")  # fmt: skip
    return found


def _say(*lines: str) -> None:
    sys.stdout.write("".join(f"{line}\n" for line in lines))


if __name__ == "__main__":
    sys.exit(main())
