"""Charts, tables and files of a study."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure

from enginesim.cli.studies import FIGURES
from enginesim.report.map_surface import map_sides, surfaces
from enginesim.report.plotter import Plotter
from enginesim.report.study_figures import draw_study, study_charts
from enginesim.report.study_scales import headed, label, scale_of
from enginesim.report.study_table import best_table, counts, csv_text, effects_table, short_names
from enginesim.report.table import plain
from enginesim.study.effects import effects
from enginesim.study.evaluation import Evaluation
from enginesim.study.measures import parse
from enginesim.study.plan import points
from enginesim.study.reading import Plan
from enginesim.study.trials import Outcome
from tests.unit.study.studies import FormulaRunner, plan

SEPARATION = "cam.lobe_separation=106:114:2"
RUNNER = "intake.runner_lengths=100:300:50 mm"
ENTRY = "intake.entry=sharp,radiused"


def study(*vary: str, **options: object) -> tuple[Plan, Outcome]:
    found = plan(*vary, rpm="2000,3000", **options)  # type: ignore[arg-type]
    trials = Evaluation(found, None, FormulaRunner()).assess(points(found.study))
    return found, Outcome(found.study, tuple(trials))


def drawn(found: Plan, outcome: Outcome, **options: Any) -> dict[str, Figure]:
    """Charts of a study, each by one of those that a study's process has loaded."""
    groups = study_charts(found, outcome, found.study.aims, **options)
    charts = {name: chart for group in groups for name, chart in group.items()}
    assert {figure for figure, _ in charts.values()} <= set(FIGURES)
    return {
        name: getattr(import_module(f"enginesim.report.{figure}"), figure)(*arguments)
        for name, (figure, arguments) in charts.items()
    }


def test_two_variables_at_one_speed_have_charts() -> None:
    """No curves, no lines, no front: the map and what the variables do are drawn all the same."""
    found = plan(SEPARATION, RUNNER, rpm="2000", aim=("torque at 2000",))
    trials = Evaluation(found, None, FormulaRunner()).assess(points(found.study))
    assert {"map", "effects"} <= set(drawn(found, Outcome(found.study, tuple(trials))))


def test_surface_holds_each_engine_at_its_place() -> None:
    _, found = study(
        SEPARATION, RUNNER, ENTRY, aim=("torque at 2000",), limit=("highest residual <= 30 %",)
    )
    assert map_sides(found) == (0, 1)
    panels = surfaces(found, found.study.aims[0], is_whole=True)
    assert [panel.title for panel in panels] == ["sharp", "radiused"]
    x, y = np.meshgrid(panels[0].x, panels[0].y)
    hill = 102 - (x - 110) ** 2 / 10 - ((y - 200) / 50) ** 2
    assert panels[0].z == pytest.approx(hill, rel=1e-9)
    assert panels[0].good.sum() == 5 * 4  # not the longest runner


def test_surface_between_samples() -> None:
    _, found = study(
        "cam.lobe_separation=106:114",
        "intake.runner_lengths=100:300 mm",
        aim=("torque at 2000",),
        samples=40,
    )
    (panel,) = surfaces(found, found.study.aims[0], is_whole=False)
    x, y = np.meshgrid(panel.x, panel.y)
    hill = 102 - (x - 110) ** 2 / 10 - ((y - 200) / 50) ** 2
    # The hill is 5.6 N m high; corners lie outside all samples, and nothing is painted there.
    known = np.isfinite(panel.z)
    assert np.sqrt(np.mean((panel.z - hill)[known] ** 2)) < 0.25
    assert len(panel.runs) == 40
    outside = (x < panel.runs[:, 0].min()) | (x > panel.runs[:, 0].max())
    assert outside.any()
    assert not known[outside].any()
    assert 0.6 < known.mean() < 1.0


def test_a_map_ends_where_the_values_do() -> None:
    found, outcome = study(SEPARATION, RUNNER, aim=("torque at 2000",))
    axes = drawn(found, outcome)["map"].axes[0]
    assert axes.get_xlim() == (106.0, 114.0)
    assert axes.get_ylim() == (100.0, 300.0)


def test_nothing_between_engines_is_no_map() -> None:
    """Two engines enclose nothing."""
    _, found = study(
        "cam.lobe_separation=106:114", "intake.runner_lengths=100:300 mm", aim=("torque at 2000",),
        samples=8,
    )  # fmt: skip
    row = [t for t in found.trials if t.numbers][:2]
    few = Outcome(found.study, tuple(row))
    assert surfaces(few, found.study.aims[0], is_whole=False) == []


def test_every_chart_of_a_grid(tmp_path: Path) -> None:
    found, outcome = study(SEPARATION, RUNNER, ENTRY, aim=("torque at 2000",))
    with Plotter(FIGURES) as plotter:
        draw_study(plotter, found, outcome, found.study.aims, tmp_path)
        paths = plotter.finish()
    names = {"map", "effects", "about-best", "lines", "best-curves"}
    assert {path.stem for path in paths} == names
    assert {path.suffix for path in paths} == {".png", ".svg"}
    assert all(path.stat().st_size > 5000 for path in paths)


