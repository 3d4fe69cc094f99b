"""One engine, one speed, one periodic cycle; and many speeds."""

from enginesim.cycle.curves import curve, simulate
from enginesim.cycle.record import CycleRecord, Tract

__all__ = ["CycleRecord", "Tract", "curve", "simulate"]
