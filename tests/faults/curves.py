"""
Curves of invented singles, got as `compare` gets them, in a process of its own.

Prints a line for each speed as soon as it is known, and at the end one for each that it ran itself.
"""

from __future__ import annotations

import argparse
import sys

from enginesim.base.errors import EngineSimError
from enginesim.study.obtain import obtain
from enginesim.study.store import Store
from tests.faults.study import SPEEDS, cases, say

# Some tenths of a second each, so that two processes are at it at the same time.
SLOW = ("numerics.fidelity=wave", "numerics.min_cycles=20")


def main() -> int:
    """Get them."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--store", required=True)
    engines = cases(*SLOW)
    try:
        with Store.open(parser.parse_args().store) as store:
            found = obtain(
                engines, SPEEDS, store=store, jobs=1, on_done=lambda i, p: say(f"{i} {p.rpm:g}")
            )
    except EngineSimError as error:
        sys.stderr.write(f"error: {error}\n")
        return 2
    for i, part in enumerate(found):
        for rpm in part.points.keys() - part.stored:
            say(f"ran {i} {rpm:g}")
    say("complete")
    return 0


if __name__ == "__main__":
    sys.exit(main())