def test_chart_of_two_aims_and_none_without_engines() -> None:
    found, outcome = study(SEPARATION, RUNNER, aim=("torque at 2000", "least residual at 2000"))
    figures = drawn(found, outcome, units="si")
    assert set(figures) == {"map", "effects", "about-best", "front", "best-curves"}
    texts = [text.get_text() for text in figures["front"].axes[0].texts]
    assert len(texts) == 3  # both ends and the middle
    assert drawn(found, Outcome(found.study, ())) == {}


def flat(case: object, rpm: float) -> float:
    return 100.0


def test_all_engines_alike_can_be_drawn() -> None:
    found = plan(SEPARATION, RUNNER, rpm="2000,3000", aim=("torque at 2000",))
    runner = FormulaRunner(torque=flat)
    trials = Evaluation(found, None, runner).assess(points(found.study))
    figures = drawn(found, Outcome(found.study, tuple(trials)))
    assert "map" in figures


def test_tables() -> None:
    _, found = study(SEPARATION, RUNNER, aim=("average torque",), limit=("overlap <= 37 deg",))
    aim = found.study.aims[0]
    shown = plain(best_table(found, found.best(aim, 2), "Best", "si"))
    assert shown.splitlines()[1].split("  ")[0].strip() == "lobe separation"
    assert "110" in shown
    assert "102.5" in shown
    assert "cam.lobe_separation" in plain(effects_table(effects(found, aim), aim, "us"))
    said = "\n".join(counts(found))
    assert "25 engines: 20 good, 5 ruled out before any run" in said
    assert "5 x overlap <= 37 deg" in said


def test_csv_has_every_engine() -> None:
    _, found = study(SEPARATION, RUNNER, aim=("average torque",), limit=("overlap <= 37 deg",))
    rows = list(csv.DictReader(io.StringIO(csv_text(found))))
    assert len(rows) == 25
    best = next(
        r
        for r in rows
        if r["cam.lobe_separation [deg]"] == "110.0" and r["intake.runner_lengths [mm]"] == "200.0"
    )
    assert float(best["average torque [N*m]"]) == pytest.approx(102.5)
    assert float(best["torque at 3000 [N*m]"]) == pytest.approx(103.0)
    assert float(best["overlap [deg]"]) == pytest.approx(31.0, abs=0.01)
    assert {row["status"] for row in rows} == {"good", "ruled out"}
    assert all(row["reason"] for row in rows if row["status"] == "ruled out")


def test_names_and_units() -> None:
    average = parse("average torque 2000-3500")
    assert headed(average, "us") == "average torque 2000-3500 rpm, lb-ft"
    assert scale_of(average, "si").with_unit(100.0) == "100.0 N m"
    assert label(parse("average torque 1800*1 2000*2")) == "average torque by time at speed"
    assert label(parse("residual at idle")) == "residual at idle"
    assert scale_of(parse("to_60_mph"), "us").with_unit(7.25) == "7.25 s"
    assert scale_of(parse("overlap"), "us").symbol == "deg"
    assert short_names(["a.length", "b.length", "b.bore"]) == ["a length", "b length", "bore"]


class TestEffects:
    def test_of_one_variable_both_lines_are_the_same_and_one_is_drawn(self) -> None:
        (axes,) = drawn(*study(SEPARATION, aim=("torque at 2000",)))["effects"].axes
        (line,) = axes.lines
        assert list(line.get_xdata()) == [106, 108, 110, 112, 114]
        assert axes.get_legend() is None

    def test_of_two_variables_both_are_drawn(self) -> None:
        found = drawn(*study(SEPARATION, RUNNER, aim=("torque at 2000",)))["effects"]
        assert [len(axes.lines) for axes in found.axes] == [2, 2]
        assert found.axes[0].get_legend() is not None


def test_small_engines_are_told_apart() -> None:
    runner = ("intake.runner_lengths=200 mm",)
    found, outcome = study(SEPARATION, aim=("torque at 2000",), overrides=runner)
    best = outcome.best(found.study.aims[0], 3)
    shown = [row[1] for row in best_table(outcome, best, "Best", "us").rows]
    # 102 N m at the top and 0.4 less on either side: 75 lb-ft would be said of all three.
    assert shown == ["75.2", "74.9", "74.9"]


def test_dollars_in_a_name_are_no_formula() -> None:
    found, outcome = study(SEPARATION, RUNNER, ENTRY, aim=("torque at 2000",))
    named = replace(outcome.study, name="$\\frac{1$ and $x^")
    for figure in drawn(found, Outcome(named, outcome.trials)).values():
        figure.savefig(io.BytesIO(), format="svg")


def test_a_part_whose_name_is_a_formula_is_a_text_in_the_table() -> None:
    found, outcome = study(SEPARATION, RUNNER)
    trial = replace(outcome.trials[0], point=("=1+1.toml", 100.0), reason="@SUM(A1)")
    row = next(csv.DictReader(io.StringIO(csv_text(Outcome(found.study, (trial,))))))
    assert row["cam.lobe_separation [deg]"] == "'=1+1.toml"
    assert row["reason"] == "'@SUM(A1)"
