"""How did a step end? Words for the status codes that kernels return."""

from __future__ import annotations

OK = 0
BAD_DUCT = 1  # a duct cell lost its density, pressure or a number at all
BAD_VOLUME = 2  # a volume ran empty or out of its temperature range
NEGATIVE_MASS = 3  # a cylinder lost more of one gas than it had
NEGATIVE_ENERGY = 4  # a cylinder's energy belongs to no temperature
NO_CONVERGENCE = 5  # an iteration inside a cylinder did not settle
