"""The summary of a record, and the curve over speeds."""

from __future__ import annotations

import csv
import io
import sys
from dataclasses import fields
from math import isnan, pi
from pathlib import Path

import numpy as np
import pytest

from enginesim import gas
from enginesim.base.errors import ResultError
from enginesim.base.quantity import quantities
from enginesim.performance import Curve, Performance, summarise
from enginesim.performance.quoting import quoted
from tests.meta.units import SI, is_unit
from tests.records import P_AIR, R_AIR, SWEPT, T_AIR, case, record


@pytest.fixture(scope="module")
def tables() -> gas.GasTables:
    return gas.tables("gasoline 91", 0.88, 0.0)


@pytest.fixture(scope="module")
def curve(tables: gas.GasTables) -> Curve:
    speeds = range(2000, 6001, 500)
    return Curve(summarise(case(), tables, record(float(rpm))) for rpm in reversed(speeds))


def test_every_field_says_what_it_is() -> None:
    known = quantities(Performance)
    assert set(known) == {field.name for field in fields(Performance)}
    for quantity in known.values():
        assert quantity.definition.endswith(".")
        assert quantity.unit == "" or is_unit(quantity.unit, SI), quantity


def test_identities_between_the_fields(tables: gas.GasTables) -> None:
    made = record(4000.0)
    result = summarise(case(), tables, made)
    swept = 4 * SWEPT
    assert result.bmep == pytest.approx(4 * pi * result.torque / swept)
    assert result.power == pytest.approx(result.torque * 4000 * pi / 30)
    assert result.imep_net == pytest.approx(float(np.sum(made.work)) / swept)
    assert result.pmep == pytest.approx(result.imep_gross - result.imep_net)
    assert result.pmep > 0
    assert result.bmep == pytest.approx(result.imep_net - result.fmep)
    assert result.bsfc == pytest.approx(result.fuel_flow / result.power)
    assert result.air_flow == pytest.approx(made.air_ambient * 4000 / 120)
    air = float(np.sum(made.air_in))
    assert result.ve == pytest.approx(air * R_AIR * T_AIR / (P_AIR * swept), rel=1e-4)
    # Air is denser in the open than in a warm plenum with a depression.
    assert result.ve_plenum > result.ve
    assert result.manifold_depression == pytest.approx(2.5e3 * 0.8**2, rel=1e-6)
    split = [value for name in quantities(Performance) if name.startswith("heat_")
             for value in [result[name]]]  # fmt: skip
    assert sum(split) == pytest.approx(1.0, abs=1e-12)
    assert result.lambda_overall == pytest.approx(12.9 / tables.afr_stoich)
    assert result.lambda_trapped == pytest.approx(result.lambda_overall)
    assert result.residual == pytest.approx(0.05)
    assert result.converged is True


def test_peak_pressure_is_the_worst_cylinder(tables: gas.GasTables) -> None:
    made = record(4000.0)
    pressure = made.pressure.copy()
    pressure[2] *= 1.1
    plain = summarise(case(), tables, made)
    hotter = summarise(case(), tables, record(4000.0, pressure=pressure))
    assert hotter.p_max == pytest.approx(1.1 * plain.p_max)
    assert hotter.theta_p_max == pytest.approx(plain.theta_p_max)


def test_no_plenum_no_manifold_pressure(tables: gas.GasTables) -> None:
    result = summarise(case(), tables, record(volume_names=("merge 1", "merge 2")))
    assert isnan(result.manifold_pressure)
    assert isnan(result.ve_plenum)
    assert result.torque > 0


def test_record_without_valve_areas(tables: gas.GasTables) -> None:
    assert isnan(summarise(case(), tables, record(intake_area=None)).inlet_mach)


def test_direct_injection_traps_a_richer_mixture(tables: gas.GasTables) -> None:
    result = summarise(case(fuel__delivery="direct"), tables, record())
    assert result.lambda_trapped < result.lambda_overall


def test_work_of_samples_and_of_steps(tables: gas.GasTables) -> None:
    """The check sees a difference where there is one."""
    made = record()
    loops = np.array([np.trapezoid(made.pressure[i], made.volume[i]) for i in range(4)])
    exact = summarise(case(), tables, record(work=loops, work_gross=loops))
    assert exact.work_error == pytest.approx(0.0, abs=1e-14)
    off = summarise(case(), tables, record(work=1.01 * loops, work_gross=loops))
    assert off.work_error == pytest.approx(-0.0099, abs=1e-4)


