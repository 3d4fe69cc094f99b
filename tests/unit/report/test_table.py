"""Tables and the lines under them."""

from __future__ import annotations

import re
from math import nan

import pytest

from enginesim.base.provenance import Provenance
from enginesim.performance import Curve
from enginesim.report import files, notes, table
from enginesim.report.curve_figure import curve_figure
from enginesim.report.study_scales import scale_of
from enginesim.report.units import System
from enginesim.study.measures import Measure, known_numbers, origin
from tests.records import case
from tests.unit.study.results import result


def columns(line: str) -> list[str]:
    return line.split()


@pytest.mark.parametrize("system", ["us", "si"])
def test_figures_fit_a_narrow_screen(curve: Curve, system: str) -> None:
    for part in table.results(curve, system):
        text = table.plain(part)
        assert max(map(len, text.splitlines())) <= 80
        assert len(text.splitlines()) == 4 + len(curve.points)


def test_figures_are_those_of_the_curve(curve: Curve) -> None:
    output, cylinder = table.results(curve, "us")
    assert output.labels[:4] == ("speed", "torque", "power", "VE")
    assert output.units[:4] == ("rpm", "lb-ft", "hp", "%")
    point = curve.points[4]
    assert output.rows[4][0] == "4000"
    assert float(output.rows[4][1]) == pytest.approx(point.torque / 1.3558179483, abs=0.5)
    assert float(output.rows[4][2]) == pytest.approx(point.power / 745.69987, abs=0.5)
    spark = cylinder.labels.index("spark")
    assert cylinder.rows[4][spark] == "28.0"


def test_speed_that_did_not_converge_carries_a_star(curve: Curve) -> None:
    for part in table.results(curve, "si"):
        assert [row[0].startswith("*") for row in part.rows] == [
            p.rpm == 2500 for p in curve.points
        ]
    lines = notes.audit(curve)
    assert lines[0].startswith("8 of 9 speeds periodic")
    assert "3e-15 of the air" in lines[1]
    assert lines[2] == "* 2500 rpm NOT CONVERGED, no figures: not periodic after 40 cycles"


def test_columns_line_up() -> None:
    made = table.Table("T", ("a", "long head"), ("", "mm"), (("1", "2.0"), ("100", "33.0")))
    assert table.plain(made).splitlines() == [
        "T",
        "  a  long head",
        "            mm",
        "--------------",
        "  1        2.0",
        "100       33.0",
    ]


def test_words_line_up_at_the_left() -> None:
    text = table.plain(table.assumed(case(), "us"))
    n = len(case().assumed)
    assert text.splitlines()[0] == f"Assumed ({n} values that the case does not give)"
    row = next(line for line in text.splitlines() if line.startswith("cam.intake_centreline "))
    assert "106 deg" in row
    assert "block.rod_length" not in text
    metric = table.plain(table.assumed(case(), "si"))
    assert re.search(r"^block.main_bearing_diameter +[0-9.]+ mm ", metric, re.MULTILINE)


def test_conditions_under_a_result(curve: Curve, provenance: Provenance) -> None:
    lines = notes.conditions(case(), curve, provenance, "us")
    assert lines[0] == "Air 29.23 inHg, 77 °F, humidity 0 %: reference air of SAE J1349, factor 1"
    assert lines[1] == "Fuel gasoline 91, by carburettor, lambda 0.88"
    assert "Patton" in lines[2]
    assert lines[3].startswith("enginesim ")
    assert f"case {case().digest[:8]}" in lines[3]


def test_other_air_is_not_called_the_reference() -> None:
    for change in (
        {"air__pressure": "101.325 kPa"},
        {"air__temperature": "15 degC"},
        {"air__humidity": "50 %"},
    ):
        assert notes.air(case(**change), "si").endswith("no correction applied")


def test_friction_and_fidelity_are_said(curve: Curve) -> None:
    changed = case(friction__multiplier="1.1", numerics__fidelity="filling")
    assert notes.friction(changed).endswith("x 1.1; filling only, no waves in the ducts")


