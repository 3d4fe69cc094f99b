"""Who gives the heat of the fuel that evaporates in a cylinder, and do the books count it?"""

from __future__ import annotations

import numpy as np
import pytest

from enginesim.cycle import CycleRecord, simulate
from enginesim.cycle.curves import tables_of
from enginesim.kernels import layout as at
from enginesim.kernels.boundary import into_cylinder
from enginesim.network.gas_array import gas_array
from tests.engines import FIXED_SPARK, engine

RPM = 3000.0
EASY = (*FIXED_SPARK, "mixture.lambda=0.9")


def ran(*changes: str) -> CycleRecord:
    return simulate(engine("single", *EASY, *changes), RPM)


def test_liquid_brings_what_it_is_told() -> None:
    gas = gas_array(tables_of(engine("single", *EASY), RPM)).copy()
    gas[at.G_H_INSIDE] = gas[at.G_H_LIQUID] + 1e5
    row = np.zeros((1, at.N_EXCHANGE))
    into_cylinder(row, 0, 0, gas, 2.0, 0.1, 0.0, 3e5, 1e-3)
    liquid = gas[at.G_FUEL_AIR] * 1.8e-3
    assert row[0, at.X_SUM_INSIDE] == pytest.approx(liquid, rel=1e-12)
    assert row[0, at.X_ENERGY] == pytest.approx(2e-3 * 3e5 + liquid * gas[at.G_H_INSIDE], rel=1e-12)
    # What is pushed back brings no liquid.
    into_cylinder(row, 0, 0, gas, -2.0, 0.1, 0.0, 3e5, 1e-3)
    assert row[0, at.X_SUM_INSIDE] == pytest.approx(liquid, rel=1e-12)


@pytest.mark.slow
def test_books_close_and_filling_falls_with_the_part_of_the_walls() -> None:
    records = [ran(f"fuel.wall_heat_share={share}") for share in (0.0, 0.5, 1.0)]
    for record in records:
        assert record.converged
        assert abs(record.energy_error) < 1e-12
    air = [float(record.air_in.sum()) for record in records]
    assert air[0] > air[1] > air[2]


@pytest.mark.slow
def test_heat_of_the_walls_is_taken_off_what_they_get() -> None:
    """With all fuel vapour in the port, the part hardly matters; else it comes off the walls."""
    outside = [
        ran("fuel.evaporated_fraction=1", f"fuel.wall_heat_share={share}") for share in (0.0, 1.0)
    ]
    # Gas blown back into the runner comes again and may lack a little fuel.
    assert outside[0].air_in.sum() == pytest.approx(outside[1].air_in.sum(), rel=1e-3)
    inside = ran("fuel.evaporated_fraction=0", "fuel.wall_heat_share=1")
    latent = tables_of(engine("single", *EASY), RPM).heat_of_vaporisation
    dt = (inside.theta[1] - inside.theta[0]) / (RPM * np.pi / 30.0)
    gas_gave = np.trapezoid(inside.heat_rate[0]) * dt
    given_back = gas_gave - inside.heat_walls[0]
    assert given_back == pytest.approx(latent * inside.fuel_in[0], rel=0.05)
