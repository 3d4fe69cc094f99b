"""One engine, one speed, one periodic cycle; and many speeds."""

from enginesim.cycle.record import CycleRecord, Tract
from enginesim.cycle.simulate import curve, simulate

__all__ = ["CycleRecord", "Tract", "curve", "simulate"]