def test_peaks_and_averages(curve: Curve) -> None:
    """Of the speeds that converged: one that did not has no say."""
    highest, average = notes.peaks(curve, "si")
    kept = curve.quotable
    assert kept is not None
    assert len(kept.points) == len(curve.points) - 1
    rpm, torque = kept.peak("torque")
    assert f"torque {torque:.0f} N m at {rpm:.0f} rpm" in highest
    assert f"Average 2000-6000 rpm: torque {kept.average('torque', 2000, 6000):.1f} N m" in average
    assert len(notes.peaks(Curve(curve.points[:1]), "si")) == 1


def test_a_speed_that_did_not_converge_has_no_figures() -> None:
    """An exhaust of -99.7 degF and a highest torque of 5.6 lb-ft were once told as answers."""
    wild = result(1000.0, converged=False, torque=7.6, egt=199.98, status="not periodic")
    texts = [table.plain(part) for part in table.results(Curve([wild, result(2000.0)]), "us")]
    for text in texts:
        row = columns(next(line for line in text.splitlines() if "*1000" in line))
        assert set(row[1:]) == {"-"}
    (highest,) = notes.peaks(Curve([wild]), "us")
    assert highest == "Highest: none, because no speed converged"
    assert notes.gaps(Curve([wild])) == ()
    assert "* 1000 rpm NOT CONVERGED, no figures: not periodic" in notes.audit(Curve([wild]))
    assert files.speed(wild)["torque_Nm"] is None
    assert files.speed(wild)["rpm"] == 1000.0
    assert files.speed(wild)["converged"] is False


def test_a_missing_figure_is_a_dash_and_a_word() -> None:
    """An engine that gives no power: no consumption, and no bare inf or nan anywhere."""
    driven = Curve([result(2000.0, power=-1e3, bsfc=nan), result(3000.0, egt=nan)])
    texts = [table.plain(part) for part in table.results(driven, "us")]
    assert not any(word in text for text in texts for word in ("nan", "inf"))
    assert columns(texts[0].splitlines()[-2])[5] == "-"
    assert notes.gaps(driven) == (
        "No BSFC at 2000 rpm: the engine gives no power",
        "No EGT at 3000 rpm: hardly any exhaust flows out",
    )


def test_a_fixed_spark_that_knocks_is_a_warning() -> None:
    """Sixteen degrees too much went by in silence; a spark that was searched for has none."""
    curve = Curve([result(2000.0, knock_margin=-0.28), result(3000.0, knock_margin=0.05)])
    (text,) = notes.knocking(case(spark__advance="40 deg"), curve)
    assert "knocks by 16 deg at 2000 rpm:" in text
    assert notes.knocking(case(spark__mode="knock limited"), curve) == ()


def test_a_sound_curve_has_no_gaps() -> None:
    assert notes.gaps(Curve([result(2000.0), result(3000.0)])) == ()


def test_a_chart_of_an_engine_that_gives_no_power() -> None:
    driven = Curve([result(rpm, power=-1e3, torque=-5.0, bsfc=nan) for rpm in (2e3, 3e3)])
    figure = curve_figure(driven, "Driven", notes.gaps(driven), "us")
    titles = [axes.get_title(loc="left") for axes in figure.axes]
    assert not any(title.startswith("BSFC") for title in titles)
    assert any("No BSFC at 2000, 3000 rpm" in text.get_text() for text in figure.texts)


@pytest.mark.parametrize("system", ["us", "si"])
def test_every_number_that_can_be_asked_for_has_a_scale(system: System) -> None:
    for number in known_numbers():
        word = "average" if origin(number) == "result" else ""
        assert scale_of(Measure(number, word), system).text(1.0)


def test_a_speed_that_did_not_converge_has_its_own_line() -> None:
    assert notes.gaps(Curve([result(2000.0, bsfc=nan, converged=False)])) == ()
