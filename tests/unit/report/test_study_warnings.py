"""Each warning of a study once, and of how many engines it holds."""

from __future__ import annotations

from enginesim.report.study_warnings import grouped
from enginesim.study.trials import Outcome, Trial
from tests.unit.study.studies import plan

BIND = "valve_gear.intake.bind_height: the coils would touch before full lift"


def trial(value: float, *warnings: str, status: str = "good") -> Trial:
    return Trial((value,), status, warnings=warnings)  # type: ignore[arg-type]


def outcome(*trials: Trial) -> Outcome:
    return Outcome(plan("cam.lobe_separation=106:114:4").study, trials)


def test_the_same_of_all_engines() -> None:
    assert grouped(outcome(trial(106, BIND), trial(110, BIND))) == (f"{BIND} - all engines",)


def test_the_same_of_some() -> None:
    assert grouped(outcome(trial(106, BIND), trial(110))) == (f"{BIND} - 1 engine",)


def test_figures_of_their_own_are_one_warning() -> None:
    lifts = [f"lift: found {0.6 + i / 100:.2f} in, the flow sheet ends at 0.6 in" for i in range(5)]
    (line,) = grouped(outcome(*(trial(100 + i, text) for i, text in enumerate(lifts))))
    assert line == f"{lifts[0]} - and 4 more engines, with other figures"


def test_what_was_never_run_has_no_say() -> None:
    assert grouped(outcome(trial(106, BIND, status="ruled out"), trial(110))) == ()
