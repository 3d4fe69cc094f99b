"""Where are slowly warming volumes bound for, and can the next cycle begin there?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from enginesim.kernels import layout as at
from enginesim.kernels.reservoir import fill_reservoir

if TYPE_CHECKING:
    from enginesim.network.assemble import Network
    from enginesim.network.state import State

# Ratio of successive changes for which a geometric series is believed: below it the volume gets
# there by itself, above it the sum is too uncertain [-].
_SLOWEST, _FASTEST = 0.3, 0.96
_SMALLEST = 1e-4  # changes of the temperature not worth a forecast, relative [-]
_LARGEST = 0.25  # a forecast further away than this is cut, relative to the temperature [-]


class Forecast:
    """
    Temperatures of the volumes cycle after cycle, and where a geometric series of them ends.

    A muffler or a plenum holds several cycles' gas, so that its temperature creeps by a constant
    ratio from cycle to cycle while all else has long come to rest.

    Notes
    -----
    Three temperatures give a ratio r of successive changes and with it the end of the series, the
    last one plus r/(1 - r) of the last change. The pressure is left alone: it follows within a
    cycle. A forecast only chooses where the next cycle begins; whether cycles repeat is asked of
    plain cycles. Source: Aitken's extrapolation.
    """

    def __init__(self) -> None:
        self._seen: list[NDArray[np.float64]] = []

    def move(self, network: Network, state: State) -> int:
        """
        Take note of the temperatures, and move those whose end can be foreseen.

        Parameters
        ----------
        network : Network
            The arrays.
        state : State
            Between two cycles; its volumes may be moved.

        Returns
        -------
        int
            Number of volumes that were moved. [-]
        """
        self._seen.append(state.res[:, at.V_T].copy())
        if len(self._seen) < 3:
            return 0
        before, then, now = self._seen[-3:]
        last, change = then - before, now - then
        moved = 0
        for i in np.flatnonzero(state.res[:, at.V_VOLUME] > 0.0):
            if abs(change[i]) < _SMALLEST * now[i] or last[i] == 0.0:
                continue
            ratio = change[i] / last[i]
            if not _SLOWEST < ratio < _FASTEST:
                continue
            ahead = ratio / (1.0 - ratio) * change[i]
            ahead = float(np.clip(ahead, -_LARGEST * now[i], _LARGEST * now[i]))
            row = state.res[i]
            fill_reservoir(
                state.res,
                int(i),
                network.gas,
                float(row[at.V_P]),
                float(now[i] + ahead),
                float(row[at.V_YB]),
                float(row[at.V_YF]),
            )
            moved += 1
        if moved:
            self._seen.clear()
        return moved
