"""Any plausible flow sheet gives areas that grow with flow and pass the sheet's flow again."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enginesim.network.flow_area import effective_areas, sheet_areas
from enginesim.ports.flow_bench import Bench, drawn_area, nozzle_flux
from enginesim.ports.sheet import port_duct
from tests.unit.ports.ports import INH2O, Port, Sheet


@st.composite
def plausible_ports(draw: st.DrawFn) -> Port:
    lift = np.cumsum(draw(st.lists(st.floats(5e-4, 3e-3), min_size=3, max_size=8)))
    depression = draw(st.floats(5.0, 50.0)) * INH2O
    best = draw(st.floats(2e-4, 2e-3))  # effective area of the best flow
    share = np.cumsum(draw(st.lists(st.floats(0.05, 1.0), min_size=len(lift), max_size=len(lift))))
    flux = float(nozzle_flux(101325.0, 293.15, 101325.0 - depression))
    flow = best * share / share[-1] * flux / Bench(101325.0, 293.15, 0.0).density
    smallest = draw(st.floats(1.2, 1.6)) * best
    length = draw(st.floats(2.5, 6.0)) * sqrt(smallest)  # longer ones of this bore are no ports
    flange = draw(st.floats(1.0, 1.5)) * smallest
    return replace(
        Port(),
        sheet=replace(Sheet(), lift=tuple(lift), flow=tuple(flow), depression=depression),
        port_area_min=smallest,
        port_length=length,
        port_volume=draw(st.floats(1.0, 1.4)) * smallest * length,
        port_flange_diameter=sqrt(4.0 / pi * flange),
        reverse_flow_ratio=draw(st.floats(0.6, 1.0)),
    )


@settings(max_examples=40)
@given(plausible_ports(), st.sampled_from(["intake", "exhaust"]))
def test_areas_rise_with_lift_and_stay_below_the_port(port: Port, side: str) -> None:
    lift = np.linspace(0.0, 1.2 * port.sheet.lift[-1], 200)
    for areas in effective_areas(port, lift, side):
        assert np.all(np.isfinite(areas))
        assert areas[0] == 0.0
        assert np.all(np.diff(areas) >= -1e-15)
        assert areas.max() < port.port_area_min


@pytest.mark.slow
@settings(max_examples=15)
@given(plausible_ports())
def test_the_simulated_bench_passes_the_sheet_again(port: Port) -> None:
    """Found by bisection on the flow for a given area, not by the inverse that made it."""
    sheet = port.sheet
    bench = Bench(sheet.bench_pressure, sheet.bench_temperature, sheet.depression)
    duct = port_duct(port)
    area = sheet_areas(port, "intake")[0][-1]
    low, high = 0.0, 2.0 * sheet.flow[-1]
    for _ in range(40):
        middle = 0.5 * (low + high)
        needed = float(drawn_area(duct, bench, middle))
        if np.isnan(needed) or needed > area:
            high = middle
        else:
            low = middle
    assert abs(high / sheet.flow[-1] - 1.0) < 1e-9


@settings(max_examples=25)
@given(plausible_ports(), st.floats(0.5, 2.0))
def test_scaling_a_port_scales_its_areas(port: Port, factor: float) -> None:
    """With all lengths and the roughness scaled only Reynolds number differs: a weak effect."""
    sheet = replace(port.sheet, flow=tuple(q * factor**2 for q in port.sheet.flow))
    scaled = replace(
        port,
        sheet=sheet,
        port_area_min=port.port_area_min * factor**2,
        port_length=port.port_length * factor,
        port_volume=port.port_volume * factor**3,
        port_flange_diameter=port.port_flange_diameter * factor,
    )
    small = sheet_areas(port, "intake", 1e-4)[0]
    large = sheet_areas(scaled, "intake", 1e-4 * factor)[0]
    np.testing.assert_allclose(large, small * factor**2, rtol=0.01)
