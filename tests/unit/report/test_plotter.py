"""Charts drawn by a process of its own are those that would be drawn here, whatever happens."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest

from enginesim.base.errors import ResultError
from enginesim.performance import Curve
from enginesim.report.curve_figure import curve_figure
from enginesim.report.drawing import save
from enginesim.report.plotter import CHART, Plotter
from tests.unit.study.results import result


def curve() -> Curve:
    return Curve(result(rpm) for rpm in (2000.0, 3000.0, 4000.0))


def order(plotter: Plotter, stem: Path) -> None:
    plotter.draw(stem, CHART, "curve_figure", curve(), "Title", ["note"], "us")


def test_files_are_the_same_as_drawn_here(tmp_path: Path) -> None:
    here = save(curve_figure(curve(), "Title", ["note"], "us"), tmp_path / "here")
    with Plotter(["curve_figure"]) as plotter:
        order(plotter, tmp_path / "one")
        order(plotter, tmp_path / "two")
        written = plotter.finish()
        assert [path.name for path in written] == ["one.png", "one.svg", "two.png", "two.svg"]
        assert [path.read_bytes() for path in written[:2]] == [path.read_bytes() for path in here]
        assert written[2].read_bytes() == here[0].read_bytes()
        order(plotter, tmp_path / "three")  # it goes on being there
        assert plotter.finish()[1].read_bytes() == here[1].read_bytes()


def test_place_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "chart.svg").mkdir()
    with Plotter([]) as plotter:
        order(plotter, tmp_path / "chart")
        with pytest.raises(OSError, match=r"chart\.svg"):
            plotter.finish()


def test_drawing_may_begin_before_all_is_asked_for(tmp_path: Path) -> None:
    with Plotter(["curve_figure"]) as plotter:
        order(plotter, tmp_path / "one")
        plotter.begin()
        order(plotter, tmp_path / "two")
        written = plotter.finish()
        assert [path.name for path in written] == ["one.png", "one.svg", "two.png", "two.svg"]
        assert written[0].read_bytes() == written[2].read_bytes()
        assert plotter.finish() == ()


@pytest.mark.skipif(os.name != "posix", reason="needs a signal that ends a process")
def test_lost_process_is_stood_in_for(tmp_path: Path) -> None:
    with Plotter([]) as plotter:
        process = plotter._process
        assert process.pid is not None
        os.kill(process.pid, signal.SIGKILL)
        process.join()
        order(plotter, tmp_path / "chart")
        assert [path.exists() for path in plotter.finish()] == [True, True]


def test_what_cannot_be_drawn_fails_here(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    with Plotter([]) as plotter:
        plotter.draw(tmp_path / "x", CHART, "curve_figure", curve(), "Title", ["note"], "furlongs")
        with pytest.raises(Exception, match="furlongs"):
            plotter.finish()
    assert not list(tmp_path.iterdir())
    assert "Traceback" in capfd.readouterr().err  # of the process, as a fault of ours keeps it


def test_curve_goes_through_a_pipe() -> None:
    import pickle

    same = pickle.loads(pickle.dumps(curve()))
    assert same.points == curve().points
    with pytest.raises(ResultError):
        same["mood"]
