"""`enginesim run` and its store: nothing is run twice, and a store that fails costs no result."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

import enginesim.cycle
from enginesim import __version__
from enginesim.base.errors import CycleError, StoreError
from enginesim.case import load
from enginesim.cli.main import main
from enginesim.cycle.curves import tables_of
from enginesim.performance import summarise
from enginesim.study.store import Store
from enginesim.study.store_claims import Claims
from tests.records import case, record
from tests.wiring.test_run import FakeCurve


@pytest.fixture
def simulation(monkeypatch: pytest.MonkeyPatch) -> FakeCurve:
    fake = FakeCurve(lambda rpm: record(rpm, traces=rpm in fake.options["traces"]))
    monkeypatch.setattr(enginesim.cycle, "curve", fake)
    return fake


@pytest.fixture
def toml(tmp_path: Path) -> str:
    from enginesim.case import write

    path = tmp_path / "four.toml"
    path.write_text(write(case()), encoding="utf-8")
    return str(path)


def shown(capsys: pytest.CaptureFixture[str]) -> tuple[str, str]:
    out, err = capsys.readouterr()
    return out, err


def test_the_second_time_nothing_is_run(
    simulation: FakeCurve, toml: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["run", toml, "--rpm", "3000,4000", "--store", str(tmp_path / "a.sqlite")]
    assert main(words) == 0
    first, told = shown(capsys)
    assert "from the store" not in told
    assert main([*words[:3], "3000,3500,4000", *words[4:]]) == 0
    assert simulation.calls == [(3000.0, 4000.0), (3500.0,)]
    assert f"2 of 3 speeds from the store {tmp_path / 'a.sqlite'}" in shown(capsys)[1]
    assert main(words) == 0
    assert len(simulation.calls) == 2
    again, told = shown(capsys)
    assert again == first
    assert "2 of 2 speeds from the store" in told


def test_a_file_says_what_was_worked_out_before_and_when(
    simulation: FakeCurve, toml: str, tmp_path: Path
) -> None:
    path = tmp_path / "a.json"
    words = ["run", toml, "--store", str(tmp_path / "a.sqlite"), "--json", str(path), "--rpm"]
    before = datetime.now(UTC).replace(microsecond=0)
    assert main([*words, "3000,4000"]) == 0
    assert json.loads(path.read_text())["stored"] == []
    between = datetime.now(UTC)
    assert main([*words, "3000,3500"]) == 0
    (old,) = json.loads(path.read_text())["stored"]
    assert (old["rpm"], old["version"]) == (3000.0, __version__)
    assert before <= datetime.fromisoformat(old["date"]) <= between


def test_another_engine_fidelity_or_no_store_runs_again(
    simulation: FakeCurve, toml: str, tmp_path: Path
) -> None:
    words = ["run", toml, "--rpm", "3000", "--brief"]
    for more in ([], ["--set", "cam.lobe_separation=112"], ["--fidelity", "filling"]):
        assert main([*words, *more]) == 0
    assert len(simulation.calls) == 3
    assert main([*words, "--no-store"]) == 0
    assert main([*words, "--store", str(tmp_path / "other.sqlite")]) == 0
    assert len(simulation.calls) == 5
    assert main(words) == 0
    assert len(simulation.calls) == 5


def test_a_failure_is_not_run_again_and_is_shown(
    simulation: FakeCurve, toml: str, capsys: pytest.CaptureFixture[str]
) -> None:
    error = CycleError("runner 1: no valid gas state")
    simulation.outcome = lambda rpm: error if rpm == 3000 else record(rpm)
    for _ in range(2):
        assert main(["run", toml, "--rpm", "3000,4000"]) == 0
        assert "* 3000 rpm FAILED: runner 1: no valid gas state" in shown(capsys)[1]
    assert simulation.calls == [(3000.0, 4000.0)]
    assert main(["run", toml, "--rpm", "3000"]) == 3


def test_speeds_that_are_drawn_are_run_again_unless_their_cycle_was_kept(
    simulation: FakeCurve, toml: str, tmp_path: Path
) -> None:
    words = ["run", toml, "--rpm", "3000,4000", "--brief"]
    drawn = [*words, "--traces", "3000", "--out", str(tmp_path / "out")]
    assert main(words) == 0
    assert main(drawn) == 0
    assert simulation.calls == [(3000.0, 4000.0), (3000.0,)]
    assert main([*drawn, "--keep-cycles"]) == 0
    assert simulation.calls[2:] == [(3000.0,)]
    for path in (tmp_path / "out").iterdir():
        path.unlink()
    assert main(drawn) == 0
    assert len(simulation.calls) == 3
    assert (tmp_path / "out" / "wave-intake-3000.png").exists()


def test_refined_speeds_are_found_too(simulation: FakeCurve, toml: str) -> None:
    def bent(rpm: float) -> enginesim.cycle.CycleRecord:
        made = record(rpm)
        return made if rpm < 3400 else record(rpm, work=0.9 * made.work)

    simulation.outcome = bent
    for _ in range(2):
        assert main(["run", toml, "--rpm", "3000:4000:250", "--brief"]) == 0
    n = len(simulation.calls)
    assert main(["run", toml, "--rpm", "3000:4000:250", "--brief"]) == 0
    assert len(simulation.calls) == n == 2


def test_a_store_that_fills_up_costs_no_result(
    simulation: FakeCurve,
    toml: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def full(*_: object, **__: object) -> None:
        raise StoreError("a.sqlite: found no room left on the disk")

    monkeypatch.setattr(Store, "put", full)
    assert main(["run", toml, "--rpm", "3000,4000"]) == 0
    out, err = shown(capsys)
    assert "2 of 2 speeds" in out
    assert err.count("results are not kept: a.sqlite: found no room left") == 1


@pytest.mark.parametrize(
    "content, message",
    [(b"not a database at all" * 50, "something else than a store"), (None, "found a folder")],
)
def test_what_is_no_store_is_refused_before_the_work(
    simulation: FakeCurve,
    toml: str,
    tmp_path: Path,
    content: bytes | None,
    message: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = tmp_path / "odd.sqlite"
    path.mkdir() if content is None else path.write_bytes(content)
    assert main(["run", toml, "--rpm", "3000", "--store", str(path)]) == 2
    assert message in shown(capsys)[1] or content is None
    assert simulation.calls == []
    assert main(["run", toml, "--rpm", "3000", "--store", str(path), "--no-store"]) == 2


@pytest.mark.slow
def test_what_is_stored_is_shown_without_the_simulator(
    simulation: FakeCurve, toml: str, tmp_path: Path
) -> None:
    path = tmp_path / "a.sqlite"
    words = ["run", toml, "--rpm", "3000,4000", "--store", str(path)]
    assert main(words) == 0
    code = (
        "import sys; from enginesim.cli.main import main; code = main(sys.argv[1:]); "
        "print(sorted({'numba', 'cantera', 'scipy', 'matplotlib'} & set(sys.modules))); "
        "sys.exit(code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *words], capture_output=True, text=True, check=True
    )
    assert done.stdout.endswith("[]\n")


def test_two_at_once_run_each_speed_once(
    simulation: FakeCurve, toml: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other holds one speed for a while; once finished, it is taken from the store."""
    path = tmp_path / "a.sqlite"
    engine = load(toml)
    with Store.open(path) as theirs:
        claims = Claims(theirs)
        assert claims.take([(engine, 3500.0)]) == [True]
        looks = []

        def look(seconds: float) -> None:
            looks.append(seconds)
            tables = tables_of(engine, 3500.0)
            theirs.put(engine, summarise(engine, tables, record(3500.0)))

        monkeypatch.setattr("enginesim.cli.prediction.threading.Event", lambda: Waiting(look))
        assert main(["run", toml, "--rpm", "3000,3500", "--store", str(path), "--brief"]) == 0
    assert simulation.calls == [(3000.0,)]
    assert len(looks) == 1


class Waiting(threading.Event):
    """An event whose waiting is watched."""

    def __init__(self, look: Callable[[float], None]) -> None:
        super().__init__()
        self._look = look

    def wait(self, timeout: float | None = None) -> bool:
        self._look(timeout or 0.0)
        return self.is_set()


def test_a_speed_of_a_lost_process_is_run_here(
    simulation: FakeCurve, toml: str, tmp_path: Path
) -> None:
    path = tmp_path / "a.sqlite"
    program = (
        "import sys\n"
        "from enginesim.case import load\n"
        "from enginesim.study.store import Store\n"
        "from enginesim.study.store_claims import Claims\n"
        "with Store.open(sys.argv[2]) as store:\n"
        "    print(Claims(store).take([(load(sys.argv[1]), 3000.0)]))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, toml, str(path)], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[True]"
    assert main(["run", toml, "--rpm", "3000", "--store", str(path), "--brief"]) == 0
    assert simulation.calls == [(3000.0,)]
