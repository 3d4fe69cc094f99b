"""Whatever the engine, the charge and the spark: does a cylinder conserve and stay believable?"""

from __future__ import annotations

from functools import cache

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from enginesim.gas import tables
from enginesim.kernels import cylinder_layout as at
from enginesim.kernels.cylinder import advance
from enginesim.kernels.status import OK
from enginesim.network.gas_array import gas_array
from tests.cylinders import DEG, Array, charge, engine, filled, omega

MIXTURES = [
    (fuel, lambda_)
    for fuel in ("gasoline 91", "e85", "methanol", "propane")
    for lambda_ in (0.65, 0.85, 1.0, 1.3, 1.9)
]


@cache
def gas_of(fuel: str, lambda_: float) -> Array:
    return gas_array(tables(fuel, lambda_, 0.01))


def angles(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low * DEG, high * DEG)


ENGINES = st.fixed_dictionaries(
    {
        "compression": st.floats(5.0, 17.0),
        "heat": st.sampled_from([0.0, 1.0, 3.0]),
        "heat_model": st.sampled_from([at.HEAT_WOSCHNI, at.HEAT_ANNAND, at.HEAT_HOHENBERG]),
        "efficiency": st.floats(0.7, 1.0),
        "spark": angles(-70.0, 30.0),
        "delay": angles(2.0, 60.0),
        "duration": angles(2.0, 90.0),
        "flame_base": st.floats(0.3, 1.0),
        "flame_exponent": st.floats(0.0, 1.0),
        "wiebe_a": st.floats(2.4, 8.0),
        "wiebe_m": st.floats(0.3, 5.0),
        "blow_by_area": st.sampled_from([0.0, 1e-7, 1e-6]),
        "pin_offset": st.sampled_from([0.0, 1e-3]),
        "ivc": angles(-150.0, -90.0),
        "evo": angles(90.0, 150.0),
    }
)


@settings(max_examples=200)
@given(
    ENGINES,
    st.sampled_from(MIXTURES),
    st.floats(0.0, 0.4),
    st.floats(0.15e5, 3.5e5),
    st.floats(280.0, 500.0),
    st.floats(150.0, 14000.0),
    st.floats(0.25, 1.0),
)
def test_closed_cycle(
    parameters: dict[str, float],
    mixture: tuple[str, float],
    residual: float,
    p: float,
    t: float,
    rpm: float,
    degrees: float,
) -> None:
    gas, par = gas_of(*mixture), engine(**parameters)
    start = filled(par, gas, p=p, t=t, **charge(gas, residual))
    cyl, theta, hottest = start.copy(), float(par[at.P_IVC]), 0.0
    while theta < par[at.P_EVO] - 1e-9:
        turn = min(degrees * DEG, float(par[at.P_EVO]) - theta)
        assert advance(cyl, par, gas, theta, turn, omega(rpm), 0.0, 0.0, 0.0, 0.0) == OK
        theta += turn
        hottest = max(hottest, cyl[at.C_T_BURNED])
    lost = cyl[at.C_WORK] + cyl[at.C_HEAT] + cyl[at.C_LEAK_ENERGY]
    energy = abs(cyl[at.C_ENERGY] + lost - start[at.C_ENERGY])
    leaked = cyl[at.C_LEAK_AIR] + cyl[at.C_LEAK_FUEL] + cyl[at.C_LEAK_BURNED]
    contents = [at.C_AIR, at.C_FUEL, at.C_BURNED]
    mass = abs(cyl[contents].sum() + leaked - start[contents].sum())
    assert energy < 1e-12 * start[at.C_FUEL] * 44e6
    assert mass < 1e-12 * start[at.C_MASS]
    assert cyl[contents].min() > -1e-12 * start[at.C_MASS]
    # Adiabatic flames of these charges reach 3200 K; a runaway flame kernel reached thousands more.
    assert hottest < 3400.0
    assert np.isfinite(cyl[[at.C_P, at.C_T, at.C_H, at.C_GAMMA, at.C_KNOCK]]).all()
