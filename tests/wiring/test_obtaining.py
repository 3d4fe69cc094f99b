"""What is said of runs that give no result, while somebody waits."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

import enginesim.study.obtain
from enginesim.cli.obtaining import obtained
from enginesim.study.store_rows import Failure
from tests.records import case


@pytest.mark.parametrize(
    "failure, said",
    [
        (
            Failure(3000.0, "cannot be built", "a flow over the smallest section"),
            "3000 rpm: not possible: a flow over the smallest section",
        ),
        (Failure(3000.0, "broke down", "runner 1: no gas"), "3000 rpm: FAILED: runner 1: no gas"),
    ],
)
def test_the_reason_stands_beside_what_gave_no_result(
    failure: Failure, said: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """An engine that cannot be built is no failure of the program, and why is said at once."""

    def obtain(*_: Any, on_failed: Callable[[int, Failure], None], **__: Any) -> tuple[()]:
        on_failed(0, failure)
        return ()

    monkeypatch.setattr(enginesim.study.obtain, "obtain", obtain)
    obtained([case()], [3000.0], store=None, no_store=True, jobs=1, units="us")
    assert said in capsys.readouterr().err
