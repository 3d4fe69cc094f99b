"""Is the water in the air that of CoolProp's humid air, and nonsense refused?"""

from __future__ import annotations

import pytest
from CoolProp.CoolProp import HAPropsSI

from enginesim.base.errors import GasError
from enginesim.base.humidity import saturation_pressure
from enginesim.gas import gas_constant, humidity_ratio, tables

AIR = (1.0, 0.0, 0.0)


@pytest.mark.parametrize("p", [70e3, 101325.0, 110e3])
@pytest.mark.parametrize("relative", [0.1, 0.6, 1.0])
@pytest.mark.parametrize("celsius", [-30.0, -10.0, 0.01, 10.0, 25.0, 40.0, 50.0])
def test_humidity_ratio_is_that_of_coolprop(celsius: float, relative: float, p: float) -> None:
    """Band 0.25 %: Buck's formula states 0.1 % for saturation; its enhancement adds its own."""
    expected = HAPropsSI("W", "T", celsius + 273.15, "P", p, "R", relative)
    assert humidity_ratio(p, celsius + 273.15, relative) == pytest.approx(expected, rel=2.5e-3)


def test_saturation_at_30_degrees() -> None:
    """4.245 kPa for pure water (Buck's formula), raised 0.4 % by the air (98 kPa)."""
    assert saturation_pressure(98e3, 303.15) == pytest.approx(4245.0 * 1.0041, rel=1e-3)


def test_dry_air_holds_no_water() -> None:
    assert humidity_ratio(101325.0, 300.0, 0.0) == 0.0


def test_humid_air_is_lighter() -> None:
    dry, wet = (float(gas_constant(tables("e10", 1.0, w), AIR)) for w in (0.0, 0.02))
    # Ideal mixture by definition: (R_dry + w R_water) / (1 + w); R_water 461.52 J/(kg K).
    assert wet == pytest.approx((dry + 0.02 * 461.52) / 1.02, rel=1e-5)


@pytest.mark.parametrize(
    "p, t, relative, place",
    [
        (101325.0, 300.0, 1.01, "relative humidity"),
        (101325.0, 300.0, -0.1, "relative humidity"),
        (101325.0, 300.0, float("nan"), "relative humidity"),
        (101325.0, 200.0, 0.5, "air temperature"),
        (101325.0, 350.0, 0.5, "air temperature"),
        (3000.0, 303.15, 1.0, "air pressure"),
    ],
)
def test_impossible_air_is_refused(p: float, t: float, relative: float, place: str) -> None:
    with pytest.raises(GasError, match=place):
        humidity_ratio(p, t, relative)
