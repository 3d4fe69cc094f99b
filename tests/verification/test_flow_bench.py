"""Does a simulated flow bench, port duct in place, read what the head's sheet says?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from enginesim.case.tree import Case
from enginesim.cycle.curves import tables_of
from enginesim.kernels import layout as at
from enginesim.kernels import wall
from enginesim.kernels.march import march
from enginesim.kernels.status import OK
from enginesim.network.assemble import assemble
from enginesim.network.flow_area import sheet_areas
from enginesim.network.gas_array import gas_array
from enginesim.network.intake import port_section
from enginesim.network.losses import ratio_from_loss
from enginesim.network.mesh import rough_friction
from enginesim.network.pieces import Duct, End, Plan, Volume
from enginesim.network.state import first_state
from enginesim.ports.flow_bench import (
    ENTRY_LOSS,
    MU_300,
    MU_EXPONENT,
    Bench,
    friction_factor,
    nozzle_flux,
)
from tests.engines import engine

#: Asked for: the bench's own scatter is about as much.
CLOSE = 0.01
ROUND = 5e-3  # marched between two looks at the flow [s]


def simulated(case: Case, side: str, area: float, drawn: bool, cell_size: float) -> float:
    """
    Flow through port and valve, marched to rest by the shipped kernels [m3/s of room air].

    The valve is an opening of its effective area between the port's end and a reservoir that is
    held at the bench's depression; an end at a cylinder's valve has the same solver.
    """
    sheet = getattr(case.head, side).sheet
    bench = Bench(sheet.bench_pressure, sheet.bench_temperature, sheet.depression)
    section = replace(port_section(case, side), wall_temperature=bench.temperature)
    ratio = area / float(section.area[-1])
    assert ratio < 1.0
    change = -bench.depression if drawn else bench.depression
    room = End("ambient", 0, ratio_in=ratio_from_loss(ENTRY_LOSS[sheet.entry]))
    valve = End("ambient", 1, ratio_out=ratio, ratio_in=ratio)
    plan = Plan(
        [Duct("port", (section,), room, valve, cell_size, bench.pressure, bench.temperature)],
        [
            Volume("room", 0.0, bench.pressure, bench.temperature),
            Volume("cylinder", 0.0, bench.pressure + change, bench.temperature),
        ],
    )
    net = assemble(plan, gas_array(tables_of(case, 3000.0)))
    s = first_state(net)
    settings = np.array([1e3, 0.8, 1.0, 1e9])
    tape = np.zeros((1, s.lines.shape[1]))
    flow = 0.0
    for k in range(1, 60):
        status, _, _ = march(
            s.x, s.x.view(np.int64), net.groups, net.ducts, net.ends, s.end, s.res, net.links,
            s.link, s.cyl, net.par, net.phase, s.exchange, net.valve_area, net.gas, settings,
            s.clock, tape, s.lines, np.zeros(0, dtype=np.int64), s.tables, s.saved, s.bits,
            1e3 * ROUND * k,
        )  # fmt: skip
        assert status == OK
        last, flow = flow, abs(float(s.end[1, at.EF_MASS]))
        if abs(flow - last) < 1e-6 * flow:
            return flow / bench.density
    pytest.fail("the bench did not come to rest")


@pytest.mark.parametrize("cell_size", [0.03, 0.02, 0.005], ids=["30 mm", "20 mm", "5 mm"])
@pytest.mark.parametrize("side", ["intake", "exhaust"])
@pytest.mark.parametrize("name", ["minimal", "four"])
def test_bench_reads_the_sheet(name: str, side: str, cell_size: float) -> None:
    case = engine(name)
    port = getattr(case.head, side)
    forward, reverse = sheet_areas(port, side)
    for k, flow in enumerate(port.sheet.flow):
        if flow == 0.0:
            continue
        there = simulated(case, side, float(forward[k]), side == "intake", cell_size)
        assert there == pytest.approx(flow, rel=CLOSE)
        back = simulated(case, side, float(reverse[k]), side == "exhaust", cell_size)
        assert back == pytest.approx(flow * port.reverse_flow_ratio, rel=CLOSE)


def test_without_the_port_duct_the_areas_would_be_counted_twice() -> None:
    """The calibration matters: areas from the sheet by a bare nozzle flow too little with it."""
    case = engine("minimal")
    port = case.head.intake
    forward, _ = sheet_areas(port, "intake")
    bench = Bench(port.sheet.bench_pressure, port.sheet.bench_temperature, port.sheet.depression)

    flux = nozzle_flux(bench.pressure, bench.temperature, bench.pressure - bench.depression)
    bare = port.sheet.flow[-1] * bench.density / float(flux)
    assert bare < forward[-1] * 0.985
    flow = simulated(case, "intake", bare, True, 0.02)
    assert flow < port.sheet.flow[-1] * 0.985


def test_ducts_and_bench_rub_alike() -> None:
    """
    One law of wall friction in two rooms. The march holds the Reynolds number at 1187 and has
    Sutherland's viscosity at the static temperature; the bench a power law at the stagnation one.
    """
    for reynolds in (1.2e3, 1e4, 1e5, 1e6):
        for relative in (1e-4, 5e-3, 2e-2):
            rough = float(rough_friction(np.array(relative), np.array(1.0)))
            in_duct = wall.friction_factor(reynolds, rough**4)
            assert in_duct == pytest.approx(float(friction_factor(reynolds, relative)), rel=1e-12)
    for t in (273.15, 288.15, 300.0, 320.0):
        on_bench = MU_300 * (t / 300.0) ** MU_EXPONENT
        mu = gas_array(tables_of(engine("minimal"), 3000.0))[at.G_MU]
        # A per cent of viscosity is a quarter of a per cent of a smooth pipe's friction.
        assert wall.viscosity(mu, t) == pytest.approx(on_bench, rel=1.5e-2)
