"""Do the lessons' commands run, is what is made kept, and is what the pages say still so?"""

from __future__ import annotations

from pathlib import Path

import pytest

from docs.pictures import lessons as made
from docs.pictures.results import ROOT, Lesson, lessons
from enginesim.cli.main import main
from enginesim.performance import Performance
from enginesim.study.obtain import obtain

LESSONS = {lesson.name: lesson for lesson in lessons(made.PAGES)}
each_lesson = pytest.mark.parametrize("lesson", LESSONS.values(), ids=LESSONS)


@each_lesson
def test_every_lesson_has_engines_and_few_speeds(lesson: Lesson) -> None:
    contest = lesson.contest()
    assert 2 <= len(contest.entry.entrants) <= 3
    assert 3 <= len(contest.rpm) <= 17
    assert not contest.entry.has_sum  # each swap is a guess of its own


@pytest.mark.slow
@pytest.mark.rounding
@each_lesson
def test_every_command_runs(
    lesson: Lesson, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """As it is typed, but at two speeds and without waves."""
    monkeypatch.chdir(ROOT)
    words = list(lesson.words)
    words[words.index("--rpm") + 1] = "2000,4000"
    if "--waves" in words:  # drawn by the build of the manual
        at = words.index("--waves")
        assert words[at:] == ["--waves", "4000", "--out", "results"]
        del words[at:]
    assert main([*words, "--set", "numerics.fidelity=filling", "--brief"]) == 0
    assert "In short" in capsys.readouterr().out


def write_lesson(folder: Path, ratio: float) -> None:
    folder.mkdir(exist_ok=True)
    command = (
        "enginesim compare cases/teaching-single.toml --set numerics.fidelity=filling"
        f" --rpm 2000,3000 --swap block.compression_ratio={ratio}"
    )
    (folder / "small-one.md").write_text(f"# Small one\n\n```sh\n{command}\n```\n", "utf-8")


@pytest.mark.slow
def test_only_what_has_changed_is_made_again(tmp_path: Path) -> None:
    pages, place = tmp_path / "pages", tmp_path / "made"
    write_lesson(pages, 9.0)
    numbers = made.make(pages, place)
    assert numbers["small_one"]["B"]["compression_ratio"] == "9.0"
    assert numbers["small_one"]["B"]["gain_2000"].startswith("\N{MINUS SIGN}")
    picture, stamp = (place / "small-one" / name for name in ("compare.svg", "made.json"))
    assert not (place / "small-one" / "lobes.svg").exists()  # the same cam: nothing to see
    first = stamp.stat().st_mtime_ns

    assert made.make(pages, place) == numbers
    assert stamp.stat().st_mtime_ns == first

    picture.unlink()
    made.make(pages, place)
    assert picture.exists()
    second = stamp.stat().st_mtime_ns
    assert second > first

    write_lesson(pages, 9.5)
    assert made.make(pages, place)["small_one"]["B"]["compression_ratio"] == "9.5"
    assert stamp.stat().st_mtime_ns > second


def results(name: str, *rpms: float) -> list[dict[float, Performance]]:
    """Results of A, B and C of a lesson at a few of its speeds."""
    cases = [entrant.case for entrant in LESSONS[name].contest().entry.entrants]
    return [part.points for part in obtain(cases, rpms, store=None)]


@pytest.mark.slow
def test_lift_matters_at_high_speed_and_less_and_less() -> None:
    a, b, c = results("lift", 2000.0, 6000.0)
    loss, gain = (x[6000.0].torque - a[6000.0].torque for x in (b, c))
    assert loss < -5.0
    assert 0.0 < gain < -loss
    assert abs(b[2000.0].torque - a[2000.0].torque) < 0.3 * -loss


@pytest.mark.slow
def test_duration_tilts_the_curve_by_backflow() -> None:
    a, b, c = results("duration", 2000.0, 6000.0)
    assert b[2000.0].torque > a[2000.0].torque > c[2000.0].torque
    assert b[6000.0].torque < a[6000.0].torque < c[6000.0].torque
    assert b[2000.0].backflow < a[2000.0].backflow < c[2000.0].backflow


@pytest.mark.slow
def test_close_lobes_gain_at_full_throttle_and_lose_at_idle() -> None:
    a, b, c = results("lobe-separation", 2000.0, 4000.0)
    for rpm in (2000.0, 4000.0):
        assert b[rpm].torque > a[rpm].torque > c[rpm].torque
    a, b, c = results("lobe-separation-2", 1000.0)
    assert b[1000.0].torque < a[1000.0].torque < c[1000.0].torque
    assert b[1000.0].residual > a[1000.0].residual > c[1000.0].residual
    assert b[1000.0].manifold_depression < a[1000.0].manifold_depression


@pytest.mark.slow
def test_advance_tilts_the_curve_and_takes_spark() -> None:
    a, b, c = results("advance", 2000.0, 6000.0)
    assert b[2000.0].torque > a[2000.0].torque > c[2000.0].torque
    assert b[6000.0].torque < a[6000.0].torque < c[6000.0].torque
    assert b[2000.0].spark < a[2000.0].spark


@pytest.mark.slow
def test_a_longer_runner_suits_a_lower_speed() -> None:
    a, b, c = results("runner-length", 4000.0, 7000.0)
    assert c[4000.0].torque > a[4000.0].torque > b[4000.0].torque
    assert c[7000.0].torque < a[7000.0].torque < b[7000.0].torque


@pytest.mark.slow
def test_a_narrow_primary_pumps_and_a_wide_one_gains_nothing() -> None:
    a, b, c = results("primary-size", 2500.0, 4000.0, 6000.0)
    assert b[4000.0].torque > a[4000.0].torque
    assert b[6000.0].torque < a[6000.0].torque
    assert b[6000.0].pmep > a[6000.0].pmep > c[6000.0].pmep
    assert c[6000.0].power < a[6000.0].power
    assert c[2500.0].torque < a[2500.0].torque
    assert c[2500.0].residual > a[2500.0].residual


@pytest.mark.slow
def test_compression_pays_where_nothing_knocks() -> None:
    a, b, c = results("compression", 2000.0, 6000.0)
    gain, loss = (abs(x[6000.0].torque - a[6000.0].torque) for x in (b, c))
    assert 0.0 < gain < loss  # although B's step in ratio is the larger one
    assert abs(b[2000.0].torque - a[2000.0].torque) < 0.2 * gain
    assert b[2000.0].spark < a[2000.0].spark < c[2000.0].spark
