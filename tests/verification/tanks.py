"""Vessels and openings without ducts or cylinders, marched by the shipped kernel of `filling`."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from enginesim.kernels import layout as at
from enginesim.kernels.emptying import SEGMENT, fill_and_empty
from enginesim.kernels.status import OK
from enginesim.network.assemble import assemble
from enginesim.network.pieces import Link, Plan, Volume
from enginesim.network.state import first_state
from tests.verification.rig import Samples, Totals, gas_array


class Tanks:
    """Vessels, their state, and nothing that turns: a segment of the crank is any time."""

    def __init__(
        self, volumes: Sequence[Volume], links: Sequence[Link], gas: Samples | None = None
    ) -> None:
        self.network = assemble(
            Plan(volumes=list(volumes), links=list(links)), gas_array() if gas is None else gas
        )
        self.state = first_state(self.network)

    def advance(self, duration: float, steps: int) -> None:
        """March for some time in equal steps."""
        network, state, way = self.network, self.state, self.network.coupling
        assert way is not None
        settings = np.zeros(at.N_SETTING)
        settings[at.S_OMEGA] = SEGMENT / duration
        settings[at.S_MAX_STEP] = SEGMENT / steps
        settings[at.S_SAMPLE] = 10.0
        state.clock[at.T_THETA] = 0.0
        before = state.clock[at.T_STEPS]
        status, _ = fill_and_empty(
            state.res, network.links, state.link, state.cyl, network.par, network.phase,
            state.exchange, network.valve_area, network.gas, way.joints, way.first, way.meets,
            way.script, way.starts, state.order, state.vessel, state.joint, state.entries,
            settings, state.clock, np.zeros((1, state.lines.shape[1])), state.lines,
            state.tables, state.saved, SEGMENT,
        )  # fmt: skip
        assert status == OK
        assert state.clock[at.T_STEPS] - before == steps

    def vessel(self, i: int) -> tuple[float, float, float]:
        """Pressure [Pa], temperature [K] and mass [kg] of one."""
        row = self.state.res[i]
        return float(row[at.V_P]), float(row[at.V_T]), float(row[at.V_MASS])

    def flow(self, k: int) -> float:
        """Flow of a link in the last step [kg/s]."""
        return float(self.state.link[k, at.LF_MASS])

    def totals(self) -> Totals:
        """What the vessels hold."""
        held = self.state.res[self.network.res[:, at.V_VOLUME] > 0.0]
        columns = (at.V_MASS, at.V_BURNED, at.V_FUEL, at.V_ENERGY)
        return Totals(*(float(held[:, c].sum()) for c in columns))
