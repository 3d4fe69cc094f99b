"""Does somebody who waits see what is waited for, and then how far it is?"""

import pytest

from enginesim.cli.progress import progress
from tests.unit.cli.terminal import on_terminal

# The kernels count as compiled, or not; the refresh between two lines is forced by a new one.
PROGRAM = """
import time
import enginesim.cli.progress as tested
tested._is_to_compile = lambda: {is_to_compile}
with tested.progress() as (expect, tell):
    expect(3)
    time.sleep(0.4)
    print("|", flush=True)
    tell("2000 rpm: 282 lb-ft")
    time.sleep(0.4)
    expect(2)
    tell("3000 rpm: 317 lb-ft")
    time.sleep(0.4)
"""


class TestOnATerminal:
    @pytest.mark.parametrize(
        "is_to_compile, words", [(True, "compiling, once on"), (False, "starting ...")]
    )
    def test_no_count_before_the_first_is_done(self, is_to_compile: bool, words: str) -> None:
        shown = on_terminal(["-c", PROGRAM.format(is_to_compile=is_to_compile)], 100)
        before, _, after = shown.partition("|")
        assert words in before
        assert "0/" not in shown
        assert "1/3" in after
        assert "2/5" in after

    def test_nothing_where_nothing_is_run(self) -> None:
        program = "from enginesim.cli.progress import progress\nwith progress(): pass"
        assert on_terminal(["-c", program], 80) == ""


def test_lines_where_there_is_no_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    begun: list[bool] = []
    monkeypatch.setattr("enginesim.cli.progress._is_to_compile", lambda: True)
    monkeypatch.setattr("enginesim.cli.progress._compile_ahead", lambda: begun.append(True))
    with progress() as (expect, tell):
        expect(1)
        tell("2000 rpm: 282 lb-ft")
    assert begun == [True]
    lines = capsys.readouterr().err.splitlines()
    assert lines == ["compiling, once on this machine: up to a minute ...", "2000 rpm: 282 lb-ft"]
