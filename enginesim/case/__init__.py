"""The case: from a TOML file in trade units to a frozen tree in SI, and back."""

from enginesim.case.reading import amend, load, loads
from enginesim.case.tree import Assumed, Case

__all__ = ["Assumed", "Case", "amend", "load", "loads"]
