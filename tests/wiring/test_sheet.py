"""The command `sheet`, from the words typed to screen and page; results come from a store."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from enginesim.base.units import to_si
from enginesim.case import Case, load
from enginesim.cli.main import main
from enginesim.cli.sheet import KINDS
from enginesim.report.sheet_cautions import ALWAYS
from enginesim.study.store import Store
from enginesim.workshop import points
from tests.unit.report.paper import Paper, squeezed
from tests.unit.study.results import result

ROOT = Path(__file__).parents[2]
MINIMAL = ROOT / "tests" / "cases" / "minimal.toml"
RPM = ["--rpm", "3000,5000"]
STILL = ("cam", "clearance", "spring", "compression")


def shown(arguments: list[str], capfd: pytest.CaptureFixture[str], code: int = 0) -> str:
    assert main(["sheet", *arguments]) == code
    out, err = capfd.readouterr()
    return " ".join((out + err).split())


@pytest.fixture
def stored() -> Case:
    """Invented results of the smallest case and of all that its sheets compare it with."""
    case = load(MINIMAL)
    _, sizes = points.with_sizes(case, ())
    cases = [*sizes, points.with_best_spark(case), *points.with_mixtures(case).values()]
    with Store.open() as store:
        for i, each in enumerate(cases):
            for rpm, torque in ((3000.0, 400.0 + i), (5000.0, 380.0 + i)):
                power = torque * rpm * math.pi / 30
                fuel = power * to_si(0.5, "lb/hp/h")
                store.put(
                    each,
                    result(rpm, torque=torque, power=power, fuel_flow=fuel, ve=0.9,
                           manifold_depression=4000.0 - 1000.0 * i, octane_margin=1.5),
                )  # fmt: skip
    return case


@pytest.mark.parametrize("kind", STILL)
def test_sheets_without_a_simulation(kind: str, capfd: pytest.CaptureFixture[str]) -> None:
    text = shown([str(MINIMAL), "--kind", kind], capfd)
    assert "Smallest case" in text
    assert ALWAYS in text
    assert "rpm:" not in text  # nothing was run


@pytest.mark.slow
@pytest.mark.parametrize("system", ["us", "si"])
def test_every_kind_on_paper(
    system: str, stored: Case, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    words = ["--out", str(tmp_path), "--units", system]
    text = shown([str(MINIMAL), "--kind", "all", *RPM, *words], capfd)
    assert text.count(ALWAYS) == len(KINDS)
    for kind in KINDS:
        paper = Paper((tmp_path / f"sheet-{kind}.pdf").read_bytes())
        assert len(paper.sizes) == 1
        assert paper.overlaps() == 0
        assert paper.outside(0.3) == 0
        assert squeezed(ALWAYS) in paper.text
        assert (tmp_path / f"sheet-{kind}.png").read_bytes().startswith(b"\x89PNG")
    assert len(list(tmp_path.iterdir())) == 2 * len(KINDS)


def test_figures_of_the_results(stored: Case, capfd: pytest.CaptureFixture[str]) -> None:
    text = shown([str(MINIMAL), "--kind", "all", *RPM], capfd)
    # 381 N m at 5000 rpm: 267.5 hp, 133.8 lb/h, 8 injectors at 80 %: 20.9 lb/h each.
    assert "rated flow of each, rail at 43.5 psi (3.0 bar) 20.9 lb/h" in text
    # 351.9 in3 x 5000 x 0.9 / 3456
    assert "asks for 458 cfm with the filling that was simulated" in text
    assert "500 cfm 600 cfm* 750 cfm" in text
    assert "+1.5 octane" in text
    assert "Primary length, Bell's rule: " in text
    assert "Air 29.23 inHg" in text


def test_duty_and_metric(stored: Case, capfd: pytest.CaptureFixture[str]) -> None:
    arguments = [str(MINIMAL), "--kind", "injector", *RPM, "--duty", "0.9", "--units", "si"]
    text = shown(arguments, capfd)
    assert "open 90 % of the time" in text
    assert "against custom" in text
    assert "g/kWh" in text


def test_a_card_that_contradicts_itself(capfd: pytest.CaptureFixture[str]) -> None:
    card = ["--set", "cam.events.exhaust_opens=49"]
    text = shown([str(MINIMAL), "--kind", "cam", *card], capfd)
    # 220 at 0.050 in, separation 110, centreline 106: EO = 110 + 114 - 180.
    assert "THE CARD CONTRADICTS ITSELF" in text
    assert "EO 49 44 230 119" in text
    assert "--set: cam.events.exhaust_opens: found EO 49 printed, 44 implied" in text
    assert "1 problem" in shown([str(MINIMAL), "--kind", "spring", *card], capfd, code=2)


def test_springs_and_clearances_of_a_shipped_case(capfd: pytest.CaptureFixture[str]) -> None:
    case = str(ROOT / "cases" / "lake-boat-v8.toml")
    text = shown([case, "--kind", "spring", "--kind", "clearance"], capfd)
    assert "NOT CHECKED" not in text
    assert "load on the seat 105 lbf 105 lbf" in text
    assert "until the customary 0.080 in is reached" in text


def test_what_is_not_given_is_not_claimed(capfd: pytest.CaptureFixture[str]) -> None:
    text = shown([str(MINIMAL), "--kind", "spring", "--kind", "clearance"], capfd)
    assert text.count("NOT CHECKED") == 4


def test_nothing_converged(capfd: pytest.CaptureFixture[str]) -> None:
    case = load(MINIMAL)
    with Store.open() as store:
        store.put(case, result(3000.0, converged=False))
    text = shown([str(MINIMAL), "--kind", "injector", "--rpm", "3000"], capfd, code=3)
    assert "sheet injector: no speed converged" in text


def test_all_sheets_of_an_engine_without_a_throttle(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    text = MINIMAL.read_text("utf-8").replace(
        'kind = "carburettor"\nflow = "600 cfm"', 'kind = "none"'
    )
    case = tmp_path / "open.toml"
    case.write_text(text.replace("divided plenum", "open stacks"))
    said = shown([str(case), "--kind", "throttle"], capfd, code=2)
    assert "throttle.kind: found no throttle" in said


@pytest.mark.parametrize(
    "arguments, words",
    [
        ([str(MINIMAL)], "--kind"),
        ([str(MINIMAL), "--kind", "springs"], "'spring'"),
        ([str(MINIMAL), "--kind", "throttle", "--sizes", "500 mm"], "--sizes: throttle.flow"),
        ([str(MINIMAL), "--kind", "throttle", "--sizes", "500"], "without a unit"),
        ([str(MINIMAL), "--kind", "injector", "--duty", "1.5"], "--duty"),
        ([str(MINIMAL), "--kind", "cam", "--set", "block.bore=40 in"], "block.bore"),
        ([str(MINIMAL), "--kind", "cam", "--out", __file__], "--out"),
        ([str(MINIMAL), "--kind", "knock", "--store", "a", "--no-store"], "one of the two"),
    ],
)
def test_usage(arguments: list[str], words: str, capfd: pytest.CaptureFixture[str]) -> None:
    text = shown(arguments, capfd, code=2)
    assert words in text
    assert "Traceback" not in text
