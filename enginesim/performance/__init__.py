"""From a record of a cycle to torque, power, breathing, fuel and heat."""

from __future__ import annotations

from enginesim.performance.curve import Curve
from enginesim.performance.energy import HeatSplit
from enginesim.performance.results import Performance
from enginesim.performance.summary import summarise

__all__ = ["Curve", "HeatSplit", "Performance", "summarise"]
