"""The command `accelerate`, from the words typed to tables and chart; results come from a store."""

from __future__ import annotations

import math
import os
import subprocess
import sys
from pathlib import Path

import pytest

from enginesim.case import load
from enginesim.cli.main import main
from enginesim.study.store import Store
from enginesim.study.store_rows import Failure
from tests.unit.study.results import result

ROOT = Path(__file__).parents[2]
MINIMAL = ROOT / "tests" / "cases" / "minimal.toml"
VEHICLE = ROOT / "cases" / "vehicles" / "estate.toml"
SPEEDS = (2000.0, 3000.0, 4000.0, 5000.0, 6000.0)
RPM = ["--rpm", "2000:6000:1000"]


def stored(torque: float, *overrides: str) -> None:
    """Keep a flat torque curve [N m] for the smallest case."""
    case = load(MINIMAL, overrides)
    with Store.open() as store:
        for rpm in SPEEDS:
            power = torque * rpm * math.pi / 30
            store.put(case, result(rpm, torque=torque, power=power))


def shown(arguments: list[str], capfd: pytest.CaptureFixture[str], code: int = 0) -> str:
    assert main(["accelerate", *arguments]) == code
    out, err = capfd.readouterr()
    return " ".join((out + err).split())


@pytest.fixture
def two(tmp_path: Path) -> list[str]:
    """A weak engine and a strong one, in the store."""
    other = tmp_path / "strong.toml"
    text = MINIMAL.read_text("utf-8").replace("lobe_separation = 110", "lobe_separation = 112")
    other.write_text(text.replace("Smallest case", "Strong case"))
    stored(300.0)
    stored(420.0, "cam.lobe_separation=112")
    return [str(MINIMAL), str(other)]


def test_two_engines(two: list[str], capfd: pytest.CaptureFixture[str]) -> None:
    text = shown([*two, "--vehicle", str(VEHICLE), *RPM], capfd)
    assert "A: Smallest case (2000 to 6000 rpm" in text
    assert "A B B - A" in text
    assert "0-60 mph s " in text
    assert "quarter mile 0" not in text
    assert text.count("slower") == 0
    assert "B against A: 0-60 mph" in text
    assert "body.rolling_resistance 0.013" in text
    assert "Prove it on a closed track" in text


def test_one_engine_in_metric_units(two: list[str], capfd: pytest.CaptureFixture[str]) -> None:
    arguments = [two[0], "--vehicle", str(VEHICLE), *RPM, "--units", "si", "--brief"]
    text = shown(arguments, capfd)
    assert "B - A" not in text
    assert "km/h" in text
    assert "values of the vehicle assumed" in text


def test_a_swap(two: list[str], capfd: pytest.CaptureFixture[str]) -> None:
    swap = ["--swap", "cam.lobe_separation=112"]
    text = shown([two[0], "--vehicle", str(VEHICLE), *RPM, *swap], capfd)
    assert "A: Smallest case, as it is" in text
    assert "B: Smallest case, cam.lobe_separation = 112" in text
    assert "quicker" in text


def test_a_shorter_axle_is_quicker(two: list[str], capfd: pytest.CaptureFixture[str]) -> None:
    def time(*more: str) -> float:
        text = shown([two[0], "--vehicle", str(VEHICLE), *RPM, *more], capfd)
        return float(text.partition("0-60 mph s ")[2].split()[0])

    assert time("--set-vehicle", "gearbox.axle=3.9") < time()


def test_chart(two: list[str], tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "a" / "b"
    text = shown([*two, "--vehicle", str(VEHICLE), *RPM, "--out", str(out)], capfd)
    assert (out / "road.png").read_bytes().startswith(b"\x89PNG")
    assert b"<svg" in (out / "road.svg").read_bytes()
    assert "Written:" in text
    assert sorted(path.name for path in out.iterdir()) == ["road.png", "road.svg"]


def test_everything_wrong_at_once(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    vehicle = tmp_path / "bad.toml"
    vehicle.write_text('[body]\nmass = "0 kg"\n')
    arguments = [str(MINIMAL), "--vehicle", str(vehicle), "--set", "block.bore=40 in"]
    text = shown(arguments, capfd, code=2)
    assert "--set: block.bore: found 40 in" in text
    assert "bad.toml:2: body.mass: found 0 kg" in text
    assert "gearbox.gears: found nothing" in text
    assert "Traceback" not in text


def test_speeds_that_failed(capfd: pytest.CaptureFixture[str]) -> None:
    case = load(MINIMAL)
    with Store.open() as store:
        store.put(case, result(2000.0))
        store.put(case, Failure(3000.0, "cannot be built", "a reason"))
    arguments = [str(MINIMAL), "--vehicle", str(VEHICLE), "--rpm", "2000,3000"]
    text = shown(arguments, capfd, code=3)
    assert "3000 rpm FAILED: a reason" in text
    assert "speeds that converged: 1; a torque curve needs two" in text


@pytest.mark.parametrize(
    "arguments, words",
    [
        ([str(MINIMAL)], "--vehicle"),
        ([str(MINIMAL)] * 2 + ["--vehicle", str(VEHICLE), "--swap", "a=b"], "one case with --swap"),
        ([str(MINIMAL), "--vehicle", str(VEHICLE), "--swap", "cam"], "PART=FILE"),
        (
            [
                str(MINIMAL),
                "--vehicle",
                str(VEHICLE),
                *(word for i in range(108, 112) for word in ("--swap", f"cam.lobe_separation={i}")),
            ],
            "up to 4 side by side",
        ),
        ([str(MINIMAL), "--vehicle", "none.toml"], "no file none.toml"),
        ([str(MINIMAL), "--vehicle", str(VEHICLE), "--rpm", "fast"], "fast"),
        ([str(MINIMAL), "--vehicle", str(VEHICLE), "--rpm", "3000"], "two speeds or more"),
        (
            [str(MINIMAL), "--vehicle", str(VEHICLE), "--set-vehicle", "gearbox.axel=3.9"],
            "--set-vehicle: gearbox.axel: found an unknown field",
        ),
        (["--vehicle", str(VEHICLE)], "CASE"),
    ],
)
def test_usage(arguments: list[str], words: str, capfd: pytest.CaptureFixture[str]) -> None:
    assert words in shown(arguments, capfd, code=2)


def test_nothing_that_simulates_is_loaded_for_what_is_stored(two: list[str]) -> None:
    words = ["accelerate", *two, "--vehicle", str(VEHICLE), *RPM]
    program = (
        "import sys; from enginesim.cli.main import main; "
        f"code = main({words!r}); "
        "heavy = {'numba', 'cantera', 'matplotlib'} & set(sys.modules); "
        "sys.exit(code or (9 if heavy else 0))"
    )
    environment = dict(os.environ)
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, env=environment, capture_output=True, check=False
    )
    assert done.returncode == 0, done.stderr.decode()