def test_curve_is_sorted_and_gives_arrays(curve: Curve) -> None:
    assert list(curve["rpm"]) == list(range(2000, 6001, 500))
    assert curve["torque"].shape == (9,)
    assert len(curve.points) == 9
    assert set(curve["converged"]) == {1.0}


def test_peak_is_a_simulated_point(curve: Curve) -> None:
    rpm, value = curve.peak("torque")
    assert value == max(curve["torque"])
    assert value == curve.points[list(curve["rpm"]).index(rpm)].torque


def test_what_did_not_converge_is_not_quoted(curve: Curve, tables: gas.GasTables) -> None:
    """The wildest torque of all, at a speed that did not converge: no peak, no average, no end."""
    wild = summarise(case(), tables, record(6500.0, converged=False, work=np.full(4, 900.0)))
    mixed = Curve([*curve.points, wild])
    assert wild.torque > max(curve["torque"])
    assert mixed.peak("torque") == curve.peak("torque")
    assert mixed.quotable == curve
    assert mixed.average("torque", 2000, 6000) == curve.average("torque", 2000, 6000)
    with pytest.raises(ResultError, match="allowed within 2000 to 6000"):
        mixed.average("torque", 2000, 6500)
    assert np.isnan(quoted(wild, "torque"))
    assert np.isnan(quoted(wild, "egt"))
    assert quoted(wild, "rpm") == 6500
    assert quoted(wild, "cycles") == wild.cycles
    assert quoted(curve.points[0], "torque") == curve.points[0].torque


def test_a_curve_of_which_no_speed_converged(tables: gas.GasTables) -> None:
    wild = Curve([summarise(case(), tables, record(6500.0, converged=False))])
    assert wild.quotable is None
    with pytest.raises(ResultError, match="found 1 speeds, none converged"):
        wild.peak("torque")
    assert "none converged" in repr(wild)


def test_average_over_a_window(curve: Curve) -> None:
    assert curve.average("rpm", 2250, 5250) == pytest.approx(3750)
    # One interval: the mean of its ends; a window inside it: straight line.
    low, high = curve["torque"][:2]
    assert curve.average("torque", 2000, 2500) == pytest.approx((low + high) / 2)
    assert curve.average("torque", 2100, 2200) == pytest.approx(low + 0.3 * (high - low))
    with pytest.raises(ResultError, match="found window 1500 to 3000 rpm; allowed within 2000"):
        curve.average("torque", 1500, 3000)


def test_curve_refuses_what_it_is_not(curve: Curve) -> None:
    with pytest.raises(ResultError, match="did you mean 'torque'"):
        curve["torqe"]
    with pytest.raises(ResultError, match="'status' is text"):
        curve["status"]
    with pytest.raises(ResultError, match="found no speeds"):
        Curve([])
    with pytest.raises(ResultError, match="2000 rpm twice"):
        Curve([curve.points[0], curve.points[0]])
    with pytest.raises(AttributeError, match="not changed"):
        curve.points = ()


def test_a_curve_is_a_mapping_of_arrays(curve: Curve) -> None:
    assert "torque" in curve
    assert "status" not in curve
    assert "presure" not in curve
    assert len(list(curve)) == len(curve) == len(curve.keys())
    assert all(array.shape == (9,) for array in curve.values())
    assert Curve(curve.points) == curve
    assert Curve(curve.points[1:]) != curve


def test_a_curve_is_short_to_look_at(curve: Curve) -> None:
    assert "9 speeds, 2000 to 6000 rpm" in repr(curve)
    assert len(repr(curve)) < 200
    html = curve._repr_html_()
    assert html.count("<tr>") == 10
    assert "torque<br>[N m]" in html


def test_a_curve_as_a_data_frame(curve: Curve) -> None:
    frame = curve.to_frame()
    assert list(frame.columns) == list(curve)
    assert np.array_equal(frame["torque"].to_numpy(), curve["torque"])
    assert frame.attrs["units"]["torque"] == "N m"


def test_without_pandas_it_is_said(curve: Curve, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pandas", None)
    with pytest.raises(ResultError, match="pandas is not installed"):
        curve.to_frame()


def test_a_curve_as_csv_comes_back(curve: Curve, tmp_path: Path) -> None:
    path = tmp_path / "curve.csv"
    assert curve.to_csv() == curve.to_csv(path) == path.read_text(encoding="utf-8")
    names, units, *rows = csv.reader(io.StringIO(path.read_text(encoding="utf-8")))
    assert names == list(curve)
    assert units[names.index("torque")] == "N m"
    assert [float(row[names.index("torque")]) for row in rows] == list(curve["torque"])
