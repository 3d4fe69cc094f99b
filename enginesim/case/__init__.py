"""The case: from a TOML file in trade units to a frozen tree in SI, and back."""

from enginesim.case.derived import Derived, check, derive
from enginesim.case.reading import amend, assemble, load, loads
from enginesim.case.tree import Assumed, Case
from enginesim.case.writing import write

__all__ = [
    "Assumed",
    "Case",
    "Derived",
    "amend",
    "assemble",
    "check",
    "derive",
    "load",
    "loads",
    "write",
]
