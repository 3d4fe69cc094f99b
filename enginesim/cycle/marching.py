"""Which kernel moves an engine on, and what of it does that kernel get?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from enginesim.kernels.emptying import fill_and_empty
from enginesim.kernels.march import march

if TYPE_CHECKING:
    from enginesim.cycle.simulation import Run


def march_to(run: Run, stop: float) -> tuple[int, int, int]:
    """
    March a run to an engine angle.

    Parameters
    ----------
    run : Run
        The simulation.
    stop : float
        Engine angle since the cycle's start. [rad]

    Returns
    -------
    tuple of int
        Status, element and cell. [-]
    """
    network, state = run.engine.network, run.engine.state
    way = network.coupling
    if way is not None:
        status, element = fill_and_empty(
            state.res,
            network.links,
            state.link,
            state.cyl,
            run.par,
            network.phase,
            state.exchange,
            network.valve_area,
            network.gas,
            way.joints,
            way.first,
            way.meets,
            way.script,
            way.starts,
            state.order,
            state.vessel,
            state.joint,
            state.entries,
            run.settings,
            state.clock,
            run.tape,
            state.lines,
            state.tables,
            state.saved,
            stop,
        )
        return status, element, -1
    return march(
        state.x,
        state.x.view(np.int64),
        network.groups,
        network.ducts,
        network.ends,
        state.end,
        state.res,
        network.links,
        state.link,
        state.cyl,
        run.par,
        network.phase,
        state.exchange,
        network.valve_area,
        network.gas,
        run.settings,
        state.clock,
        run.tape,
        state.lines,
        run.places,
        state.tables,
        state.saved,
        state.bits,
        stop,
    )
