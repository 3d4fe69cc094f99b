"""Type names of the arrays that kernels take, for readers and the type checker."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]
Table = NDArray[np.float64]
Index = NDArray[np.int64]
